// Whether one value may stand where it stands, by its row of the key table.
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <filesystem>

#include "engine/core/files.h"
#include "engine/scene/read.h"

namespace undercap {
namespace {

using Type = FileNode::Type;

bool in_range(const KeyRow& row, const FileNode& node) {
  return node.is_number() && std::isfinite(node.number) && node.number <= row.high &&
         (row.above_low ? node.number > row.low : node.number >= row.low);
}

bool numbers_in_range(const KeyRow& row, const FileNode& node, std::size_t fewest, std::size_t most) {
  return node.type == Type::array && node.items.size() >= fewest && node.items.size() <= most &&
         std::all_of(node.items.begin(), node.items.end(),
                     [&](const FileNode& n) { return in_range(row, n); });
}

bool fits(const ListColumn& column, const FileNode& node) {
  return node.is_number() && std::isfinite(node.number) && node.number >= column.low &&
         node.number <= column.high && (!column.whole || node.number == std::round(node.number));
}

bool fits(const ListShape& shape, const FileNode& item) {
  if (shape.columns.size() == 1) return fits(shape.columns[0], item);
  if (item.type != Type::array || item.items.size() != shape.columns.size()) return false;
  for (std::size_t i = 0; i < item.items.size(); ++i)
    if (!fits(shape.columns[i], item.items[i])) return false;
  return true;
}

bool is_list(const ListShape& shape, const FileNode& node) {
  return node.type == Type::array && node.items.size() <= shape.most &&
         (node.items.empty() || node.items.size() >= shape.fewest) &&
         std::all_of(node.items.begin(), node.items.end(), [&](const FileNode& n) { return fits(shape, n); });
}

// ", where item 3 is -1": a long list is shown cut, so its first bad item is told by itself.
std::string first_bad_item(const Document& document, const KeyRow& row, const FileNode& node) {
  if (row.type != ValueType::list || node.type != Type::array) return {};
  for (std::size_t i = 0; i < node.items.size(); ++i)
    if (!fits(*row.list, node.items[i]))
      return fmt::format(", where item {} is {}", i + 1, document.shown(node.items[i]));
  return fmt::format(", {} long", node.items.size());
}

bool is_word_of(std::string_view listed, const FileNode& node) {
  const auto all = words(listed);
  return node.type == Type::text && std::find(all.begin(), all.end(), node.text) != all.end();
}

bool is_address(const FileNode& node) {
  return node.type == Type::text && Address::parse(node.text).has_value();
}

// No address names a variant, so that its name may begin with a digit: "180 mm".
bool is_name(const KeyRow& row, const FileNode& node) {
  const auto letter = [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); };
  const auto digit = [](char c) { return c >= '0' && c <= '9'; };
  if (node.type != Type::text || node.text.empty()) return false;
  if (!letter(node.text.front()) && !(row.table == "variant" && digit(node.text.front()))) return false;
  return std::all_of(node.text.begin(), node.text.end(),
                     [&](char c) { return letter(c) || digit(c) || c == ' ' || c == '_' || c == '-'; });
}

bool may_stand(const KeyRow& row, const FileNode& node) {
  switch (row.type) {
    case ValueType::boolean:
      return node.type == Type::boolean;
    case ValueType::integer:
      return node.type == Type::integer && in_range(row, node);
    case ValueType::number:
      return in_range(row, node);
    case ValueType::pair:
      return numbers_in_range(row, node, 2, 2);
    case ValueType::point:
      return numbers_in_range(row, node, 3, 3);
    case ValueType::direction:
      return numbers_in_range(row, node, 3, 3) &&
             std::any_of(node.items.begin(), node.items.end(),
                         [](const FileNode& n) { return n.number != 0; });
    case ValueType::ground_point:
      return numbers_in_range(row, node, 2, 3);
    case ValueType::colour:
      return in_range(row, node) || numbers_in_range(row, node, 3, 3);
    case ValueType::list:
      return is_list(*row.list, node);
    case ValueType::text:
      return node.type == Type::text;
    case ValueType::name:
      return is_name(row, node);
    case ValueType::choice:
      return is_word_of(row.choices, node);
    case ValueType::address:
      return is_address(node);
    case ValueType::target:
      return is_address(node) || numbers_in_range(row, node, 3, 3);
    case ValueType::addresses:
      return node.type == Type::array && !node.items.empty() &&
             std::all_of(node.items.begin(), node.items.end(), is_address);
    case ValueType::number_or_word:
      return is_word_of(row.choices, node) || in_range(row, node);
    case ValueType::address_or_word:
      return is_word_of(row.choices, node) || is_address(node);
    case ValueType::moment:
      return node.type == Type::moment && node.moment.year >= 1900 && node.moment.year <= 2100;
    case ValueType::table:
      return node.type == Type::table;
  }
  return false;
}

// Words that stand for light groups in readings; a written picture has a part for each source and one named
// 'mix'.
bool is_reserved(const KeyRow& row, std::string_view name) {
  const auto reserved = words("sky sun glow canopy caustic all total illuminance luminance");
  return std::find(reserved.begin(), reserved.end(), name) != reserved.end() ||
         (row.table == "source" && name == "mix");
}

// The number that a text in quotes begins with, as ' (write ...)': people quote it, give it its unit, or
// write a comma in it.
std::string number_hint(const std::string& text) {
  std::string written = text.substr(0, text.find_last_not_of(" \t") + 1);
  std::replace(written.begin(), written.end(), ',', '.');
  double number = 0;
  const auto [end, error] = std::from_chars(written.data(), written.data() + written.size(), number);
  if (error != std::errc{} || !std::isfinite(number)) return {};
  return fmt::format(" (write the number alone, without quotes: {})",
                     written.substr(0, static_cast<std::size_t>(end - written.data())));
}

}  // namespace

std::string hint_of_text(const KeyRow& row, const std::string& text) {
  const bool numeric = row.type == ValueType::number || row.type == ValueType::integer ||
                       row.type == ValueType::colour || row.type == ValueType::number_or_word;
  if (numeric && row.allowed.empty()) return number_hint(text);
  if (row.type != ValueType::choice) return {};
  const std::string nearest = nearest_word(text, words(row.choices));
  return nearest.empty() ? "" : fmt::format(" (did you mean \"{}\"?)", nearest);
}

std::optional<std::string> fault_of_value(const Document& document, const KeyRow& row, const std::string& key,
                                          const FileNode& value) {
  const std::string shown = document.shown(value);
  if (!row.served) return fmt::format("{} is {}; take it out", key, not_yet);
  if (row.type == ValueType::moment && value.type == Type::local_time)
    return fmt::format("{} is {}, without a date, a time or an offset; allowed: {}", key, shown,
                       allowed_text(row));
  if (row.type == ValueType::moment && value.type == Type::moment && !may_stand(row, value))
    return fmt::format("{} is {}; allowed: a year from 1900 to 2100", key, shown);
  if (!may_stand(row, value))
    return fmt::format("{} is {}{}; allowed: {}{}", key, shown, first_bad_item(document, row, value),
                       allowed_text(row), value.type == Type::text ? hint_of_text(row, value.text) : "");
  if (row.type == ValueType::name && is_reserved(row, value.text))
    return fmt::format("{} is {}, a reserved word; choose another name", key, shown);
  return std::nullopt;
}

std::optional<std::string> fault_of_path(std::string_view path, const std::filesystem::path& folder) {
  const std::filesystem::path given{std::string(path)};
  const bool control = std::any_of(path.begin(), path.end(), [](char c) { return c >= 0 && c < 0x20; });
  if (path.empty() || control) return "which is no name; allowed: a file in the scene file's folder";
  if (given.is_absolute()) return "an absolute path; allowed: a path relative to the scene file's folder";
  const std::filesystem::path normal = given.lexically_normal();
  if (*normal.begin() == "..")
    return "which leaves the scene file's folder; put the file into that folder and name it there";
  if (normal == "." || !normal.has_filename()) return "a folder; allowed: a file in the scene file's folder";
  if (!stays_inside(folder, folder / normal))
    return "a link that leads out of the scene file's folder; put the file itself there";
  return std::nullopt;
}

Rows rows_of_list(const FileNode& node) {
  Rows rows;
  for (const FileNode& item : node.items) {
    std::vector<double>& row = rows.emplace_back();
    if (item.is_number()) row.push_back(item.number);
    for (const FileNode& number : item.items) row.push_back(number.number);
  }
  return rows;
}

KeyValue kind_value(const KeyRow& row, const FileNode& node) {
  switch (row.type) {
    case ValueType::boolean:
      return node.boolean;
    case ValueType::integer:
    case ValueType::number:
      return node.number;
    case ValueType::pair:
      return std::array{node.items[0].number, node.items[1].number};
    case ValueType::point:
    case ValueType::direction:
      return std::array{node.items[0].number, node.items[1].number, node.items[2].number};
    case ValueType::list:
      return rows_of_list(node);
    default:
      return node.text;
  }
}

}  // namespace undercap
