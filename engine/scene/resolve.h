// From a key as people write it to its place in a document: 'prop.tuft.material.cap.reflectance' is the path
// prop, third element, material, cap, reflectance and the row 'reflectance' of the table 'prop.material'.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "engine/scene/document.h"
#include "engine/scene/keys.h"

namespace undercap {

struct ResolvedKey {
  KeyRow row;
  TextPath path;
  std::string table;             // "prop.tuft.material.cap"; empty for a key of the top
  std::string text;              // "prop.tuft.material.cap.reflectance"
  std::vector<KeyRow> siblings;  // all rows of that table
};

// Or why there is no such key, in words that name it.
std::variant<ResolvedKey, std::string> resolve_key(const Document& document, std::string_view key);

// Why edits and variants may not touch a key; nothing when they may.
std::optional<std::string> fault_of_edit(const ResolvedKey& key);

// The keys of a variant's 'change' table with their entries, in the file's order; tables inside it are
// opened.
void list_changes(const Document& document, const FileNode& table, const std::string& prefix,
                  std::vector<std::pair<std::string, const FileEntry*>>& changes);

// The rows of a [[prop]] block: the common keys, those of its kind, and those of other kinds after them,
// which a reader refuses. Null: the kind is not known.
std::vector<KeyRow> prop_rows(const Kind* kind);

// The kind that a [[prop]] block names; null when it names none that exists.
const Kind* kind_of(const FileNode& prop);

// Why a kind has not got a part; empty when it has.
std::string fault_of_part(const Kind& kind, std::string_view part);

}  // namespace undercap
