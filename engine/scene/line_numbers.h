// Splices of a text, and the number that each of its lines had before any splice.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace undercap {

// Bytes begin..end of a text become 'with'.
struct Splice {
  std::size_t begin = 0, end = 0;
  std::string with;
};

std::string spliced(std::string_view text, const Splice& splice);

class LineNumbers {
 public:
  void splice(std::string_view text_before, const Splice& splice);
  int in_file(int line) const;  // lines count from 1; 0 = a line that the file has not got

 private:
  std::vector<int> numbers_;  // empty: no splice yet
};

}  // namespace undercap
