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
#include "lib/shadow.glsl"

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

LightSample sample_group(int group, vec2 u, float choice, vec3 from) {
  if (group == frame.groups.x || group == frame.sky.y) return sample_sky(group == frame.groups.x ? 0 : 1, u);
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
  int lamp = frame.groups.y >= 0 ? -1 : 0, end = frame.counts.z;
  if (only_group >= 0) {
    lamp = only_group == frame.groups.y ? -1 : only_group < frame.groups.w ? end : only_group - frame.groups.w;
    end = min(end, lamp + 1);
  }
  if (lamp < end) do {
    bool sun = lamp < 0;
    vec3 met = hit_lamp(max(lamp, 0), origin, direction);
    if (sun) met = toward_sun(direction) && open_to_sun(origin, direction) ? vec3(far_away, vec2(1.0 / sun_solid_angle())) : vec3(-1.0);
    if (met.x > 0.0 && (met.x < limit || (sun && limit == far_away)))
      deposit(sun ? frame.groups.y : frame.groups.w + lamp, throughput * (met.y * weight_of(arrival, met.z)));
    ++lamp;
  } while (lamp < end);
}

// A path that meets nothing meets the sky, and the leaves' light beside it.
void collect_sky(vec3 direction, vec3 throughput, Arrival arrival) {
  bool wanted = only_group < 0 || only_group == frame.groups.x || only_group == frame.sky.y;
  if (!wanted || direction.z <= 0.0 || sky_side == 0) return;
  vec2 within;
  ivec2 cell = sky_cell(direction, within);
  int map = 0, maps = frame.sky.y >= 0 ? 2 : 1;
  do {
    vec3 radiance = sky_radiance(sky_corners(map, cell), within);
    radiance *= weight_of(arrival, sky_density(map, radiance));
    deposit(map == 0 ? frame.groups.x : frame.sky.y, throughput * radiance);
    ++map;
  } while (map < maps);
}

void make_white(inout Surface s) {
  s.reflectance = vec3(1.0);
  s.transmittance = s.mirror = vec3(0.0);
  s.index = dry_index;
  s.alpha = s.coat_view = s.emission = 0.0;
  s.body_share = 1.0;
  s.polariser = vec3(0.0);
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

struct Path {
  vec3 origin, direction, throughput;
  float t_min;
  vec2 light_point;  // of the surface to come
  Arrival arrival;
  int bounce;
};

Path path_from_lens(uint index, uint own, ivec2 in_picture) {
  vec4 lens_light = sobol_4d(index, own);
  vec2 jitter = sobol_2d(index, combine(own, 1u));
  Path path;
  path.throughput = vec3(1.0);
  path.light_point = lens_light.zw;
  path.arrival = Arrival(0.0, false, 1.0);
  path.bounce = 0;
  vec2 in_film = (vec2(in_picture) + jitter) / vec2(frame.size.xy);
  if (frame.sky.z == mode_spot) {
    float angle = 2.0 * pi * jitter.x, radius = 0.5 * sqrt(jitter.y);
    in_film = 0.5 + radius * vec2(cos(angle), sin(angle));
  }
  camera_ray(in_film, lens_light.xy, path.origin, path.direction, path.t_min);
  if (frame.sky.z == mode_meter) path.direction = -frame.meter_normal.xyz;
  return path;
}

// Light that the path meets by itself where its ray ends.
void collect(Path path, bool found, Hit hit, Surface s) {
  if (path.bounce == 0 || path.arrival.coat)
    collect_small_sources(path.origin, path.direction, hit.t, path.throughput, path.arrival);
  if (!found) collect_sky(path.direction, path.throughput, path.arrival);
  if (found && s.emission > 0.0) {
    float density = s.emission / glow_total * hit.t * hit.t / max(dot(s.geometric, -path.direction), 1e-9);
    deposit(frame.groups.z, path.throughput * (s.emission * weight_of(path.arrival, density)));
  }
}

// The shadow rays of a surface: to every group at the first, to one at the others.
void ask_groups(Path path, Surface s, uint index, uint set, float group_chance) {
  bool first = path.bounce == 0;
  int group_count = frame.counts.x;
  vec2 spare = sobol_2d(index, combine(set, 3u));
  int group = first ? max(only_group, 0) : min(int(spare.x * float(group_count)), group_count - 1);
  int group_end = first && only_group < 0 ? group_count : group + 1;
  if (only_group >= 0 && group != only_group) return;
  vec2 light_point = path.light_point;
  if (!first) light_point = sobol_2d(index, combine(set, 2u));
  do {
    LightSample light;
    vec3 value = path.throughput * direct(s, -path.direction, group, light_point, spare.y, group_chance, light);
    if (value.x + value.y + value.z > 0.0) {
      rays += 1u;
      if (!is_hidden(s, light)) deposit(group, value);
    }
    ++group;
  } while (group < group_end);
}

// The lanes of a group take one surface of their paths at a time, together: its ray, its shadow rays, where it goes on.
// Lanes whose path has ended wait for the others of their sample. That wastes fewer turns than lanes that each go their
// own way, ray by ray: software OpenGL runs the whole of a loop for a single lane, and a GPU loses less by waiting than by
// lanes that read patterns at different times.
void main() {
  ivec2 at = ivec2(gl_GlobalInvocationID.xy) + ivec2(0, slice_row);
  if (at.x >= frame.size.x || at.y >= slice_end) return;
  if (left_out[at.y / 16 * ((frame.size.x + 15) / 16) + at.x / 16] != 0u) return;
  pixel_index = uint(at.y * frame.size.x + at.x);
  ivec2 in_picture = ivec2(at.x, at.y + frame.size.z);
  int flags = frame.sky.w;
  uint own = combine(combine(combine(sample_seed, uint(in_picture.y)), uint(in_picture.x)), sample_half);

  uint index = sample_index, end = sample_index + sample_count;
  do {
    Path path = path_from_lens(index, own, in_picture);
    bool goes_on = true;
    do {
      bool first = path.bounce == 0, at_meter = first && frame.sky.z == mode_meter;
      bool white = first && (flags & flag_white_first) != 0;
      Hit hit = Hit(far_away, 0u, vec2(0.0));
      Surface s;
      bool found = at_meter;
      if (at_meter) {
        s = receiver();
      } else {
        rays += 1u;
        found = trace(path.origin, path.direction, path.t_min, false, hit);
        // Patterns are read at a path's first two surfaces, their relief at the first; beyond, a part's mean is enough.
        Look look = plain_look;
        PatternValue raw;
        if (found && path.bounce < 2 && !white) look = look_at(hit.triangle, hit.uv, first ? relief_step(hit.t) : 0.0, raw);
        if (found) s = surface_at(hit, path.direction, look);
        if (first) s.polariser = frame.polariser.xyz;
      }
      if (white) make_white(s);
      if (!at_meter) collect(path, found, hit, s);
      if (first && !at_meter && (flags & flag_first_hit) != 0)
        first_hit[pixel_index] = found ? uvec2(s.part, floatBitsToUint(dot(s.position - frame.pupil.xyz, frame.forward.xyz)))
                                       : uvec2(no_part, floatBitsToUint(far_away));
      goes_on = found;
      if (found) {
        uint set = combine(own, 16u + uint(path.bounce));
        float group_chance = first ? 1.0 : 1.0 / float(frame.counts.x);
        ask_groups(path, s, index, set, group_chance);
        goes_on = next_direction(s, index, set, path.bounce, group_chance, path.direction, path.throughput, path.arrival);
        path.origin = leave(s, path.direction);
        path.t_min = 0.0;
        ++path.bounce;
      }
    } while (goes_on);
    ++index;
  } while (index < end);
  if ((flags & flag_count_rays) != 0) { atomicAdd(counters[3], rays); atomicAdd(counters[4], sample_count); }
}
