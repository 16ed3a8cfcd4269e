#include "engine/scene/resolve.h"

#include <fmt/format.h>

#include <algorithm>

namespace undercap {
namespace {

// Splits at dots; a step in quotes may hold dots itself. Empty when quotes do not close.
std::vector<std::string> steps_of(std::string_view key) {
  std::vector<std::string> steps(1);
  for (std::size_t i = 0; i < key.size(); ++i) {
    const char c = key[i];
    if ((c == '"' || c == '\'') && steps.back().empty()) {
      const std::size_t end = key.find(c, i + 1);
      if (end == key.npos) return {};
      steps.back() = key.substr(i + 1, end - i - 1);
      i = end;
    } else if (c == '.') {
      steps.emplace_back();
    } else {
      steps.back() += c;
    }
  }
  return steps;
}

std::vector<std::string_view> names_of(const std::vector<KeyRow>& rows, std::string_view kind = {}) {
  std::vector<std::string_view> names;
  for (const KeyRow& row : rows)
    if (row.served && (kind.empty() || for_kind(row, kind))) names.push_back(row.name);
  return names;
}

std::string unknown(std::string_view key, std::string_view table, std::string_view name,
                    const std::vector<std::string_view>& known) {
  const std::string prefix = table.empty() ? "" : std::string(table) + ".";
  if (const std::string nearest = nearest_word(name, known); !nearest.empty())
    return fmt::format("unknown key '{}'; did you mean '{}{}'?", key, prefix, nearest);
  for (const KeyRow& row : key_rows())
    if (row.name == name && row.served && !row.table.empty() && row.table.find('.') == row.table.npos)
      return fmt::format("unknown key '{}'; it belongs to '{}'", key, row.table);
  return fmt::format("unknown key '{}'; allowed in {}: {}", key, table.empty() ? "a scene" : table,
                     fmt::join(known, ", "));
}

// The index of the block with a name in a list such as [[source]], or -1; 'names' gets those that exist.
int block_index(const Document& document, const std::string& list, std::string_view name,
                std::vector<std::string>& names) {
  const FileNode* blocks = document.root.find(list);
  if (!blocks) return -1;
  int found = -1;
  for (std::size_t i = 0; i < blocks->items.size(); ++i) {
    const FileNode* given = blocks->items[i].find("name");
    if (!given || given->type != FileNode::Type::text) continue;
    names.push_back(given->text);
    if (given->text == name && found < 0) found = static_cast<int>(i);
  }
  return found;
}

struct TablePlace {
  std::vector<KeyRow> rows;
  TextPath path;      // of the table
  std::string table;  // in words
  std::string kind;
  std::size_t steps = 0;  // used up
};

// Where the steps lead through a list: source.torch.*, prop.tuft.*, prop.tuft.material.cap.*
std::variant<TablePlace, std::string> place_in_list(const Document& document, std::string_view key,
                                                    const std::vector<std::string>& steps) {
  const std::string& list = steps[0];
  std::vector<std::string> names;
  const int index = steps.size() > 1 ? block_index(document, list, steps[1], names) : -1;
  if (index < 0 || steps.size() < 3) {
    if (index < 0 && steps.size() > 1 && names.empty())
      return fmt::format("'{}' names a {} and this scene has none", key, list);
    if (index < 0 && steps.size() > 2)
      return fmt::format("'{}': there is no {} named \"{}\"; this scene has: {}", key, list, steps[1],
                         fmt::join(names, ", "));
    return fmt::format("'{}' is not complete; write {}.NAME.KEY", key, list);
  }
  TablePlace place{
      rows_of(list), {list, element_step(static_cast<std::size_t>(index))}, list + "." + steps[1], {}, 2};
  const FileNode& block = *document.find(place.path);
  if (const FileNode* kind = block.find("kind")) place.kind = kind->text;
  if (list != "prop") return place;
  const Kind* kind = kind_of(block);
  if (steps[2] == "scatter" && steps.size() > 3) {
    place.rows = rows_of("prop.scatter");
    place.path.push_back("scatter");
    place.table += ".scatter";
    place.kind.clear();
    place.steps = 3;
    return place;
  }
  if (steps[2] != "material") {
    place.rows = prop_rows(kind);
    return place;
  }
  if (steps.size() < 5)
    return fmt::format("'{}' is not complete; write {}.material.PART.KEY", key, place.table);
  // A part's own name may hold dots; the last step is the key.
  const std::string part = fmt::format("{}", fmt::join(steps.begin() + 3, steps.end() - 1, "."));
  if (const std::string fault = kind ? fault_of_part(*kind, part) : ""; !fault.empty())
    return fmt::format("'{}': {}", key, fault);
  place.rows = rows_of("prop.material");
  place.path.insert(place.path.end(), {"material", part});
  place.table += ".material." + part;
  place.kind.clear();
  place.steps = steps.size() - 1;
  return place;
}

}  // namespace

std::variant<ResolvedKey, std::string> resolve_key(const Document& document, std::string_view key) {
  const std::vector<std::string> steps = steps_of(key);
  if (steps.empty() || steps[0].empty())
    return fmt::format("'{}' is not a key; write it like camera.f_number", key);
  TablePlace place;
  const auto& tables = table_rows();
  const auto table =
      std::find_if(tables.begin(), tables.end(), [&](const TableRow& t) { return t.name == steps[0]; });
  if (table != tables.end() && table->list) {
    auto found = place_in_list(document, key, steps);
    if (std::string* fault = std::get_if<std::string>(&found)) return std::move(*fault);
    place = std::get<TablePlace>(std::move(found));
  } else if (table != tables.end() && steps.size() > 2 && !rows_of(steps[0] + "." + steps[1]).empty()) {
    const std::string inner = steps[0] + "." + steps[1];
    place = {rows_of(inner), {steps[0], steps[1]}, inner, {}, 2};
  } else if (table != tables.end()) {
    if (steps.size() == 1) return fmt::format("'{}' is a table, not a key; write {}.KEY", key, key);
    place = {rows_of(steps[0]), {steps[0]}, steps[0], {}, 1};
  } else {
    place.rows = rows_of("");
  }
  const std::string name = fmt::format(
      "{}", fmt::join(steps.begin() + static_cast<std::ptrdiff_t>(place.steps), steps.end(), "."));
  const KeyRow* row = find_row(place.rows, name);
  if (!row) {
    auto known = names_of(place.rows, place.kind);
    if (place.steps == 0)
      for (const TableRow& t : tables) known.push_back(t.name);
    return unknown(key, place.table, steps[place.steps], known);
  }
  if (!place.kind.empty() && !for_kind(*row, place.kind))
    return fmt::format("'{}' belongs to kind {} and this is \"{}\"", key, kinds_text(*row), place.kind);
  ResolvedKey resolved{*row, place.path, place.table, place.table.empty() ? name : place.table + "." + name,
                       place.rows};
  resolved.path.push_back(name);
  return resolved;
}

std::optional<std::string> fault_of_edit(const ResolvedKey& key) {
  if (!key.row.served) return fmt::format("'{}' is {}", key.text, not_yet);
  if (key.row.type == ValueType::name || key.row.name == "undercap" || key.row.table == "variant")
    return fmt::format("'{}' can only be changed in the scene file itself", key.text);
  return std::nullopt;
}

void list_changes(const Document& document, const FileNode& table, const std::string& prefix,
                  std::vector<std::pair<std::string, const FileEntry*>>& changes) {
  for (const FileEntry& entry : table.entries) {
    const std::string key = prefix + entry.key;
    // A table that is a value itself is written in braces; one that dotted keys make is opened.
    const bool is_value = document.source(entry.value).starts_with('{') &&
                          std::holds_alternative<ResolvedKey>(resolve_key(document, key));
    if (entry.value.type == FileNode::Type::table && !is_value)
      list_changes(document, entry.value, key + ".", changes);
    else
      changes.emplace_back(key, &entry);
  }
}

std::vector<KeyRow> prop_rows(const Kind* kind) {
  std::vector<KeyRow> rows = rows_of("prop");
  if (kind)
    for (const KeyRow& row : of_kind(*kind)) rows.push_back(row);
  for (const Kind& other : kinds())
    for (const KeyRow& row : of_kind(other))
      if (!find_row(rows, row.name)) rows.push_back(row);
  return rows;
}

const Kind* kind_of(const FileNode& prop) {
  const FileNode* kind = prop.find("kind");
  return kind && kind->type == FileNode::Type::text ? find_kind(kind->text) : nullptr;
}

std::string fault_of_part(const Kind& kind, std::string_view part) {
  if (kind.name == "mesh") return {};  // its file's materials are parts too
  std::vector<std::string_view> parts;
  for (const KindPart& known : kind.parts) parts.push_back(known.name);
  if (std::find(parts.begin(), parts.end(), part) != parts.end()) return {};
  return fmt::format("a {} has no part \"{}\"; its parts: {}", kind.name, part, fmt::join(parts, ", "));
}

}  // namespace undercap
