#include "engine/scene/syntax.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/scene/document.h"

namespace undercap {
namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
bool says(std::string_view said, std::string_view word) { return said.find(word) != said.npos; }

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view blanks = " \t\r";
  const std::size_t begin = text.find_first_not_of(blanks);
  return begin == text.npos ? std::string_view()
                            : text.substr(begin, text.find_last_not_of(blanks) - begin + 1);
}

std::string_view line_of(std::string_view text, int line) {
  for (; line > 1; --line) {
    const std::size_t end = text.find('\n');
    if (end == text.npos) return {};
    text = text.substr(end + 1);
  }
  return text.substr(0, text.find('\n'));
}

// Without the comment at its end; a # in quotes is none.
std::string_view without_comment(std::string_view line) {
  char quote = 0;
  for (std::size_t i = 0; i < line.size(); ++i) {
    if (quote == 0 && line[i] == '#') return line.substr(0, i);
    if (quote == '"' && line[i] == '\\')
      ++i;
    else if (line[i] == quote)
      quote = 0;
    else if (quote == 0 && (line[i] == '"' || line[i] == '\''))
      quote = line[i];
  }
  return line;
}

std::string shown(std::string_view text) {
  constexpr std::size_t most_code_points = 48;
  std::size_t code_points = 0;
  for (std::size_t i = 0; i < text.size(); ++i)
    if ((static_cast<unsigned char>(text[i]) & 0xc0u) != 0x80u && ++code_points > most_code_points)
      return fmt::format("'{}...'", text.substr(0, i));
  return fmt::format("'{}'", text);
}

// The bytes of a plain decimal number at the beginning: sign, digits, point, digits.
std::size_t number_bytes(std::string_view text) {
  std::size_t at = !text.empty() && (text[0] == '-' || text[0] == '+') ? 1 : 0;
  const std::size_t begin = at;
  while (at < text.size() && (is_digit(text[at]) || text[at] == '_')) ++at;
  if (at > begin && at + 1 < text.size() && text[at] == '.' && is_digit(text[at + 1]))
    while (++at < text.size() && is_digit(text[at])) {
    }
  return at > begin ? at : 0;
}

std::string about_number(std::string_view value) {
  const std::size_t end = number_bytes(value);
  const std::string_view number = value.substr(0, end), rest = trimmed(value.substr(end));
  const bool comma = rest.size() > 1 && rest[0] == ',' && is_digit(rest[1]);
  if (comma) {
    const std::string_view fraction = rest.substr(1, rest.find_first_not_of("0123456789", 1) - 1);
    return fmt::format("{}: a decimal number is written with a point: {}.{}", shown(value), number, fraction);
  }
  if (rest == ".")
    return fmt::format("{}: a digit stands on both sides of the point: {}.0", shown(value), number);
  const std::string_view digits = number.substr(number[0] == '-' || number[0] == '+' ? 1 : 0);
  if (digits.size() > 1 && digits[0] == '0' && is_digit(digits[1]))
    return fmt::format("{}: a number does not begin with a 0 before its other digits", shown(value));
  const bool exponent = rest.size() > 1 && (rest[0] == 'e' || rest[0] == 'E') &&
                        rest.find_first_not_of("+-0123456789_", 1) == rest.npos;
  if (rest.empty() || exponent) return fmt::format("{}: the number is too large or too small", shown(value));
  if (digits.size() == 4 && rest.starts_with('-'))
    return fmt::format("{}: a moment is written like 2026-10-20T12:00:00Z", shown(value));
  if (!rest.empty() && (is_letter(rest[0]) || static_cast<unsigned char>(rest[0]) >= 0x80 || rest[0] == '%'))
    return fmt::format("{}: the unit stands in the key's name; write the number alone: {}", shown(value),
                       number);
  return fmt::format("{}: behind the number {} stands something else; one key and one value make a line",
                     shown(value), number);
}

std::string about_value(std::string_view value, std::string_view said) {
  if (says(said, "escape sequence") || says(said, "hex digit"))
    return fmt::format("{}: a backslash in text in \"...\" is written \\\\; in text in '...' it is plain",
                       shown(value));
  const char first = value[0];
  if (first == '"' || first == '\'') {
    if (says(said, "end-of-file") || says(said, "control character") || says(said, "line-break"))
      return fmt::format("{}: the text does not end; close it with {}", shown(value), first);
    return fmt::format(
        "{}: behind the closing quotes stands something else; a quote inside text in \"...\" is "
        "written \\\"",
        shown(value));
  }
  for (const char* curly : {"\u201c", "\u201d", "\u201e", "\u2018", "\u2019"})
    if (value.starts_with(curly))
      return fmt::format("{}: text stands in straight quotes, \" or '", shown(value));
  if (first == '[')
    return fmt::format(
        "{}: a list is written [1.5, 2, 3], with commas between its values, a point in decimal "
        "numbers and text in quotes",
        shown(value));
  if (first == '{')
    return fmt::format(
        "{}: a table within a line is written {{ key = value, key = value }}, with no comma at its "
        "end",
        shown(value));
  if (first == '.' && value.size() > 1 && is_digit(value[1]))
    return fmt::format("{}: a digit stands on both sides of the point: 0{}", shown(value),
                       value.substr(0, value.find_first_not_of("0123456789", 1)));
  if (number_bytes(value) > 0) return about_number(value);
  std::string small(value);
  for (char& c : small) c = static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c);
  if (small == "true" || small == "yes" || small == "on")
    return fmt::format("{}: yes is written true", shown(value));
  if (small == "false" || small == "no" || small == "off")
    return fmt::format("{}: no is written false (a word such as \"off\" stands in quotes)", shown(value));
  return fmt::format("{}: a value is a number, true, false, a list in [], or text in quotes: {}",
                     shown(value), toml_quoted(value.size() > 40 ? "text" : value));
}

// The first of the keys in quotes that a message names.
std::string quoted_in(std::string_view said) {
  const std::size_t begin = said.find('\''), end = said.find('\'', begin + 1);
  return begin == said.npos || end == said.npos ? "it" : std::string(said.substr(begin, end - begin + 1));
}

}  // namespace

std::string syntax_message(std::string_view text, int line, std::string_view said) {
  if (says(said, "redefine"))
    return fmt::format("{} stands there a second time; keep one of the two", quoted_in(said));
  if (says(said, "nested")) return "values are nested too deeply; a scene needs no such list";
  const std::string_view here = trimmed(without_comment(line_of(text, line)));
  if (here.empty()) return "the file ends in the middle of a list or a text; close it with ] or with quotes";
  const auto is_ascii = [](std::string_view words) {
    return std::all_of(words.begin(), words.end(),
                       [](char c) { return static_cast<unsigned char>(c) < 0x80; });
  };
  if (said.empty() && !is_ascii(here.substr(0, here.find('='))))
    return fmt::format("{}: letters other than a to z stand in quotes", shown(here));
  if (here[0] == '[' && (says(said, "closing ']'") || says(said, "array")))
    return fmt::format("{}: the list before this line does not end; close it with ]", shown(here));
  if (here[0] == '[')
    return fmt::format("{}: a table begins with a line [name], a block of a list with a line [[name]]",
                       shown(here));
  const std::size_t equals = here.find('=');
  if (equals == here.npos) {
    const std::size_t gap = here.find_first_of(": \t"), rest = here.find_first_not_of(": \t", gap);
    if (rest != here.npos && gap > 0 && (is_letter(here[0]) || here[0] == '_'))
      return fmt::format("{}: a key and its value are written KEY = VALUE: {} = {}", shown(here),
                         here.substr(0, gap), here.substr(rest));
    return fmt::format("{} is no line of a scene; write KEY = VALUE, [table] or # comment", shown(here));
  }
  const std::string_view key = trimmed(here.substr(0, equals)), value = trimmed(here.substr(equals + 1));
  if (key.empty()) return fmt::format("{}: there is no key in front of the =", shown(here));
  if (value.empty()) return fmt::format("{} has no value; write one behind the =", shown(key));
  if (key.find_first_of(" \t") != key.npos && key.find_first_of("\"'") == key.npos)
    return fmt::format("{}: a key with blanks stands in quotes", shown(key));
  return about_value(value, said);
}

}  // namespace undercap
