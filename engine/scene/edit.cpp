#include <fmt/format.h>

#include <algorithm>

#include "engine/scene/load.h"
#include "engine/scene/loading.h"
#include "engine/scene/patch.h"
#include "engine/scene/read.h"
#include "engine/scene/resolve.h"

namespace undercap {
namespace {

std::string trimmed(std::string_view text) {
  constexpr std::string_view blanks = " \t\r\n";
  const std::size_t begin = text.find_first_not_of(blanks);
  if (begin == text.npos) return {};
  return std::string(text.substr(begin, text.find_last_not_of(blanks) - begin + 1));
}

// The one TOML value that a text is, as it is written; nothing when it is none.
std::optional<std::string> toml_value(std::string_view text) {
  try {
    const Document document = parse_document(fmt::format("v = {}\n", text), "");
    if (document.root.entries.size() != 1 || document.root.entries[0].key != "v") return std::nullopt;
    return std::string(document.source(document.root.entries[0].value));
  } catch (const Refusal&) {
    return std::nullopt;
  }
}

bool takes_words(ValueType type) {
  using enum ValueType;
  return type == ValueType::text || type == choice || type == address || type == target ||
         type == number_or_word || type == address_or_word;
}

// A shell strips quotes: a bare word becomes text where the key takes text.
std::string value_for(const KeyRow& row, std::string_view given) {
  if (const auto value = toml_value(given)) return *value;
  const std::string word = trimmed(given);
  const bool tried_to_be_toml =
      !word.empty() && std::string_view("\"'[{").find(word.front()) != std::string_view::npos;
  if (takes_words(row.type) && !tried_to_be_toml) return toml_quoted(word);
  throw Refusal(
      fmt::format("'{}' is not a value; allowed: {}{}", given, allowed_text(row), hint_of_text(row, word)));
}

// What stands in a key's way: a table that the file writes as something else. Nothing when all is well.
std::optional<std::string> fault_of_tables(const Document& document, const TextPath& path) {
  for (std::size_t steps = 1; steps < path.size(); ++steps) {
    const FileNode* node =
        document.find(TextPath(path.begin(), path.begin() + static_cast<std::ptrdiff_t>(steps)));
    if (!node) return std::nullopt;
    const auto needed = is_element_step(path[steps]) ? FileNode::Type::array : FileNode::Type::table;
    if (node->type != needed) return fmt::format("{} is not a table in the file", path[steps - 1]);
  }
  return std::nullopt;
}

// The text after a splice, which must still parse and hold the value.
std::string checked(std::string_view text, const Splice& splice, const TextPath& path,
                    const std::string& value) {
  std::string patched = spliced(text, splice);
  Document document;
  try {
    document = parse_document(patched, "");
  } catch (const Refusal& refusal) {
    throw Refusal(fmt::format("the value cannot be written where the file has the key: {}",
                              refusal.faults()[0].message));
  }
  const FileNode* node = document.find(path);
  UNDERCAP_CHECK(node && document.source(*node) == value, "a text holds the value that was just set");
  return patched;
}

}  // namespace

void SceneFile::set(std::string_view key, std::string_view value, std::string_view origin) {
  const Document document = open_document(text_, file_.string());
  const auto refuse = [&](const std::string& message) -> Refusal {
    return Refusal(fmt::format("{} {}={}: {}", origin, key, value, message));
  };
  const auto found = resolve_key(document, key);
  if (const std::string* fault = std::get_if<std::string>(&found)) throw refuse(*fault);
  const ResolvedKey& to = std::get<ResolvedKey>(found);
  if (const auto fault = fault_of_edit(to)) throw refuse(*fault);
  if (const auto fault = fault_of_tables(document, to.path)) throw refuse(*fault);

  std::string text = text_;
  LineNumbers lines = lines_;
  std::vector<std::string> notes;
  try {
    const std::string written = value_for(to.row, value);
    const Splice splice = setting(text, to.path, written);
    std::string patched = checked(text, splice, to.path, written);
    lines.splice(text, splice);
    text = std::move(patched);
    for (const KeyRow& other : to.siblings) {
      if (to.row.group.empty() || other.group != to.row.group || other.name == to.row.name) continue;
      TextPath path = to.path;
      path.back() = other.name;
      const FileNode* node = document.find(path);
      const std::optional<Splice> gone = node ? removal(text, path) : std::nullopt;
      if (!gone) continue;
      patched = checked(text, *gone, to.path, written);
      lines.splice(text, *gone);
      text = std::move(patched);
      notes.push_back(fmt::format("{} {}={} took out {}.{} = {}: only one of the two may stand", origin,
                                  to.text, value, to.table, other.name, document.shown(*node)));
    }
  } catch (const Refusal& refusal) {
    throw refuse(refusal.faults()[0].message);
  }
  text_ = std::move(text);
  lines_ = std::move(lines);
  notes_.insert(notes_.end(), notes.begin(), notes.end());
  edits_.push_back({to.text, std::string(value), std::string(origin)});
}

void SceneFile::use_variant(std::string_view name) {
  const Document document = open_document(text_, file_.string());
  const FileNode* variants = document.root.find("variant");
  std::vector<std::string> names;
  const FileNode* change = nullptr;
  if (variants)
    for (const FileNode& variant : variants->items) {
      const FileNode* given = variant.find("name");
      if (!given || given->type != FileNode::Type::text) continue;
      names.push_back(given->text);
      if (given->text == name && !change) change = variant.find("change");
    }
  if (!change || change->type != FileNode::Type::table)
    throw refusal_at(file_.string(), {},
                     fmt::format("there is no variant '{}'; this scene has: {}", name,
                                 names.empty() ? "none" : fmt::format("{}", fmt::join(names, ", "))));
  std::vector<std::pair<std::string, const FileEntry*>> changes;
  list_changes(document, *change, "", changes);
  SceneFile changed = *this;
  for (const auto& [key, entry] : changes)
    changed.set(key, document.source(entry->value), fmt::format("variant '{}'", name));
  *this = std::move(changed);
}

}  // namespace undercap
