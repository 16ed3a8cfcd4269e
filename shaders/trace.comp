// One sample for each pixel of the film: a path from the lens through the set, with the light of every group kept apart.
//
// At the first hit a shadow ray goes to every group, at deeper hits to one chosen group. The diffuse body takes small
// sources (sun, lamps) from shadow rays alone; sky and glow, and the coat toward everything, combine both kinds of sample
// by the balance heuristic (Veach & Guibas 1995). No chance depends on the power of a source. No depth limit: Russian
// roulette from the fourth bounce, and an emergency cap that is counted.

#define GROUP_LANES (GROUP_WIDTH * GROUP_HEIGHT)
layout(local_size_x = GROUP_WIDTH, local_size_y = GROUP_HEIGHT) in;

#include "shared/frame.glsl"

layout(std140, binding = 0) uniform FrameBlock { Frame frame; };
layout(std430, binding = 1) buffer FilmBlock { float film[]; };            // ((half x groups + group) x pixels + pixel) x 3
layout(std430, binding = 2) writeonly buffer FirstBlock { uvec2 first_hit[]; };  // a pixel: part, distance along the axis
layout(std430, binding = 3) buffer CounterBlock { uint counters[]; };      // 0 not finite, 1 cap, 2 cut short, 3 rays, 4 paths

layout(binding = 0) uniform usamplerBuffer bvh_nodes;
layout(binding = 1) uniform samplerBuffer bvh_triangles;
layout(binding = 2) uniform usamplerBuffer triangle_surface;
layout(binding = 3) uniform samplerBuffer materials;
layout(binding = 4) uniform samplerBuffer sky_nodes;
layout(binding = 5) uniform samplerBuffer sky_tree;
layout(binding = 6) uniform samplerBuffer lamps;
layout(binding = 7) uniform samplerBuffer glow_table;
layout(binding = 8) uniform samplerBuffer iris;
layout(binding = 9) uniform samplerBuffer coat_table;
layout(binding = 10) uniform samplerBuffer beams;
layout(binding = 11) uniform usamplerBuffer gap_bits;
layout(binding = 12) uniform usamplerBuffer triangle_uv;
layout(binding = 13) uniform samplerBuffer pattern_table;
layout(binding = 14) uniform usamplerBuffer pattern_layers;

layout(std430, binding = 6) readonly buffer LeftOutBlock { uint left_out[]; };  // 16 x 16 pixels of the film: not 0 = enough

uniform uint sample_index;  // first of this dispatch, within its half
uniform uint sample_count;
uniform uint sample_half;   // 0 or 1
uniform uint sample_seed;
uniform int only_group;         // -1 = all; else the film of this one alone takes the samples, and takes the same as with all
uniform int slice_row, slice_end;  // rows of the film that this dispatch samples

#define sky_side frame.sky.x
#define sun_direction frame.sun
#define glow_count frame.counts.w
#define glow_total frame.totals.x

const int mode_picture = 0, mode_spot = 1, mode_meter = 2;
const int flag_white_first = 1, flag_first_hit = 2, flag_count_rays = 4;
const int bounce_cap = 512;
const uint no_part = 0xffffffffu;

#include "lib/random.glsl"
#include "lib/traverse.glsl"
#include "lib/surface.glsl"
#include "lib/pattern.glsl"
#include "lib/look.glsl"
#include "lib/hit.glsl"
#include "lib/camera.glsl"
#include "lib/light.glsl"

uint pixel_index;
uint rays = 0u;

bool is_finite(vec3 v) { return !any(isnan(v)) && !any(isinf(v)); }

void deposit(int group, vec3 value) {
  if (group < 0 || value == vec3(0.0) || (only_group >= 0 && group != only_group)) return;
  if (!is_finite(value)) { atomicAdd(counters[0], 1u); return; }
  uint pixels = uint(frame.size.x * frame.size.w);
  uint at = ((sample_half * uint(frame.counts.x) + uint(group)) * pixels + pixel_index) * 3u;
  film[at] += value.x;
  film[at + 1u] += value.y;
  film[at + 2u] += value.z;
}

// Leaves the surface on the side of 'direction', past the rounding of the hit.
vec3 leave(Surface s, vec3 direction) {
  return s.position + (dot(direction, s.geometric) < 0.0 ? -s.rounding : s.rounding) * s.geometric;
}

LightSample sample_group(int group, vec2 u, float choice, vec3 from) {
  if (group == frame.groups.x) return sample_sky(0, u);
  if (group == frame.sky.y) return sample_sky(1, u);
  if (group == frame.groups.y) return sample_sun(u, from);
  if (group == frame.groups.z) return sample_glow(u, choice, from);
  return sample_lamp(group - frame.groups.w, u, from);
}

// Light that one group would send straight to the surface and on to the viewer, if nothing stands between.
vec3 direct(Surface s, vec3 view, int group, vec2 u, float choice, float group_chance, out LightSample light) {
  light = sample_group(group, u, choice, s.position);
  if (light.value == vec3(0.0)) return vec3(0.0);
  vec3 chances = lobe_chances(s);
  vec4 coat = coat_value(s, view, light.direction);
  vec3 body = body_value(s, light.direction);
  float chosen = light.density * group_chance;
  bool wide = group == frame.groups.x || group == frame.groups.z || group == frame.sky.y;
  float side = dot(light.direction, s.geometric);
  float body_density = !wide ? 0.0 : side > 0.0 ? chances.y * folded_cosine(light.direction, s.normal, s.geometric) / pi
                                                : chances.z * folded_cosine(light.direction, -s.normal, -s.geometric) / pi;
  vec3 value = body * (chosen / (chosen + body_density)) + coat.rgb * (chosen / (chosen + chances.x * coat.w));
  return value * (light.value / group_chance);
}

// How the last direction was chosen, for light that a path meets by itself.
struct Arrival {
  float density;       // of the lobe that chose it, with the lobe's chance; 0 = the camera
  bool coat;
  float group_chance;  // chance with which the surface behind asked this group by a shadow ray
};

float weight_of(Arrival arrival, float light_density) {
  return arrival.density <= 0.0 ? 1.0 : arrival.density / (arrival.density + arrival.group_chance * light_density);
}

// Lamps block nothing, so a ray collects every disc up to its hit; the sun is met like one more lamp, at infinity.
void collect_small_sources(vec3 origin, vec3 direction, float limit, vec3 throughput, Arrival arrival) {
  for (int lamp = frame.groups.y >= 0 ? -1 : 0; lamp < frame.counts.z; ++lamp) {
    bool sun = lamp < 0;
    vec3 met = hit_lamp(max(lamp, 0), origin, direction);
    if (sun) met = toward_sun(direction) && open_to_sun(origin, direction) ? vec3(far_away, vec2(1.0 / sun_solid_angle())) : vec3(-1.0);
    if (met.x > 0.0 && (met.x < limit || (sun && limit == far_away)))
      deposit(sun ? frame.groups.y : frame.groups.w + lamp, throughput * (met.y * weight_of(arrival, met.z)));
  }
}

vec3 sky_toward(int map, vec3 direction, Arrival arrival) {
  if (direction.z <= 0.0 || sky_side == 0) return vec3(0.0);
  vec2 within;
  ivec2 cell = sky_cell(direction, within);
  vec3 radiance = sky_radiance(sky_corners(map, cell), within);
  return radiance * weight_of(arrival, sky_density(map, radiance));
}

void make_white(inout Surface s) {
  s.reflectance = vec3(1.0);
  s.transmittance = s.mirror = vec3(0.0);
  s.index = dry_index;
  s.alpha = s.coat_view = s.emission = 0.0;
  s.body_share = 1.0;
}

// A flat receiver is a white surface that is seen from above: illuminance = pi x its luminance.
Surface receiver() {
  Surface s;
  s.position = frame.meter.xyz;
  vec3 size = abs(s.position);
  s.rounding = 2e-6 * (0.01 + max(size.x, max(size.y, size.z)));
  s.geometric = s.normal = frame.meter_normal.xyz;
  s.part = no_part;
  make_white(s);
  return s;
}

// Chooses where the path goes on, by one of the three lobes; false when it ends here.
bool next_direction(Surface s, uint index, uint set, int bounce, float group_chance, inout vec3 direction, inout vec3 throughput,
                    out Arrival arrival) {
  vec3 chances = lobe_chances(s);
  if (s.reflectance.x + s.reflectance.y + s.reflectance.z + s.transmittance.x + s.transmittance.y + s.transmittance.z <= 0.0)
    chances = vec3(s.alpha > 0.0 ? 1.0 : 0.0, 0.0, 0.0);
  if (chances.x + chances.y + chances.z <= 0.0) return false;
  vec2 choices = sobol_2d(index, combine(set, 1u)), u = sobol_2d(index, set);
  vec3 view = -direction;
  if (choices.x < chances.x) {
    direction = coat_direction(s, view, u);
    // A mirror image below the interpolated normal's plane carries nothing, and its density is not that of the fold.
    if (dot(direction, s.normal) <= 0.0) return false;
    if (dot(direction, s.geometric) < 0.0) direction = fold(direction, s.geometric);
    vec4 coat = coat_value(s, view, direction);
    if (coat.w <= 0.0) return false;
    throughput *= coat.rgb / (chances.x * coat.w);
    arrival = Arrival(chances.x * coat.w, true, group_chance);
  } else {
    bool through = choices.x >= chances.x + chances.y;
    float turn = through ? -1.0 : 1.0;
    direction = cosine_direction(u, turn * s.normal);
    if (dot(direction, turn * s.geometric) < 0.0) direction = fold(direction, s.geometric);
    float density = (through ? chances.z : chances.y) * folded_cosine(direction, turn * s.normal, turn * s.geometric) / pi;
    if (density <= 0.0) return false;
    throughput *= body_value(s, direction) / density;
    arrival = Arrival(density, false, group_chance);
  }
  if (bounce >= 3) {
    float survival = min(max(throughput.x, max(throughput.y, throughput.z)), 0.95);
    if (choices.y >= survival) return false;
    throughput /= survival;
  }
  if (bounce >= bounce_cap) { atomicAdd(counters[1], 1u); return false; }
  return true;
}

// What a lane does next. Each turn of the loop traces one ray, a path's or a shadow ray, whatever the other lanes do: paths
// of different lengths keep all lanes busy, and the walk through the BVH stands in the program once.
const int stage_start = 0, stage_path = 1, stage_shadow = 2, stage_surface = 3;

void main() {
  ivec2 at = ivec2(gl_GlobalInvocationID.xy) + ivec2(0, slice_row);
  if (at.x >= frame.size.x || at.y >= slice_end) return;
  if (left_out[at.y / 16 * ((frame.size.x + 15) / 16) + at.x / 16] != 0u) return;
  pixel_index = uint(at.y * frame.size.x + at.x);
  ivec2 in_picture = ivec2(at.x, at.y + frame.size.z);
  int mode = frame.sky.z, flags = frame.sky.w, group_count = frame.counts.x;
  uint own = combine(combine(combine(sample_seed, uint(in_picture.y)), uint(in_picture.x)), sample_half);

  // What a lane keeps while it walks is little, so that a GPU has room for many lanes: the surface is worked out again from
  // its hit after every shadow ray.
  uint index = sample_index, end = sample_index + sample_count;
  int stage = stage_start, bounce = 0, group = 0, group_end = 0;
  Arrival arrival;
  Look look = plain_look;
  Hit met;  // the surface that the path has come to, along 'direction'
  vec3 throughput, direction, origin, ray, shadow_value = vec3(0.0);  // ray: of this turn
  vec2 light_point;
  float t_min, limit, light_choice;

  for (;;) {
    if (stage == stage_start) {
      if (index == end) break;
      vec4 lens_light = sobol_4d(index, own);
      vec2 jitter = sobol_2d(index, combine(own, 1u));
      light_point = lens_light.zw;
      throughput = vec3(1.0);
      arrival = Arrival(0.0, false, 1.0);
      bounce = 0;
      if (mode == mode_meter) {
        direction = -frame.meter_normal.xyz;
        stage = stage_surface;
      } else {
        vec2 in_film = (vec2(in_picture) + jitter) / vec2(frame.size.xy);
        if (mode == mode_spot) {
          float angle = 2.0 * pi * jitter.x, radius = 0.5 * sqrt(jitter.y);
          in_film = 0.5 + radius * vec2(cos(angle), sin(angle));
        }
        camera_ray(in_film, lens_light.xy, origin, direction, t_min);
        ray = direction;
        limit = far_away;
        stage = stage_path;
      }
    }

    bool found = false;
    if (stage != stage_surface) {
      Hit hit = Hit(limit, 0u, vec2(0.0));
      rays += 1u;
      found = trace(origin, ray, t_min, stage == stage_shadow, hit);
      if (stage == stage_path) met = hit;
    }
    bool first = bounce == 0;
    // Patterns are read once at a path's first two surfaces, their relief at the first; beyond, a part's mean is enough.
    if (stage == stage_path) {
      look = plain_look;
      PatternValue raw;
      if (found && bounce < 2 && !(first && (flags & flag_white_first) != 0)) look = look_at(met.triangle, met.uv, first ? relief_step(met.t) : 0.0, raw);
    }
    Surface s;
    if (first && mode == mode_meter) s = receiver();
    else if (stage != stage_path || found) s = surface_at(met, direction, look);
    if (first && (flags & flag_white_first) != 0) make_white(s);

    if (stage != stage_surface) {
      // What this turn brings in, and to which group. One place writes to the film, since software OpenGL writes lane by lane.
      int bring_group = -1;
      vec3 brought = shadow_value;
      if (stage == stage_shadow) {
        if (!found) bring_group = group;
        ++group;
      } else {
        if (first || arrival.coat) collect_small_sources(origin, direction, met.t, throughput, arrival);
        if (found) {
          if (s.emission > 0.0) {
            float density = s.emission / glow_total * met.t * met.t / max(dot(s.geometric, -direction), 1e-9);
            bring_group = frame.groups.z;
            brought = throughput * (s.emission * weight_of(arrival, density));
          }
          stage = stage_surface;
        } else {
          bring_group = frame.groups.x;
          brought = throughput * sky_toward(0, direction, arrival);
          if (frame.sky.y >= 0) deposit(frame.sky.y, throughput * sky_toward(1, direction, arrival));
        }
        if (first && (flags & flag_first_hit) != 0)
          first_hit[pixel_index] = found ? uvec2(s.part, floatBitsToUint(dot(s.position - frame.pupil.xyz, frame.forward.xyz)))
                                         : uvec2(no_part, floatBitsToUint(far_away));
      }
      deposit(bring_group, brought);
      if (stage == stage_path) {
        stage = stage_start;
        ++index;
        continue;
      }
    }

    uint set = combine(own, 16u + uint(bounce));
    float group_chance = first ? 1.0 : 1.0 / float(group_count);
    if (stage == stage_surface) {
      // A new surface: which groups to ask.
      vec2 spare = sobol_2d(index, combine(set, 3u));
      light_choice = spare.y;
      group = first ? max(only_group, 0) : min(int(spare.x * float(group_count)), group_count - 1);
      group_end = first && only_group < 0 ? group_count : group + 1;
      if (only_group >= 0 && group != only_group) group_end = group;
      if (!first) light_point = sobol_2d(index, combine(set, 2u));
      stage = stage_shadow;
    }
    // The next group that may send something: a shadow ray is its turn.
    bool asks = false;
    for (; group < group_end; ++group) {
      LightSample light;
      shadow_value = throughput * direct(s, -direction, group, light_point, light_choice, group_chance, light);
      if (shadow_value.x + shadow_value.y + shadow_value.z > 0.0) {
        ray = light.direction;
        limit = light.distance;
        asks = true;
        break;
      }
    }
    if (!asks) {
      if (!next_direction(s, index, set, bounce, group_chance, direction, throughput, arrival)) {
        stage = stage_start;
        ++index;
        continue;
      }
      ++bounce;
      ray = direction;
      limit = far_away;
      stage = stage_path;
    }
    origin = leave(s, ray);
    t_min = 0.0;
    if (stage == stage_shadow && limit < far_away) {
      // Aimed again from where the ray really starts: a parallel ray would graze a small lamp's own limb.
      vec3 to = s.position + limit * ray - origin;
      limit = length(to);
      ray = to / limit;
      limit *= 0.99999;
    }
  }
  if ((flags & flag_count_rays) != 0) { atomicAdd(counters[3], rays); atomicAdd(counters[4], sample_count); }
}
