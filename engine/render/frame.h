// The C++ side of shaders/shared/frame.glsl: the same file, the same struct.
#pragma once

#include <glm/vec4.hpp>

namespace undercap::gpu {

using vec4 = glm::vec4;
using ivec4 = glm::ivec4;

#include "shaders/shared/frame.glsl"

}  // namespace undercap::gpu
