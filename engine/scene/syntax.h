// What is wrong with a text that is no TOML, in words for those who write scenes.
#pragma once

#include <string>
#include <string_view>

namespace undercap {

// 'line' is where the TOML library stopped, counted from 1; 'said' is its own reason, empty when a letter
// beyond ASCII outside quotes is what is wrong. One sentence: what stands there and what to write.
std::string syntax_message(std::string_view text, int line, std::string_view said);

}  // namespace undercap
