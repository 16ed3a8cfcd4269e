// The tables of light in assets/, compiled in: file name to text.
#pragma once

#include <map>
#include <string>
#include <string_view>

namespace undercap {

std::map<std::string, std::string_view> light_tables();

}  // namespace undercap
