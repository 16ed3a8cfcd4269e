#include "engine/scene/patch.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/scene/layout.h"

namespace undercap {
namespace {

std::string_view line_break_of(std::string_view text) {
  const std::size_t first = text.find('\n');
  return first != text.npos && first > 0 && text[first - 1] == '\r' ? "\r\n" : "\n";
}

// Steps from 'first' on as a dotted key. Numbers of list elements are not written.
std::string dotted(const TextPath& path, std::size_t first, std::size_t end) {
  std::string text;
  for (std::size_t i = first; i < end; ++i)
    if (!is_element_step(path[i])) text += fmt::format("{}{}", text.empty() ? "" : ".", written_key(path[i]));
  return text;
}

class Patch {
 public:
  explicit Patch(std::string_view text) : text_(text), layout_(layout_of(text)) {}

  const TextMember* member(const TextPath& path) const {
    const auto found = std::find_if(layout_.members.begin(), layout_.members.end(),
                                    [&](const TextMember& m) { return m.path == path; });
    return found == layout_.members.end() ? nullptr : &*found;
  }

  Splice setting(const TextPath& path, std::string_view value) const {
    if (const TextMember* there = member(path))
      return {there->value_begin, there->value_end, std::string(value)};
    // The nearest table around the key that the text writes in some way decides the way.
    TextPath table(path.begin(), path.end() - 1);
    const std::size_t full = table.size();
    for (;; table.pop_back()) {
      if (const TextMember* inline_table = member(table))
        return into_inline(*inline_table, dotted(path, table.size(), path.size()), value);
      if (const TextMember* last = last_dotted(table))
        return after(*last, dotted(path, last->container_steps, path.size()), value);
      if (const TextSection* section = section_of(table))
        return table.size() == full ? into_section(*section, dotted(path, full, path.size()), value)
                                    : new_section(table, path, value);
      if (std::any_of(layout_.sections.begin(), layout_.sections.end(),
                      [&](const TextSection& s) { return begins_with(s.path, table); }))
        return new_section(table, path, value);
    }
  }

  std::optional<Splice> removal(const TextPath& path) const {
    const TextMember* gone = member(path);
    if (!gone) return std::nullopt;
    if (gone->owner < 0) return Splice{gone->line_begin, gone->line_end, ""};
    const TextMember* before = nullptr;
    const TextMember* behind = nullptr;
    for (const TextMember& other : layout_.members) {
      if (other.owner != gone->owner || &other == gone) continue;
      if (other.key_begin < gone->key_begin)
        before = &other;
      else if (!behind)
        behind = &other;
    }
    if (before) return Splice{before->value_end, gone->value_end, ""};
    return Splice{gone->key_begin, behind ? behind->key_begin : gone->value_end, ""};
  }

  Splice block_addition(std::string_view list, std::string_view block) const {
    std::size_t place = text_.size();
    for (const TextSection& s : layout_.sections)
      if (!s.path.empty() && s.path.front() == list) place = s.end;
    const std::string line_break(line_break_of(text_));
    std::string lines;
    for (const char c : block) {
      if (c == '\n')
        lines += line_break;
      else if (c != '\r')
        lines += c;
    }
    if (!lines.ends_with('\n')) lines += line_break;
    const bool open = place > 0 && text_[place - 1] != '\n';
    return {place, place, fmt::format("{}{}{}", open ? line_break : "", line_break, lines)};
  }

  // Sections that stand together are one splice; others may stand between them.
  std::vector<Splice> block_removal(const TextPath& element) const {
    std::vector<Splice> splices;
    const auto is_of_it = [&](std::size_t i) { return begins_with(layout_.sections[i].path, element); };
    for (std::size_t i = 1; i < layout_.sections.size(); ++i) {
      if (!is_of_it(i)) continue;
      const std::size_t begin = begin_with_comment(i);
      while (i + 1 < layout_.sections.size() && is_of_it(i + 1)) ++i;
      splices.push_back({begin, layout_.sections[i].end, ""});
    }
    if (splices.empty())
      if (const auto inline_block = removal(element)) splices.push_back(*inline_block);
    std::reverse(splices.begin(), splices.end());
    return splices;
  }

 private:
  // Where the line before a line's beginning begins.
  std::size_t line_before(std::size_t line) const {
    const std::size_t line_break = line < 2 ? text_.npos : text_.rfind('\n', line - 2);
    return line_break == text_.npos ? 0 : line_break + 1;
  }

  // A section's beginning with the comment right above it and the blank lines above that. A comment that
  // opens the file is about the file.
  std::size_t begin_with_comment(std::size_t section) const {
    const std::size_t begin = layout_.sections[section].begin, least = layout_.sections[section - 1].end;
    const auto first_of = [&](std::size_t line, std::size_t end) {
      const std::size_t first = text_.find_first_not_of(" \t\r\n", line);
      return first < end ? text_[first] : '\n';
    };
    const auto above = [&](std::size_t from, char kind) {
      while (from > least && first_of(line_before(from), from) == kind) from = line_before(from);
      return from;
    };
    return above(above(begin, '#'), '\n');
  }

  const TextSection* section_of(const TextPath& path) const {
    const auto found = std::find_if(layout_.sections.begin(), layout_.sections.end(),
                                    [&](const TextSection& s) { return s.path == path; });
    return found == layout_.sections.end() ? nullptr : &*found;
  }

  // The last 'table.key = value' that builds a table from outside.
  const TextMember* last_dotted(const TextPath& table) const {
    const TextMember* last = nullptr;
    for (const TextMember& m : layout_.members)
      if (m.container_steps < table.size() && m.path.size() > table.size() && begins_with(m.path, table))
        last = &m;
    return last;
  }

  std::string indent_of(const TextMember& m) const {
    return std::string(text_.substr(m.line_begin, m.key_begin - m.line_begin));
  }

  // A new line at a line's beginning, or at the end of a text whose last line is open.
  Splice line_at(std::size_t place, const std::string& line) const {
    const std::string_view line_break = line_break_of(text_);
    const bool open = place == text_.size() && place > 0 && text_.back() != '\n' && text_ != "\xef\xbb\xbf";
    return {place, place,
            open ? fmt::format("{}{}", line_break, line) : fmt::format("{}{}", line, line_break)};
  }

  Splice after(const TextMember& m, const std::string& key, std::string_view value) const {
    const std::string pair = fmt::format("{} = {}", key, value);
    if (m.owner >= 0) return {m.value_end, m.value_end, ", " + pair};
    return line_at(m.line_end, indent_of(m) + pair);
  }

  Splice into_inline(const TextMember& table, const std::string& key, std::string_view value) const {
    const auto index = static_cast<int>(&table - layout_.members.data());
    const TextMember* last = nullptr;
    for (const TextMember& m : layout_.members)
      if (m.owner == index) last = &m;
    if (last) return after(*last, key, value);
    return {table.value_begin, table.value_end, fmt::format("{{ {} = {} }}", key, value)};
  }

  Splice into_section(const TextSection& section, const std::string& key, std::string_view value) const {
    const auto index = static_cast<std::size_t>(&section - layout_.sections.data());
    const TextMember* last = nullptr;
    for (const TextMember& m : layout_.members)
      if (m.section == index && m.owner < 0) last = &m;
    if (last) return after(*last, key, value);
    return line_at(section.end, fmt::format("{} = {}", key, value));
  }

  // A [header] with the one key, behind all that the text says of 'around'.
  Splice new_section(const TextPath& around, const TextPath& path, std::string_view value) const {
    std::size_t place = text_.size();
    if (!around.empty())
      for (const TextSection& s : layout_.sections)
        if (begins_with(s.path, around)) place = s.end;
    const std::string_view line_break = line_break_of(text_);
    const std::string name = dotted(path, 0, path.size() - 1);
    return line_at(
        place, fmt::format("{}[{}]{}{} = {}", line_break, name, line_break, written_key(path.back()), value));
  }

  std::string_view text_;
  TextLayout layout_;
};

}  // namespace

Splice setting(std::string_view text, const TextPath& path, std::string_view value) {
  return Patch(text).setting(path, value);
}

std::optional<Splice> removal(std::string_view text, const TextPath& path) {
  return Patch(text).removal(path);
}

Splice block_addition(std::string_view text, std::string_view list, std::string_view block) {
  return Patch(text).block_addition(list, block);
}

std::vector<Splice> block_removal(std::string_view text, std::string_view list, std::size_t index) {
  return Patch(text).block_removal({std::string(list), element_step(index)});
}

}  // namespace undercap
