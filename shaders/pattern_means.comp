// What patterns are at given places of their parts, for their means: the numbers that engine/render/pattern_means.cpp puts
// into pattern_table afterwards.

layout(local_size_x = 64) in;

layout(binding = 1) uniform samplerBuffer bvh_triangles;
layout(binding = 2) uniform usamplerBuffer triangle_surface;
layout(binding = 3) uniform samplerBuffer materials;
layout(binding = 12) uniform usamplerBuffer triangle_uv;
layout(binding = 13) uniform samplerBuffer pattern_table;
layout(binding = 14) uniform usamplerBuffer pattern_layers;

layout(std430, binding = 4) readonly buffer PlaceBlock { uvec4 place[]; };  // triangle, and the hit's two coordinates as floats
layout(std430, binding = 5) writeonly buffer ValueBlock { vec4 value[]; };  // two a place: factor, through | damp
uniform int total;

#include "lib/pattern.glsl"
#include "lib/look.glsl"

void main() {
  uint i = gl_GlobalInvocationID.y * 65536u + gl_GlobalInvocationID.x;
  if (i >= uint(total)) return;
  PatternValue raw;
  look_at(place[i].x, uintBitsToFloat(place[i].yz), 0.0, raw);
  value[2u * i] = vec4(raw.colour, raw.through);
  value[2u * i + 1u] = vec4(raw.damp, 0.0, 0.0, 0.0);
}
