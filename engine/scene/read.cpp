#include "engine/scene/read.h"

#include <fmt/format.h>

#include <algorithm>
#include <glm/geometric.hpp>

namespace undercap {
namespace {

glm::dvec3 point_of(const FileNode& node) {
  return {node.items[0].number, node.items[1].number, node.items[2].number};
}

glm::vec3 colour_of(const FileNode& node) {
  if (node.is_number()) return glm::vec3(static_cast<float>(node.number));
  return glm::vec3(point_of(node));
}

Target target_of(const FileNode& node) {
  if (node.type == FileNode::Type::text) return *Address::parse(node.text);
  return point_of(node);
}

std::string joined(const std::vector<std::string_view>& names) {
  return fmt::format("{}", fmt::join(names, ", "));
}

// The key that a misspelt one means: a near one of this table, or the same one of another.
std::string hint(std::string_view name, const std::vector<std::string_view>& here, const std::string& path) {
  if (const std::string nearest = nearest_word(name, here); !nearest.empty())
    return fmt::format("did you mean '{}{}{}'?", path, path.empty() ? "" : ".", nearest);
  for (const KeyRow& row : key_rows())
    if (row.name == name && row.served && row.table.find('.') == row.table.npos)
      return row.table.empty() ? fmt::format("it belongs to the top of the file, before any [table]")
                               : fmt::format("it belongs to '{}'", row.table);
  return fmt::format("allowed here: {}", joined(here));
}

}  // namespace

void Faults::add(TextSpot spot, std::vector<std::string> keys, std::string message) {
  constexpr std::size_t most = 100;
  keys_.insert(keys.begin(), keys.end());
  if (all_.size() == most)
    ++left_out_;
  else
    all_.push_back({spot, std::move(keys), std::move(message)});
}

bool Faults::concern(std::string_view key) const { return keys_.contains(key); }

TableReader::TableReader(const FileNode* node, std::string path, std::vector<KeyRow> rows, Faults& faults,
                         Options options)
    : node_(node),
      path_(std::move(path)),
      rows_(std::move(rows)),
      faults_(faults),
      options_(std::move(options)) {
  if (node_) {
    find_stray_entries();
    find_missing_and_exclusive();
  }
}

TableReader::~TableReader() {
  if (!node_) return;
  for (const FileEntry& entry : node_->entries)
    UNDERCAP_CHECK(!find_row(rows_, entry.key) || refused_.contains(entry.key) || read_.contains(entry.key),
                   fmt::format("every served key is read: {}", key(entry.key)));
}

std::string TableReader::key(std::string_view name) const {
  return path_.empty() ? std::string(name) : fmt::format("{}.{}", path_, name);
}

void TableReader::find_stray_entries() {
  std::vector<std::string_view> known = options_.subtables;
  for (const KeyRow& row : rows_)
    if (row.served && used_here(row)) known.push_back(row.name);
  for (const FileEntry& entry : node_->entries) {
    if (std::find(options_.subtables.begin(), options_.subtables.end(), entry.key) !=
        options_.subtables.end())
      continue;
    const KeyRow* row = find_row(rows_, entry.key);
    if (!row) {
      faults_.add(entry.spot, {key(entry.key)},
                  fmt::format("unknown key '{}'; {}", key(entry.key), hint(entry.key, known, path_)));
    } else if (!row->served) {
      refused_.insert(entry.key);
      faults_.add(entry.spot, {key(entry.key)},
                  *fault_of_value(faults_.document(), *row, key(entry.key), entry.value));
    } else if (!used_here(*row)) {
      refused_.insert(entry.key);
      if (!options_.kind.empty())
        faults_.add(entry.spot, {key(entry.key)},
                    fmt::format("{} belongs to kind {} and this is \"{}\"; take it out", key(entry.key),
                                kinds_text(*row), options_.kind));
    }
  }
}

void TableReader::find_missing_and_exclusive() {
  // While the kind is not known, every key may be meant.
  const auto may_be_used = [&](const KeyRow& row) { return options_.kind.empty() || used_here(row); };
  std::set<std::string_view> groups_seen;
  for (const KeyRow& row : rows_) {
    if (row.group.empty()) {
      if (row.required && used_here(row) && !node_->find(row.name))
        faults_.add(node_->spot, {key(row.name)},
                    fmt::format("{} is missing; allowed: {}", key(row.name), allowed_text(row)));
      continue;
    }
    if (!groups_seen.insert(row.group).second) continue;
    std::vector<const FileEntry*> given;
    std::vector<std::string_view> members;
    for (const KeyRow& member : rows_) {
      if (member.group != row.group) continue;
      if (member.served && may_be_used(member)) members.push_back(member.name);
    }
    for (const FileEntry& entry : node_->entries)
      if (const KeyRow* member = find_row(rows_, entry.key);
          member && member->group == row.group && may_be_used(*member))
        given.push_back(&entry);
    for (std::size_t i = 1; i < given.size(); ++i)
      faults_.add(given[i]->spot, {key(given[i]->key), key(given[0]->key)},
                  fmt::format("{} and {} (line {}) exclude each other; keep one of them", key(given[i]->key),
                              key(given[0]->key), given[0]->spot.line));
    if (row.required && given.empty())
      faults_.add(
          node_->spot, {},
          fmt::format("{} needs {}{}", path_, members.size() > 1 ? "exactly one of " : "", joined(members)));
  }
}

const FileNode* TableReader::value(std::string_view name) {
  const KeyRow* row = find_row(rows_, name);
  UNDERCAP_CHECK(row && row->served,
                 fmt::format("a key that is read stands in the table, served: {}", key(name)));
  const FileNode* node = node_ ? node_->find(name) : nullptr;
  if (!node || refused_.contains(name)) return nullptr;
  if (!read_.emplace(name).second) return refused_.contains(name) ? nullptr : node;
  if (auto message = fault_of_value(faults_.document(), *row, key(name), *node)) {
    refused_.emplace(name);
    faults_.add(node->spot, {key(name)}, std::move(*message));
    return nullptr;
  }
  return node;
}

void TableReader::read(std::string_view name, bool& out) {
  if (const FileNode* node = value(name)) out = node->boolean;
}
void TableReader::read(std::string_view name, int& out) {
  if (const FileNode* node = value(name)) out = static_cast<int>(node->number);
}
void TableReader::read(std::string_view name, double& out) {
  if (const FileNode* node = value(name)) out = node->number;
}
void TableReader::read(std::string_view name, std::optional<double>& out) {
  if (const FileNode* node = value(name); node && node->is_number()) out = node->number;
}
void TableReader::read(std::string_view name, std::string& out) {
  if (const FileNode* node = value(name)) out = node->text;
}
void TableReader::read(std::string_view name, std::optional<std::string>& out) {
  if (const FileNode* node = value(name)) out = node->text;
}
void TableReader::read(std::string_view name, std::array<double, 2>& out) {
  if (const FileNode* node = value(name)) out = {node->items[0].number, node->items[1].number};
}
void TableReader::read(std::string_view name, glm::dvec3& out) {
  const FileNode* node = value(name);
  if (!node) return;
  out = point_of(*node);
  if (find_row(rows_, name)->type == ValueType::direction) out = glm::normalize(out);
}
void TableReader::read(std::string_view name, glm::vec3& out) {
  if (const FileNode* node = value(name)) out = colour_of(*node);
}
void TableReader::read(std::string_view name, std::optional<glm::vec3>& out) {
  if (const FileNode* node = value(name)) out = colour_of(*node);
}
void TableReader::read(std::string_view name, Target& out) {
  if (const FileNode* node = value(name)) out = target_of(*node);
}
void TableReader::read(std::string_view name, std::optional<Target>& out) {
  if (const FileNode* node = value(name)) out = target_of(*node);
}
void TableReader::read(std::string_view name, std::optional<Address>& out) {
  if (const FileNode* node = value(name); node && node->text != find_row(rows_, name)->choices)
    out = *Address::parse(node->text);
}
void TableReader::read(std::string_view name, std::vector<Address>& out) {
  if (const FileNode* node = value(name))
    for (const FileNode& item : node->items) out.push_back(*Address::parse(item.text));
}
void TableReader::read(std::string_view name, UtcTime& out) {
  if (const FileNode* node = value(name)) out = node->moment;
}

void TableReader::read(std::string_view name, Rows& out) {
  if (const FileNode* node = value(name)) out = rows_of_list(*node);
}

int TableReader::choice_index(std::string_view name, const FileNode& node) const {
  const auto all = words(find_row(rows_, name)->choices);
  return static_cast<int>(std::find(all.begin(), all.end(), node.text) - all.begin());
}

}  // namespace undercap
