// The project's GLSL files, compiled in.
#pragma once

#include <map>
#include <string>
#include <string_view>

namespace undercap {

std::map<std::string, std::string_view> embedded_shaders();

}  // namespace undercap
