#include "engine/scene/document.h"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <charconv>
#include <chrono>

#include "engine/core/text.h"
#include "engine/scene/syntax.h"

namespace undercap {
namespace {

// Turns the library's lines and columns into byte offsets.
class Offsets {
 public:
  explicit Offsets(std::string_view text) : text_(text) {
    line_begin_.push_back(text.starts_with("\xef\xbb\xbf") ? 3 : 0);  // a byte order mark is in no column
    for (std::size_t i = 0; i < text.size(); ++i)
      if (text[i] == '\n') line_begin_.push_back(i + 1);
  }
  std::size_t of(const toml::source_position& place) const {
    const std::size_t line = std::min<std::size_t>(place.line, line_begin_.size());
    if (line == 0) return 0;
    std::size_t at = line_begin_[line - 1];
    for (std::size_t column = 1; column < place.column && at < text_.size(); ++column) at = after(at);
    return at;
  }

 private:
  std::size_t after(std::size_t at) const {
    do ++at;
    while (at < text_.size() && (static_cast<unsigned char>(text_[at]) & 0xc0u) == 0x80u);
    return at;
  }
  std::string_view text_;
  std::vector<std::size_t> line_begin_;
};

TextSpot spot_of(const toml::source_position& place) {
  return {static_cast<int>(place.line), static_cast<int>(place.column)};
}

UtcTime utc(const toml::date_time& given) {
  namespace chrono = std::chrono;
  const chrono::sys_days day = chrono::year_month_day(
      chrono::year(given.date.year), chrono::month(given.date.month), chrono::day(given.date.day));
  const auto minute = day + chrono::hours(given.time.hour) +
                      chrono::minutes(given.time.minute - (given.offset ? given.offset->minutes : 0));
  const auto utc_day = chrono::floor<chrono::days>(minute);
  const chrono::year_month_day date(utc_day);
  const auto in_day = static_cast<int>((minute - utc_day) / chrono::minutes(1));
  return {.year = int(date.year()),
          .month = static_cast<int>(unsigned(date.month())),
          .day = static_cast<int>(unsigned(date.day())),
          .hour = in_day / 60,
          .minute = in_day % 60,
          .second = given.time.second + given.time.nanosecond * 1e-9};
}

FileNode converted(const toml::node& from, const Offsets& offsets);

void convert_table(const toml::table& from, const Offsets& offsets, FileNode& node) {
  for (auto&& [key, value] : from)
    node.entries.push_back({std::string(key.str()), spot_of(key.source().begin), converted(value, offsets)});
  // The library sorts by key. Repeated blocks stand where their first one does.
  std::stable_sort(node.entries.begin(), node.entries.end(), [](const FileEntry& a, const FileEntry& b) {
    return std::pair(a.spot.line, a.spot.column) < std::pair(b.spot.line, b.spot.column);
  });
}

FileNode converted(const toml::node& from, const Offsets& offsets) {
  using Type = FileNode::Type;
  FileNode node;
  node.spot = spot_of(from.source().begin);
  node.begin = offsets.of(from.source().begin);
  node.end = offsets.of(from.source().end);
  if (const auto* table = from.as_table()) {
    convert_table(*table, offsets, node);
  } else if (const auto* array = from.as_array()) {
    node.type = Type::array;
    for (const toml::node& item : *array) node.items.push_back(converted(item, offsets));
  } else if (const auto* text = from.as_string()) {
    node.type = Type::text;
    node.text = text->get();
  } else if (const auto* integer = from.as_integer()) {
    node.type = Type::integer;
    node.number = static_cast<double>(integer->get());
  } else if (const auto* number = from.as_floating_point()) {
    node.type = Type::number;
    node.number = number->get();
  } else if (const auto* boolean = from.as_boolean()) {
    node.type = Type::boolean;
    node.boolean = boolean->get();
  } else if (const auto* moment = from.as_date_time(); moment && moment->get().offset) {
    node.type = Type::moment;
    node.moment = utc(moment->get());
  } else {
    node.type = Type::local_time;
  }
  return node;
}

// Past the string that begins at 'at'; a string of one line that does not close ends with its line.
std::size_t past_string(std::string_view text, std::size_t at) {
  const char quote = text[at];
  const bool block = text.substr(at, 3) == std::string(3, quote);
  const std::string fence(block ? std::size_t{3} : std::size_t{1}, quote);
  for (at += fence.size(); at < text.size(); ++at) {
    if (text.substr(at, fence.size()) == fence) return at + fence.size();
    if (!block && text[at] == '\n') return at;
    if (quote == '"' && text[at] == '\\') ++at;
  }
  return text.size();
}

// A place in the text by its byte, in code points.
TextSpot spot_at(std::string_view text, std::size_t at) {
  const std::string_view before = text.substr(0, at);
  std::size_t line_begin = before.rfind('\n') + 1;  // 0 when there is none
  if (line_begin == 0 && before.starts_with("\xef\xbb\xbf")) line_begin = 3;
  const auto begins = [](char c) { return (static_cast<unsigned char>(c) & 0xc0u) != 0x80u; };
  const auto column =
      std::count_if(before.begin() + static_cast<std::ptrdiff_t>(line_begin), before.end(), begins);
  return {static_cast<int>(std::count(before.begin(), before.end(), '\n')) + 1, static_cast<int>(column) + 1};
}

// What the library must not see outside strings and comments; in text that is no TOML any answer will do. It
// builds and frees dotted keys by recursion, and a key of a hundred thousand steps would end the stack; no
// key of a scene has more than five. Of letters beyond ASCII, which TOML has in strings and comments alone,
// some make it go astray.
void refuse_bare_text(std::string_view text, const std::string& file) {
  constexpr int most_dots = 16;  // inline tables may nest 256 deep, each below such a key
  int dots = 0;
  char before = '\n';  // the last that is no blank
  for (std::size_t at = text.starts_with("\xef\xbb\xbf") ? 3 : 0; at < text.size();) {
    const char c = text[at];
    // Elsewhere a quote begins no text, and what follows it is bare.
    const bool may_begin = std::string_view("=[,{.\n").find(before) != std::string_view::npos;
    if ((c == '"' || c == '\'') && may_begin) {
      at = past_string(text, at);
      before = c;
      continue;
    }
    if (c != ' ' && c != '\t' && c != '\r') before = c;
    if (static_cast<unsigned char>(c) >= 0x80) {
      const TextSpot spot = spot_at(text, at);
      throw refusal_at(file, spot, syntax_message(text, spot.line, {}));
    }
    if (c == '#') {
      at = std::min(text.find('\n', at), text.size() - 1);
      before = '\n';
    }
    if (std::string_view("#=,[]{}\n").find(c) != std::string_view::npos) dots = 0;
    if (c == '.' && ++dots > most_dots)
      throw refusal_at(file, {spot_at(text, at).line, 1},
                       fmt::format("a key with more than {} dots; a scene has no such key", most_dots));
    ++at;
  }
}

// Text is UTF-8 without control characters, in lines that end in LF or CR LF.
void refuse_bytes(std::string_view text, const std::string& file) {
  if (text.starts_with("\xff\xfe") || text.starts_with("\xfe\xff"))
    throw refusal_at(file, {1, 1}, "this is UTF-16; save the file as UTF-8");
  for (std::size_t at = 0;;) {
    at += printable_bytes(text.substr(at));
    if (at == text.size()) return;
    const auto byte = static_cast<unsigned char>(text[at]);
    const bool line_end = byte == '\n' || (byte == '\r' && text.substr(at + 1, 1) == "\n");
    if (byte == '\t' || line_end) {
      ++at;
      continue;
    }
    const auto next = static_cast<unsigned char>(at + 1 < text.size() ? text[at + 1] : 0);
    const bool high_control = byte == 0xc2 && next >= 0x80 && next < 0xa0;
    const std::string what =
        byte == 0      ? "a zero byte, which no text holds; is this the right file, saved as UTF-8?"
        : byte == '\r' ? "a carriage return without a line feed; save the file with line ends LF or CR LF"
        : byte < 0x20 || byte == 0x7f || high_control
            ? fmt::format("the control character U+{:04X}; take it out", high_control ? next : byte)
            : fmt::format("the byte 0x{:02X} is not UTF-8; save the file as UTF-8", byte);
    throw refusal_at(file, spot_at(text, at), what);
  }
}

}  // namespace

std::string element_step(std::size_t index) { return fmt::format("\x1f{}", index); }
bool is_element_step(std::string_view step) { return step.starts_with('\x1f'); }

const FileEntry* FileNode::entry(std::string_view key) const {
  for (const FileEntry& candidate : entries)
    if (candidate.key == key) return &candidate;
  return nullptr;
}

const FileNode* FileNode::find(std::string_view key) const {
  const FileEntry* found = entry(key);
  return found ? &found->value : nullptr;
}

const FileNode* Document::find(const TextPath& path) const {
  const FileNode* node = &root;
  for (const std::string& step : path) {
    if (node->type == FileNode::Type::array) {
      std::size_t index = 0;
      const auto [end, error] = std::from_chars(step.data() + 1, step.data() + step.size(), index);
      if (error != std::errc{} || index >= node->items.size()) return nullptr;
      node = &node->items[index];
    } else {
      node = node->find(step);
      if (!node) return nullptr;
    }
  }
  return node;
}

std::string_view Document::source(const FileNode& node) const {
  return std::string_view(text).substr(node.begin, node.end - node.begin);
}

std::string Document::shown(const FileNode& node) const {
  if (node.type == FileNode::Type::table && (node.begin >= text.size() || text[node.begin] != '{'))
    return "a table";
  constexpr std::size_t most_code_points = 48;
  std::string line;
  std::size_t code_points = 0;
  for (const char c : source(node)) {
    const bool begins_code_point = (static_cast<unsigned char>(c) & 0xc0u) != 0x80u;
    const bool blank = c == ' ' || c == '\t' || c == '\r' || c == '\n';
    if (blank && !line.empty() && line.back() == ' ') continue;
    if (begins_code_point && ++code_points > most_code_points) return line + "...";
    line += blank ? ' ' : c;
  }
  return line;
}

Document parse_document(std::string_view text, const std::string& file) {
  refuse_bytes(text, file);
  refuse_bare_text(text, file);
  Document document{file, std::string(text), {}};
  try {
    const toml::table table = toml::parse(std::string_view(document.text));
    document.root = converted(table, Offsets(document.text));
  } catch (const toml::parse_error& error) {
    const TextSpot spot = spot_of(error.source().begin);
    throw refusal_at(file, spot, syntax_message(document.text, spot.line, error.description()));
  }
  return document;
}

Refusal refusal_at(const std::string& file, TextSpot spot, std::string message) {
  std::vector<Fault> faults(1);
  faults[0].place = {file, spot.line, spot.column};
  faults[0].message = std::move(message);
  return Refusal(std::move(faults));
}

std::string toml_quoted(std::string_view text) {
  std::string result = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\')
      result += '\\', result += c;
    else if (c == '\n')
      result += "\\n";
    else if (c == '\t')
      result += "\\t";
    else if (byte < 0x20 || byte == 0x7f)
      result += fmt::format("\\u{:04X}", byte);
    else
      result += c;
  }
  return result + '"';
}

std::string written_key(std::string_view key) {
  const bool bare = !key.empty() && std::all_of(key.begin(), key.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
  });
  return bare ? std::string(key) : toml_quoted(key);
}

}  // namespace undercap
