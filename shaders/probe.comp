// What a lamp would do from many places, by shadow rays alone; engine/render/light_probe.h says how it is asked:
//   PASS_SURFACES  the first surface of each camera ray, as seven texels
//   PASS_LIGHT     what a lamp at each of many places sends from those surfaces straight to the camera
//   PASS_RAYS      how far given rays go
//   PASS_ROOM      how near anything comes to given places, within a radius

layout(local_size_x = 8, local_size_y = 8) in;

#include "shared/frame.glsl"

layout(std140, binding = 0) uniform FrameBlock { Frame frame; };
layout(std430, binding = 1) writeonly buffer ResultBlock { vec4 result[]; };
layout(std430, binding = 3) buffer CounterBlock { uint counters[]; };  // 2 is used here: walks cut short

layout(binding = 0) uniform usamplerBuffer bvh_nodes;
layout(binding = 1) uniform samplerBuffer bvh_triangles;
layout(binding = 2) uniform usamplerBuffer triangle_surface;
layout(binding = 3) uniform samplerBuffer materials;
layout(binding = 4) uniform samplerBuffer sky_nodes;
layout(binding = 5) uniform samplerBuffer sky_tree;
layout(binding = 6) uniform samplerBuffer lamps;  // PASS_LIGHT: one a place
layout(binding = 7) uniform samplerBuffer glow_table;
layout(binding = 8) uniform samplerBuffer iris;
layout(binding = 9) uniform samplerBuffer coat_table;
layout(binding = 10) uniform samplerBuffer beams;
layout(binding = 11) uniform usamplerBuffer gap_bits;
layout(binding = 12) uniform usamplerBuffer triangle_uv;
layout(binding = 13) uniform samplerBuffer pattern_table;
layout(binding = 14) uniform usamplerBuffer pattern_layers;
layout(binding = 15) uniform samplerBuffer asked;  // PASS_LIGHT: surfaces; PASS_RAYS: two texels a ray; PASS_ROOM: place and radius

uniform ivec2 extent;       // of the dispatch: pixels, (surfaces, places), or (rays or places, 1)
uniform uint sample_index;  // PASS_SURFACES: the sample of every pixel; else how many samples of the lamp
uniform uint sample_seed;
uniform vec3 lamp_colour;   // its unit luminance
uniform float tube_m;       // of a snoot before the lamp; 0 = none

#define sky_side frame.sky.x
#define sun_direction frame.sun
#define glow_count frame.counts.w
#define glow_total frame.totals.x

#include "lib/random.glsl"
#include "lib/traverse.glsl"
#include "lib/surface.glsl"
#include "lib/pattern.glsl"
#include "lib/look.glsl"
#include "lib/hit.glsl"
#include "lib/camera.glsl"
#include "lib/light.glsl"
#include "lib/shadow.glsl"

#ifdef PASS_SURFACES
void run(ivec2 at) {
  uint own = combine(combine(combine(sample_seed, uint(at.y)), uint(at.x)), 0u);
  vec3 origin, direction;
  float t_min;
  vec2 jitter = sobol_2d(sample_index, combine(own, 1u));
  camera_ray((vec2(at) + jitter) / vec2(extent), sobol_4d(sample_index, own).xy, origin, direction, t_min);
  Hit hit = Hit(far_away, 0u, vec2(0.0));
  int to = (at.y * extent.x + at.x) * 7;
  if (!trace(origin, direction, t_min, false, hit)) {
    result[to + 5] = vec4(0.0, 0.0, 0.0, -1.0);
    return;
  }
  PatternValue raw;
  Surface s = surface_at(hit, direction, look_at(hit.triangle, hit.uv, relief_step(hit.t), raw));
  result[to] = vec4(s.position, s.rounding);
  result[to + 1] = vec4(s.geometric, s.alpha);
  result[to + 2] = vec4(s.normal, s.index);
  result[to + 3] = vec4(s.reflectance, s.coat_view);
  result[to + 4] = vec4(s.transmittance, s.body_share);
  result[to + 5] = vec4(s.mirror, float(s.part));
  result[to + 6] = vec4(-direction, dot(s.position - frame.pupil.xyz, frame.forward.xyz));
}
#endif

#ifdef PASS_LIGHT
Surface surface_of(int number, out vec3 view) {
  vec4 place = texelFetch(asked, number * 7), geometric = texelFetch(asked, number * 7 + 1);
  vec4 normal = texelFetch(asked, number * 7 + 2), reflect_coat = texelFetch(asked, number * 7 + 3);
  vec4 transmit_body = texelFetch(asked, number * 7 + 4), mirror_part = texelFetch(asked, number * 7 + 5);
  view = texelFetch(asked, number * 7 + 6).xyz;
  return Surface(place.xyz, place.w, geometric.xyz, normal.xyz, reflect_coat.rgb, transmit_body.rgb, mirror_part.rgb, normal.w,
                 geometric.w, reflect_coat.w, transmit_body.w, 0.0, frame.polariser.xyz, uint(mirror_part.w));
}

// Whether light that leaves a lamp for a place gets out of the tube before it.
bool leaves_tube(int number, vec3 place, LightSample light) {
  LampShape lamp = lamp_shape(number);
  float cosine = -dot(light.direction, lamp.aim.xyz);
  vec3 at_mouth = place + (light.distance - tube_m / max(cosine, 1e-6)) * light.direction - lamp.place.xyz;
  vec2 on = vec2(dot(at_mouth, lamp.right.xyz) / lamp.place.w, dot(at_mouth, cross(lamp.right.xyz, lamp.aim.xyz)) / lamp.aim.w);
  return lamp.beam.z > 0.5 ? max(abs(on.x), abs(on.y)) <= 1.0 : dot(on, on) <= 1.0;
}

// Means over the samples: luminance toward the camera for a peak of 1 cd; the light that falls there, lx, by how much of
// it the surface would send back or through; the share of samples that arrive; and of what is stopped on its way, the
// ratio at which a shadow's edge spreads: gap behind the edge over the way before it.
void run(ivec2 at) {
  vec3 view;
  Surface s = surface_of(at.x, view);
  vec3 weights = luminance_weights * lamp_colour;
  float returned = max(dot(weights, s.reflectance + s.transmittance + s.mirror), 1e-6);
  float luminance = 0.0, arrived = 0.0, stopped = 0.0, spread = 0.0;
  uint key = combine(sample_seed, uint(at.x)), i = 0u;
  do {
    LightSample light = sample_lamp(at.y, sobol_2d(i, key), s.position);
    float sent = dot(weights, (body_value(s, light.direction) + coat_value(s, view, light.direction).rgb) * light.value);
    if (sent > 0.0 && (tube_m <= 0.0 || leaves_tube(at.y, s.position, light))) {
      Hit hit;
      if (meets(s, light, hit)) {
        stopped += 1.0;
        spread += hit.t / max(light.distance - hit.t, 1e-6);
      } else {
        arrived += 1.0;
        luminance += sent;
      }
    }
    ++i;
  } while (i < sample_index);
  float n = float(sample_index);
  result[at.y * extent.x + at.x] = vec4(luminance / n, pi * luminance / (n * returned), arrived / n, stopped > 0.0 ? spread / stopped : -1.0);
}
#endif

#ifdef PASS_RAYS
void run(ivec2 at) {
  vec4 from = texelFetch(asked, at.x * 2), way = texelFetch(asked, at.x * 2 + 1);
  Hit hit = Hit(way.w, 0u, vec2(0.0));
  bool found = trace(from.xyz, way.xyz, 0.0, false, hit);
  result[at.x] = vec4(found ? hit.t : way.w, found ? 1.0 : 0.0, 0.0, 0.0);
}
#endif

#ifdef PASS_ROOM
// In directions spread evenly over the sphere (Fibonacci lattice; Gonzalez 2010, from memory).
void run(ivec2 at) {
  const int ways = 48;
  vec4 place = texelFetch(asked, at.x);
  float nearest = place.w;
  int i = 0;
  do {
    float z = 1.0 - (2.0 * float(i) + 1.0) / float(ways), level = sqrt(1.0 - z * z), turn = float(i) * 2.39996323;
    Hit hit = Hit(nearest, 0u, vec2(0.0));
    if (trace(place.xyz, vec3(level * cos(turn), level * sin(turn), z), 0.0, false, hit)) nearest = hit.t;
    ++i;
  } while (i < ways);
  result[at.x] = vec4(nearest, 0.0, 0.0, 0.0);
}
#endif

void main() {
#if defined(PASS_RAYS) || defined(PASS_ROOM)
  ivec2 at = ivec2(int(gl_GlobalInvocationID.y) * 4096 + int(gl_GlobalInvocationID.x), 0);
#else
  ivec2 at = ivec2(gl_GlobalInvocationID.xy);
#endif
  if (at.x >= extent.x || at.y >= extent.y) return;
  run(at);
}
