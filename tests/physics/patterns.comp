// What a part is like at given places, one invocation a place, for the tests: the kernel's own lines.

layout(local_size_x = 64) in;

layout(binding = 1) uniform samplerBuffer bvh_triangles;
layout(binding = 2) uniform usamplerBuffer triangle_surface;
layout(binding = 3) uniform samplerBuffer materials;
layout(binding = 12) uniform usamplerBuffer triangle_uv;
layout(binding = 13) uniform samplerBuffer pattern_table;
layout(binding = 14) uniform usamplerBuffer pattern_layers;

layout(std430, binding = 4) readonly buffer GivenBlock { uvec4 given[]; };  // triangle on the device, hit's coordinates
layout(std430, binding = 5) writeonly buffer AnswerBlock { vec4 answer[]; };  // four a place
uniform int total;

#include "lib/pattern.glsl"
#include "lib/look.glsl"

void main() {
  uint i = gl_GlobalInvocationID.y * 65536u + gl_GlobalInvocationID.x;
  if (i >= uint(total)) return;
  int triangle = int(given[i].x);
  vec2 at = uintBitsToFloat(given[i].yz);
  PatternValue raw;
  Look look = look_at(given[i].x, at, 1e-5, raw);
  uvec4 words = texelFetch(triangle_surface, triangle * 2), tints = texelFetch(triangle_surface, triangle * 2 + 1);
  int material = int(words.w & 0xffffu) * 3;
  vec3 weight = vec3(1.0 - at.x - at.y, at);
  vec3 tint = weight.x * unpack_tint(tints.x) + weight.y * unpack_tint(tints.y) + weight.z * unpack_tint(tints.z);
  answer[4u * i] = vec4(texelFetch(materials, material).rgb * tint * unpack_factor(look.reflect), float(look.reflect >> 30));
  answer[4u * i + 1u] = vec4(texelFetch(materials, material + 1).rgb * tint * unpack_factor(look.transmit),
                             float((look.transmit >> 30) & 1u));
  vec3 normal = interpolated_normal(words, weight, vec3(0.0, 0.0, 1.0));
  answer[4u * i + 2u] = vec4(look.normal == 0xffffffffu ? normal : unpack_normal(look.normal), 0.0);
  answer[4u * i + 3u] = vec4(normal, 0.0);
}
