// The means of patterns over their parts: what makes a pattern's colour a factor of mean 1. The device reads
// the patterns at places spread evenly by area, with the code that renders them. The parts of a prop that
// have one name and one kind of pattern share their means.
#pragma once

#include <vector>

#include "engine/gl/shader_library.h"
#include "engine/render/pattern_tables.h"
#include "engine/world/world.h"

namespace undercap {

class GpuWorld;

// One for each material of the world. 'slots' says where a triangle of the world stands on the device.
// Compiles nothing where no part has a pattern.
std::vector<PatternMeans> pattern_means(const ShaderLibrary& shaders, const World& world,
                                        const GpuWorld& gpu_world);

}  // namespace undercap
