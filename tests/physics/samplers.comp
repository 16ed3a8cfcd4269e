// The kernel's own samplers and densities, one invocation a sample, for the tests: the kernel is included as it is, with
// its main renamed. Samples are independent of each other: each is the first point of a scramble of its own.

#define main trace_main
#include "trace.comp"
#undef main

layout(std430, binding = 4) readonly buffer GivenBlock { vec4 given[]; };
layout(std430, binding = 5) writeonly buffer AnswerBlock { vec4 answer[]; };  // two for each invocation

uniform int wanted;  // one of the numbers below
uniform int total;
uniform uint seed;
uniform vec3 normal, view, place;             // shading normal over the real surface (0, 0, 1); towards the viewer; receiver
uniform float alpha, reflects, transmits, mirror;
uniform bool wet;
uniform int map;  // 0 sky, 1 leaves

Surface described() {
  Surface s;
  s.position = vec3(0.0);
  s.geometric = vec3(0.0, 0.0, 1.0);
  s.normal = normal;
  s.reflectance = vec3(reflects);
  s.transmittance = vec3(transmits);
  s.alpha = alpha;
  s.emission = 0.0;
  s.mirror = vec3(mirror);
  s.polariser = vec3(0.0);
  s.index = dry_index;
  if (wet) make_wet(s);
  finish_coat(s, view);
  return s;
}

void main() {
  uint i = gl_GlobalInvocationID.y * 1024u + gl_GlobalInvocationID.x;
  if (i >= uint(total)) return;
  uint own = combine(combine(seed, i), 0x51u);
  vec2 u = sobol_2d(0u, own);
  vec4 first = vec4(0.0), second = vec4(0.0);
  if (wanted == 0) {  // where a path goes on: direction, lobe (0 body, 1 coat, -1 ended) | density, throughput
    vec3 direction = -view, throughput = vec3(1.0);
    Arrival arrival = Arrival(0.0, false, 1.0);
    bool goes = next_direction(described(), 0u, own, 0, 1.0, direction, throughput, arrival);
    first = vec4(direction, goes ? float(arrival.coat) : -1.0);
    second = vec4(arrival.density, throughput);
  } else if (wanted == 1) {  // densities toward a given direction: coat, body | value x cosine
    Surface s = described();
    vec3 l = given[i].xyz, chances = lobe_chances(s);
    vec4 coat = coat_value(s, view, l);
    first.x = chances.x * coat.w;
    first.y = (l.z > 0.0 ? chances.y * folded_cosine(l, normal, s.geometric)
                         : chances.z * folded_cosine(l, -normal, -s.geometric)) / pi;
    second.x = coat.x + body_value(s, l).x;
  } else if (wanted >= 2 && wanted <= 5) {  // a light's direction and density | value, distance, what the ray finds there
    LightSample light = wanted == 2   ? sample_sky(map, u)
                        : wanted == 3 ? sample_sun(u, place)
                        : wanted == 4 ? sample_lamp(0, u, place)
                                      : sample_glow(u, sobol_2d(0u, combine(own, 1u)).x, place);
    first = vec4(light.direction, light.density);
    second = vec4(light.value.x, light.distance, 0.0, 0.0);
    if (wanted == 2) {
      vec2 within;
      ivec2 cell = sky_cell(light.direction, within);
      vec3 radiance = sky_radiance(sky_corners(map, cell), within);
      second.zw = vec2(radiance.x, sky_density(map, radiance));
    }
    if (wanted == 4) second.zw = hit_lamp(0, place, light.direction).yz;
  } else if (wanted == 6) {  // a point of the lens
    vec3 origin, direction;
    float t_min;
    camera_ray(vec2(0.5), u, origin, direction, t_min);
    first.xy = vec2(dot(origin - frame.pupil.xyz, frame.right.xyz), dot(origin - frame.pupil.xyz, frame.up.xyz));
  } else if (wanted == 7) {  // sets of points: given sample index and scramble
    uint index = uint(given[i].x), scramble = combine(seed, uint(given[i].y));
    first = sobol_4d(index, scramble);
    second.xy = sobol_2d(index, scramble);
    second.zw = sobol_2d(index, combine(scramble, 1u));
  } else if (wanted == 8) {  // the camera's ray of a point of the film and one of the lens: origin, beginning | direction
    vec3 origin, direction;
    float t_min;
    camera_ray(given[i].xy, given[i].zw, origin, direction, t_min);
    first = vec4(origin, t_min);
    second.xyz = direction;
  } else {  // what a ray from 'place' toward a given direction meets of the lamp: distance, luminance, density
    first.xyz = hit_lamp(0, place, given[i].xyz);
  }
  answer[i * 2u] = first;
  answer[i * 2u + 1u] = second;
}
