// How keys are looked up and put into words; the table itself is in keys.cpp.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "engine/scene/keys.h"

namespace undercap {
namespace {

// Three numbers may be sizes as well as a direction; only a normal must point somewhere.
ValueType type_of(const KindKey& key) {
  switch (key.type) {
    case KeyType::number:
      return ValueType::number;
    case KeyType::integer:
      return ValueType::integer;
    case KeyType::boolean:
      return ValueType::boolean;
    case KeyType::text:
      return ValueType::text;
    case KeyType::choice:
      return ValueType::choice;
    case KeyType::pair:
      return ValueType::pair;
    case KeyType::direction:
      return key.name == "normal" ? ValueType::direction : ValueType::point;
    case KeyType::list:
      return ValueType::list;
  }
  return ValueType::number;
}

// Short exposure times read as fractions: 1/32000.
std::string number_text(double number) {
  const double inverse = 1 / number;
  if (number > 0 && number < 1e-4 && std::abs(inverse - std::round(inverse)) < 1e-6 * inverse)
    return fmt::format("1/{:.0f}", inverse);
  return fmt::format("{}", number);
}

std::string range_text(const KeyRow& row) {
  std::string text = fmt::format("{}{}{} {}", row.above_low ? "above " : "from ", number_text(row.low),
                                 row.above_low ? " up to" : " to", number_text(row.high));
  if (!row.unit.empty()) text += fmt::format(" {}", row.unit);
  return text;
}

// "a", "b" or "c"
std::string listed(const std::vector<std::string_view>& all) {
  std::string text;
  for (std::size_t i = 0; i < all.size(); ++i)
    text += fmt::format("{}\"{}\"", i == 0 ? "" : i + 1 < all.size() ? ", " : " or ", all[i]);
  return text;
}

// "a list of whole numbers, each from 1 to 9", "a list of rows [x_m -1 to 1, y_m -1 to 1], 3 at least or
// none"
std::string list_text(const ListShape& shape) {
  std::string text;
  if (shape.columns.size() == 1) {
    const ListColumn& of = shape.columns[0];
    text = fmt::format("a list of {}numbers, each from {} to {}", of.whole ? "whole " : "", of.low, of.high);
  } else {
    std::string columns;
    for (const ListColumn& one : shape.columns)
      columns += fmt::format("{}{} {} to {}{}", columns.empty() ? "" : ", ", one.name, one.low, one.high,
                             one.whole ? " (whole)" : "");
    text = fmt::format("a list of rows [{}]", columns);
  }
  return text + (shape.fewest > 0 ? fmt::format(", {} at least or none", shape.fewest)
                                  : fmt::format(", {} at most", shape.most));
}

// Changes, insertions, deletions and swaps of neighbours that turn one word into the other, by bytes (Damerau
// 1964 in the restricted form: no letter is touched twice).
std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> two_back, back, row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 1; i <= a.size(); ++i) {
    two_back = std::exchange(back, row);
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      row[j] = std::min({back[j] + 1, row[j - 1] + 1, back[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1)});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        row[j] = std::min(row[j], two_back[j - 2] + 1);
    }
  }
  return row[b.size()];
}

}  // namespace

std::vector<KeyRow> rows_of(std::string_view table) {
  std::vector<KeyRow> found;
  std::copy_if(key_rows().begin(), key_rows().end(), std::back_inserter(found),
               [&](const KeyRow& row) { return row.table == table; });
  return found;
}

bool for_kind(const KeyRow& row, std::string_view kind) {
  const auto kinds = words(row.only_kind);
  return kinds.empty() || std::find(kinds.begin(), kinds.end(), kind) != kinds.end();
}

std::string kinds_text(const KeyRow& row) { return listed(words(row.only_kind)); }

std::vector<KeyRow> of_kind(const Kind& kind) {
  std::vector<KeyRow> found;
  for (const KindKey& key : kind.keys)
    found.push_back({.table = "prop",
                     .name = key.name,
                     .type = type_of(key),
                     .low = key.low,
                     .high = key.high,
                     .fallback = key.fallback,
                     .choices = key.choices,
                     .only_kind = kind.name,
                     .required = key.fallback.empty(),
                     .meaning = key.meaning,
                     .list = key.type == KeyType::list ? &key.list : nullptr});
  return found;
}

const KeyRow* find_row(const std::vector<KeyRow>& rows, std::string_view name) {
  const auto found =
      std::find_if(rows.begin(), rows.end(), [&](const KeyRow& row) { return row.name == name; });
  return found == rows.end() ? nullptr : &*found;
}

std::vector<std::string_view> words(std::string_view text) {
  std::vector<std::string_view> found;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    if (end > 0) found.push_back(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return found;
}

std::string allowed_text(const KeyRow& row) {
  constexpr std::string_view address = "an address such as \"tuft/cap\"";
  if (!row.allowed.empty()) return std::string(row.allowed);
  switch (row.type) {
    case ValueType::boolean:
      return "true or false";
    case ValueType::integer:
      return fmt::format("a whole number {}", range_text(row));
    case ValueType::number:
      return fmt::format("a number {}", range_text(row));
    case ValueType::pair:
      return fmt::format("2 numbers, each {}", range_text(row));
    case ValueType::point:
      return fmt::format("3 numbers, each {}", range_text(row));
    case ValueType::direction:
      return fmt::format("3 numbers, not all 0, each {}", range_text(row));
    case ValueType::ground_point:
      return fmt::format("2 or 3 numbers, each {}", range_text(row));
    case ValueType::colour:
      return fmt::format("a number or 3 numbers, each {}", range_text(row));
    case ValueType::list:
      return list_text(*row.list);
    case ValueType::text:
      return "text in quotes";
    case ValueType::name:
      return "a letter, then letters, digits, blanks, _ and -, in quotes";
    case ValueType::choice:
      return listed(words(row.choices));
    case ValueType::address:
      return std::string(address);
    case ValueType::target:
      return fmt::format("{} or 3 numbers, each {}", address, range_text(row));
    case ValueType::addresses:
      return "a list of addresses such as [\"tuft/cap\", \"log\"]";
    case ValueType::number_or_word:
      return fmt::format("\"{}\" or a number {}", row.choices, range_text(row));
    case ValueType::address_or_word:
      return fmt::format("\"{}\" or {}", row.choices, address);
    case ValueType::moment:
      return "a date and time with an offset, such as 2026-10-20T12:00:00Z";
    case ValueType::table:
      return "a table";
  }
  return {};
}

std::string nearest_word(std::string_view word, const std::vector<std::string_view>& candidates) {
  std::string_view nearest;
  std::size_t least = std::clamp<std::size_t>(word.size() / 3, 1, 3) + 1;
  for (const std::string_view candidate : candidates)
    if (const std::size_t distance = edit_distance(word, candidate); distance < least)
      least = distance, nearest = candidate;
  return std::string(nearest);
}

}  // namespace undercap
