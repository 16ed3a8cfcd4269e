// Where every header, key and value of a TOML text stands, in bytes. For texts that parse; nothing is checked
// here.
#pragma once

#include <cstddef>
#include <string_view>
#include <vector>

#include "engine/scene/document.h"

namespace undercap {

// 'key = value', or a table that is an element of an array, which has no key.
struct TextMember {
  TextPath path;                    // from the root
  std::size_t container_steps = 0;  // leading steps that its section or inline table gives
  int owner = -1;              // the member whose inline table or array it stands in; -1: a line of a section
  std::size_t section = 0;     // index into TextLayout::sections
  std::size_t line_begin = 0;  // of the whole statement
  std::size_t line_end = 0;    // past its line break
  std::size_t key_begin = 0;
  std::size_t value_begin = 0, value_end = 0;
};

// A [header] or [[header]] with what follows it. Section 0 is the top, without a header.
struct TextSection {
  TextPath path;
  std::size_t begin = 0;  // of its header's line
  std::size_t end = 0;    // past the line break of its last statement, or of its header when it has none
};

struct TextLayout {
  std::vector<TextSection> sections;
  std::vector<TextMember> members;
};

TextLayout layout_of(std::string_view text);

// The longest common beginning is the whole of 'prefix'.
bool begins_with(const TextPath& path, const TextPath& prefix);

}  // namespace undercap
