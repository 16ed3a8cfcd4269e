// The tables of assets/ that this module reads, compiled in.
#pragma once

#include <map>
#include <string>
#include <string_view>

namespace undercap {

std::map<std::string, std::string_view> surface_tables();

}  // namespace undercap
