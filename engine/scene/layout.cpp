#include "engine/scene/layout.h"

#include <algorithm>
#include <map>

#include "engine/core/errors.h"

namespace undercap {
namespace {

class Scanner {
 public:
  explicit Scanner(std::string_view text) : text_(text) {}

  TextLayout run() {
    const std::size_t text_begin = text_.starts_with("\xef\xbb\xbf") ? 3 : 0;  // past a byte order mark
    at_ = text_begin;
    layout_.sections.push_back({{}, text_begin, text_begin});
    for (skip_all(); at_ < text_.size(); skip_all()) {
      const std::size_t line_break = text_.rfind('\n', at_);
      statement_begin_ = line_break == text_.npos ? text_begin : line_break + 1;
      if (text_[at_] == '[')
        header();
      else
        pair(layout_.sections.back().path, -1);
      at_ = end_of_line();
      layout_.sections.back().end = at_;
      for (auto member = layout_.members.rbegin(); member != layout_.members.rend() && member->line_end == 0;
           ++member)
        member->line_end = at_;
    }
    return std::move(layout_);
  }

 private:
  char now() const {
    UNDERCAP_CHECK(at_ < text_.size(), "the layout of a text that parses is found before its end");
    return text_[at_];
  }
  bool looking_at(std::string_view what) const { return text_.substr(at_).starts_with(what); }
  void skip_blanks() {
    while (at_ < text_.size() && (text_[at_] == ' ' || text_[at_] == '\t')) ++at_;
  }
  // Blanks, line breaks and comments.
  void skip_all() {
    for (; at_ < text_.size(); ++at_) {
      if (text_[at_] == '#')
        at_ = std::min(text_.find('\n', at_), text_.size() - 1);
      else if (std::string_view(" \t\r\n").find(text_[at_]) == std::string_view::npos)
        return;
    }
  }
  std::size_t end_of_line() const {
    const std::size_t line_break = text_.find('\n', at_);
    return line_break == text_.npos ? text_.size() : line_break + 1;
  }

  // A string of any of the four sorts; leaves at_ past it.
  void skip_string() {
    const char quote = now();
    const bool basic = quote == '"';
    const std::string fence(3, quote);
    const bool block = looking_at(fence);
    at_ += block ? 3 : 1;
    for (;; ++at_) {
      if (basic && now() == '\\') {
        ++at_;
      } else if (block ? looking_at(fence) : now() == quote) {
        at_ += block ? 3 : 1;
        for (int more = 0; block && more < 2 && looking_at(std::string_view(&quote, 1)); ++more) ++at_;
        return;
      }
    }
  }

  TextPath keys() {
    TextPath path;
    for (;;) {
      skip_blanks();
      const std::size_t begin = at_;
      if (now() == '"' || now() == '\'') {
        skip_string();
        // The library undoes escapes; a key is short, so it is asked for this one value.
        const Document one = parse_document("k = " + std::string(text_.substr(begin, at_ - begin)), "");
        path.push_back(one.root.entries[0].value.text);
      } else {
        while (std::string_view(" \t.=]").find(now()) == std::string_view::npos) ++at_;
        path.emplace_back(text_.substr(begin, at_ - begin));
      }
      skip_blanks();
      if (now() != '.') return path;
      ++at_;
    }
  }

  void header() {
    ++at_;
    const bool list = now() == '[';
    if (list) ++at_;
    const TextPath written = keys();
    TextPath path;
    for (std::size_t i = 0; i < written.size(); ++i) {
      path.push_back(written[i]);
      const bool begins_element = list && i + 1 == written.size();
      if (begins_element) ++elements_[path];
      if (const auto found = elements_.find(path); found != elements_.end())
        path.push_back(element_step(found->second - 1));
    }
    layout_.sections.push_back({path, statement_begin_, 0});
  }

  void pair(const TextPath& container, int owner) {
    const std::size_t index = layout_.members.size();
    TextMember member;
    member.container_steps = container.size();
    member.owner = owner;
    member.section = layout_.sections.size() - 1;
    member.line_begin = statement_begin_;
    member.key_begin = at_;
    member.path = container;
    for (std::string& key : keys()) member.path.push_back(std::move(key));
    ++at_;  // the equals sign
    skip_blanks();
    member.value_begin = at_;
    layout_.members.push_back(member);
    value(member.path, static_cast<int>(index));
    layout_.members[index].value_end = at_;
  }

  void value(const TextPath& path, int index) {
    switch (now()) {
      case '"':
      case '\'':
        return skip_string();
      case '[':
        return array(path, index);
      case '{':
        return inline_table(path, index);
      default:
        return bare_value();
    }
  }

  void bare_value() {
    const std::size_t begin = at_;
    const auto ends = [&] {
      return at_ >= text_.size() ||
             std::string_view(",]}# \t\r\n").find(text_[at_]) != std::string_view::npos;
    };
    while (!ends()) ++at_;
    // A date and its time may be parted by a blank: 2026-10-20 12:00:00Z
    const auto digit = [&](std::size_t i) { return i < text_.size() && text_[i] >= '0' && text_[i] <= '9'; };
    if (at_ - begin == 10 && text_[begin + 4] == '-' && looking_at(" ") && digit(at_ + 1))
      for (++at_; !ends();) ++at_;
  }

  void array(const TextPath& path, int owner) {
    ++at_;
    for (std::size_t element = 0;; ++element) {
      skip_all();
      if (now() == ']') break;
      TextPath item = path;
      item.push_back(element_step(element));
      if (now() == '{') {
        const std::size_t index = layout_.members.size();
        layout_.members.push_back({.path = item,
                                   .container_steps = item.size(),
                                   .owner = owner,
                                   .section = layout_.sections.size() - 1,
                                   .line_begin = statement_begin_,
                                   .key_begin = at_,
                                   .value_begin = at_});
        inline_table(item, static_cast<int>(index));
        layout_.members[index].value_end = at_;
      } else {
        value(item, owner);
      }
      skip_all();
      if (now() == ',') ++at_;
    }
    ++at_;
  }

  void inline_table(const TextPath& path, int owner) {
    ++at_;
    for (;;) {
      skip_blanks();
      if (now() == '}') break;
      pair(path, owner);
      skip_blanks();
      if (now() == ',') ++at_;
    }
    ++at_;
  }

  std::string_view text_;
  std::size_t at_ = 0;
  std::size_t statement_begin_ = 0;
  TextLayout layout_;
  std::map<TextPath, std::size_t> elements_;  // how many [[headers]] a list has so far
};

}  // namespace

TextLayout layout_of(std::string_view text) { return Scanner(text).run(); }

bool begins_with(const TextPath& path, const TextPath& prefix) {
  return path.size() >= prefix.size() && std::equal(prefix.begin(), prefix.end(), path.begin());
}

}  // namespace undercap
