// What the display filter knows of a pixel besides its colour: shading normal, albedo and inverse distance of the first
// hits, each as a mean over lens samples with the variance of that mean, and the smallest blur disc among them. The samples
// are the picture's first ones: same film point, same lens point. A mean over the lens has no edge where the picture has
// none, and its variance says how little it knows inside a blur disc.

layout(local_size_x = 8, local_size_y = 8) in;

#include "shared/frame.glsl"

layout(std140, binding = 0) uniform FrameBlock { Frame frame; };
layout(std430, binding = 1) writeonly buffer FeatureBlock { vec4 feature[]; };  // a pixel: three, see the end
layout(std430, binding = 3) buffer CounterBlock { uint counters[]; };           // 2 is used here: walks cut short

layout(binding = 0) uniform usamplerBuffer bvh_nodes;
layout(binding = 1) uniform samplerBuffer bvh_triangles;
layout(binding = 2) uniform usamplerBuffer triangle_surface;
layout(binding = 3) uniform samplerBuffer materials;
layout(binding = 8) uniform samplerBuffer iris;
layout(binding = 9) uniform samplerBuffer coat_table;
layout(binding = 12) uniform usamplerBuffer triangle_uv;
layout(binding = 13) uniform samplerBuffer pattern_table;
layout(binding = 14) uniform usamplerBuffer pattern_layers;

uniform uint sample_count;   // of each half, from index 0
uniform uint sample_seed;
uniform int slice_row, slice_end;  // rows of this dispatch
uniform float infinity_blur; // diameter of the blur disc of a point at infinity, pixels

#include "lib/random.glsl"
#include "lib/traverse.glsl"
#include "lib/surface.glsl"
#include "lib/pattern.glsl"
#include "lib/look.glsl"
#include "lib/hit.glsl"
#include "lib/camera.glsl"

void main() {
  ivec2 at = ivec2(gl_GlobalInvocationID.xy) + ivec2(0, slice_row);
  if (at.x >= frame.size.x || at.y >= slice_end) return;
  ivec2 in_picture = ivec2(at.x, at.y + frame.size.z);
  uint pixel = combine(combine(sample_seed, uint(in_picture.y)), uint(in_picture.x));
  // Sums about the first sample, which keeps small variances from drowning in rounding.
  vec4 base0 = vec4(0.0), base1 = vec4(0.0), sum0 = vec4(0.0), sum1 = vec4(0.0), square0 = vec4(0.0), square1 = vec4(0.0);
  float blur = 1e6;
  uint count = 2u * sample_count;
  for (uint i = 0u; i < count; ++i) {
    uint half_film = i & 1u, index = i >> 1;
    uint own = combine(pixel, half_film);
    vec2 jitter = sobol_2d(index, combine(own, 1u));
    vec3 origin, direction;
    float t_min;
    camera_ray((vec2(in_picture) + jitter) / vec2(frame.size.xy), sobol_4d(index, own).xy, origin, direction, t_min);
    Hit hit = Hit(far_away, 0u, vec2(0.0));
    vec4 value0 = vec4(0.0), value1 = vec4(1.0, 1.0, 1.0, 0.0);  // normal and inverse distance | albedo
    if (trace(origin, direction, t_min, false, hit)) {
      PatternValue raw;
      Surface s = surface_at(hit, direction, look_at(hit.triangle, hit.uv, relief_step(hit.t), raw));
      // In units of the inverse distance of the plane in focus, so that |1 - w| is the share of infinity_blur.
      value0 = vec4(s.normal, frame.pupil.w / dot(s.position - frame.pupil.xyz, frame.forward.xyz));
      // The root makes equal steps about equally visible.
      value1.rgb = sqrt(s.reflectance + s.transmittance + s.mirror);
    }
    blur = min(blur, infinity_blur * abs(1.0 - value0.w));
    if (i == 0u) { base0 = value0; base1 = value1; }
    value0 -= base0;
    value1 -= base1;
    sum0 += value0;
    sum1 += value1;
    square0 += value0 * value0;
    square1 += value1 * value1;
  }
  float n = float(count);
  vec4 mean0 = sum0 / n, mean1 = sum1 / n;
  vec4 variance0 = max(square0 / n - mean0 * mean0, vec4(0.0)) / (n - 1.0);
  vec4 variance1 = max(square1 / n - mean1 * mean1, vec4(0.0)) / (n - 1.0);
  mean0 += base0;
  mean1 += base1;
  uint to = uint(at.y * frame.size.x + at.x) * 3u;
  feature[to] = vec4(mean0.xyz, dot(variance0.xyz, vec3(1.0)));
  feature[to + 1u] = vec4(mean1.xyz, dot(variance1.xyz, vec3(1.0)));
  feature[to + 2u] = vec4(mean0.w, variance0.w, blur, 0.0);
}
