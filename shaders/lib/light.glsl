// The sources, each at unit power: the sky gives 1 lx on level ground above the leaves, the sun 1 lx at normal incidence, a
// lamp 1 cd at its peak. Glow, the emission of props, is at its own level.

struct LightSample {
  vec3 direction;  // unit, from the surface
  float distance;
  vec3 value;      // luminance over density: what a perfect cosine would receive; 0 = nothing from here
  float density;   // per solid angle
};

// --- sky: luminance at the nodes of a square, bilinear between; cells of equal area. Map 0 is the sky, map 1 the leaves.

const float quarter = 4.0 / pi;
const vec3 luminance_weights = vec3(0.2126390, 0.7151687, 0.0721923);

// Shirley & Chiu 1997: the square to the disc, and the disc as the equal-area image of the hemisphere.
vec3 sky_direction(vec2 place) {
  vec2 s = 2.0 * place - 1.0;
  bool wide = abs(s.x) > abs(s.y);
  float radius = wide ? s.x : s.y, other = wide ? s.y : s.x;
  float angle = radius == 0.0 ? 0.0 : other / (quarter * radius);
  float level = radius * sqrt(max(2.0 - radius * radius, 0.0));
  vec2 along = level * vec2(cos(angle), sin(angle));
  return vec3(wide ? along : along.yx, 1.0 - radius * radius);
}

vec2 sky_place(vec3 d) {
  // 1 - z, without cancellation near the zenith.
  float level = dot(d.xy, d.xy), radius = sqrt(level / (1.0 + d.z));
  bool wide = abs(d.x) > abs(d.y);
  float larger = wide ? d.x : d.y, other = wide ? d.y : d.x;
  float share = larger == 0.0 ? 0.0 : quarter * atan(other / abs(larger));
  vec2 square = vec2(larger < 0.0 ? -radius : radius, radius * share);
  return 0.5 * (wide ? square : square.yx) + 0.5;
}

// The cell of a direction, and where in it.
ivec2 sky_cell(vec3 d, out vec2 within) {
  vec2 at = sky_place(d) * float(sky_side);
  ivec2 cell = clamp(ivec2(at), ivec2(0), ivec2(sky_side - 1));
  within = at - vec2(cell);
  return cell;
}

vec3 sky_node(int map, ivec2 at) { return texelFetch(sky_nodes, (map * (sky_side + 1) + at.y) * (sky_side + 1) + at.x).rgb; }

// The corners of a cell as columns, by rows.
mat4x3 sky_corners(int map, ivec2 cell) {
  return mat4x3(sky_node(map, cell), sky_node(map, cell + ivec2(1, 0)), sky_node(map, cell + ivec2(0, 1)),
                sky_node(map, cell + ivec2(1, 1)));
}

vec3 sky_radiance(mat4x3 corners, vec2 within) {
  return mix(mix(corners[0], corners[1], within.x), mix(corners[2], corners[3], within.x), within.y);
}

// Directions are drawn exactly in proportion to the map's luminance, so this is that over its sum over the hemisphere.
float sky_density(int map, vec3 radiance) { return dot(radiance, luminance_weights) * (map == 0 ? frame.totals.y : frame.totals.z); }

// Where u falls when the density runs straight from a at 0 to b at 1.
float invert_slope(float a, float b, float u) {
  return a + b <= 0.0 ? u : min(u * (a + b) / (a + sqrt(max(mix(a * a, b * b, u), 0.0)) + 1e-30), 0.99999994);
}

// Splits u by the share of the first of two weights: true for the second, and u anew within its part.
bool choose_second(float first, float second, inout float u) {
  float share = first + second > 0.0 ? first / (first + second) : 0.5;
  bool taken = u >= share;
  u = clamp(taken ? (u - share) / max(1.0 - share, 1e-20) : u / max(share, 1e-20), 0.0, 0.99999994);
  return taken;
}

// Quarter by quarter down a tree of sums, which keeps close points of the set close in the sky (P. Clarberg et al. 2005,
// 'Wavelet Importance Sampling', section 4.1). A texel has the sums of a square's four quarters, by rows; the levels stand
// one behind the other.
LightSample sample_sky(int map, vec2 u) {
  ivec2 cell = ivec2(0);
  int first = map * ((sky_side * sky_side - 1) / 3);
  for (int level = 1; level < sky_side; level *= 2) {
    vec4 quarters = texelFetch(sky_tree, first + cell.y * level + cell.x);
    bool upper = choose_second(quarters.x + quarters.y, quarters.z + quarters.w, u.y);
    bool right = choose_second(upper ? quarters.z : quarters.x, upper ? quarters.w : quarters.y, u.x);
    cell = 2 * cell + ivec2(right ? 1 : 0, upper ? 1 : 0);
    first += level * level;
  }
  // Within the cell by the bilinear luminance: first the row's share, then the place along it.
  mat4x3 corners = sky_corners(map, cell);
  vec4 corner = luminance_weights * corners;
  vec2 within;
  within.y = invert_slope(corner.x + corner.y, corner.z + corner.w, u.y);
  within.x = invert_slope(mix(corner.x, corner.z, within.y), mix(corner.y, corner.w, within.y), u.x);
  vec3 d = sky_direction((vec2(cell) + within) / float(sky_side));
  vec3 radiance = sky_radiance(corners, within);
  float density = sky_density(map, radiance);
  return LightSample(d, far_away, density > 0.0 ? radiance / density : vec3(0.0), density);
}

// --- sun: a disc of even luminance; w is 2 (1 - cosine of its radius), the square of the chord, since the cosine itself
// has no more than 180 steps between the sun's centre and limb in single precision

float sun_solid_angle() { return pi * sun_direction.w; }

bool toward_sun(vec3 d) {
  vec3 off = d - sun_direction.xyz;
  return dot(off, off) <= sun_direction.w;
}

// Whether the leaves let the sun through on the way from a place: a bit a cell of a plane that repeats beyond its edges.
bool open_to_sun(vec3 from, vec3 d) {
  int side = int(frame.film.y);
  if (side == 0 || from.z >= frame.gaps.w) return true;
  vec2 at = (from.xy + d.xy * ((frame.gaps.w - from.z) / max(d.z, 1e-4)) - frame.gaps.xy) / frame.gaps.z;
  at -= float(side) * floor(at / float(side));
  ivec2 cell = min(ivec2(at), ivec2(side - 1));
  int bit = cell.y * side + cell.x;
  uvec4 word = texelFetch(gap_bits, bit >> 7);
  return (word[(bit >> 5) & 3] >> uint(bit & 31) & 1u) != 0u;
}

LightSample sample_sun(vec2 u, vec3 from) {
  float drop = 0.5 * u.x * sun_direction.w;  // 1 - cosine
  float sine = sqrt(drop * (2.0 - drop));
  vec3 t, b;
  basis(sun_direction.xyz, t, b);
  vec3 d = normalize(sine * cos(2.0 * pi * u.y) * t + sine * sin(2.0 * pi * u.y) * b + (1.0 - drop) * sun_direction.xyz);
  return LightSample(d, far_away, vec3(open_to_sun(from, d) ? 1.0 : 0.0), 1.0 / sun_solid_angle());
}

// --- lamps: a disc or a rectangle, each point of which sends I(theta, azimuth). Four texels: place, half width | direction,
// half height | right, area | first node of the beam, planes, 1 = rectangle. A plane of the beam has 512 nodes.

struct LampShape {
  vec4 place, aim, right;
  vec4 beam;
};

LampShape lamp_shape(int lamp) {
  return LampShape(texelFetch(lamps, lamp * 4), texelFetch(lamps, lamp * 4 + 1), texelFetch(lamps, lamp * 4 + 2),
                   texelFetch(lamps, lamp * 4 + 3));
}

float beam_node(LampShape lamp, float plane, float x) {
  int first = int(lamp.beam.x) + int(plane) * 512, i = min(int(x), 510);
  return mix(texelFetch(beams, first + i).r, texelFetch(beams, first + i + 1).r, x - float(i));
}

// I / I0 toward d, which points away from the lamp; 0 behind.
float beam_toward(LampShape lamp, vec3 d) {
  float cosine = dot(d, lamp.aim.xyz);
  if (cosine <= 0.0) return 0.0;
  vec3 up = cross(lamp.right.xyz, lamp.aim.xyz);
  vec2 across = vec2(dot(d, lamp.right.xyz), dot(d, up));
  float x = 511.0 * sqrt(min(atan(length(across), cosine) * (2.0 / pi), 1.0));
  if (lamp.beam.y < 1.5) return beam_node(lamp, 0.0, x);
  float turn = across == vec2(0.0) ? 0.0 : atan(across.y, across.x) / (2.0 * pi);
  turn = (turn - floor(turn)) * lamp.beam.y;
  float plane = min(floor(turn), lamp.beam.y - 1.0), next = plane + 1.0 >= lamp.beam.y ? 0.0 : plane + 1.0;
  return mix(beam_node(lamp, plane, x), beam_node(lamp, next, x), turn - plane);
}

LightSample sample_lamp(int number, vec2 u, vec3 from) {
  LampShape lamp = lamp_shape(number);
  vec3 up = cross(lamp.right.xyz, lamp.aim.xyz);
  float radius = sqrt(u.x), angle = 2.0 * pi * u.y;
  vec2 on = lamp.beam.z > 0.5 ? 2.0 * u - 1.0 : radius * vec2(cos(angle), sin(angle));
  vec3 to = lamp.place.xyz + on.x * lamp.place.w * lamp.right.xyz + on.y * lamp.aim.w * up - from;
  float squared = dot(to, to), distance = sqrt(squared);
  vec3 d = to / distance;
  float cosine = -dot(d, lamp.aim.xyz);
  if (cosine <= 0.0) return LightSample(d, distance, vec3(0.0), 0.0);
  return LightSample(d, distance, vec3(beam_toward(lamp, -d) / squared), squared / (cosine * lamp.right.w));
}

// Where a ray meets the front of a lamp: (distance, luminance, density of sample_lamp), distance < 0 = nowhere.
vec3 hit_lamp(int number, vec3 origin, vec3 d) {
  LampShape lamp = lamp_shape(number);
  float cosine = -dot(d, lamp.aim.xyz);
  if (cosine <= 1e-6) return vec3(-1.0);
  float t = dot(origin - lamp.place.xyz, lamp.aim.xyz) / cosine;
  vec3 off = origin + t * d - lamp.place.xyz;
  vec2 on = vec2(dot(off, lamp.right.xyz) / lamp.place.w, dot(off, cross(lamp.right.xyz, lamp.aim.xyz)) / lamp.aim.w);
  bool beside = lamp.beam.z > 0.5 ? max(abs(on.x), abs(on.y)) > 1.0 : dot(on, on) > 1.0;
  if (t <= 0.0 || beside) return vec3(-1.0);
  float seen = cosine * lamp.right.w;
  return vec3(t, beam_toward(lamp, -d) / seen, t * t / seen);
}

// --- glow: emissive triangles, chosen by emission times area; a texel each: triangle, cumulative chance

LightSample sample_glow(vec2 u, float choice, vec3 from) {
  if (glow_count == 0) return LightSample(vec3(0.0, 0.0, 1.0), 1.0, vec3(0.0), 0.0);
  int low = 0, high = glow_count - 1;
  while (low < high) {
    int middle = (low + high) >> 1;
    if (texelFetch(glow_table, middle).y <= choice) low = middle + 1;
    else high = middle;
  }
  int triangle = int(floatBitsToUint(texelFetch(glow_table, low).x));
  vec3 to_b = texelFetch(bvh_triangles, triangle * 3 + 1).xyz;
  vec3 to_c = texelFetch(bvh_triangles, triangle * 3 + 2).xyz;
  float root = sqrt(u.x);
  vec3 point = texelFetch(bvh_triangles, triangle * 3).xyz + (1.0 - root) * to_b + u.y * root * to_c;
  vec3 normal = cross(to_b, to_c);
  vec3 to = point - from;
  float squared = dot(to, to), distance = sqrt(squared);
  vec3 d = to / distance;
  float cosine = -dot(d, normalize(normal));
  if (cosine <= 0.0) return LightSample(d, distance, vec3(0.0), 0.0);
  // The chance of a triangle is emission x area / total, so the density at a point is emission / total.
  float emission = texelFetch(materials, int(texelFetch(triangle_surface, triangle * 2).w & 0xffffu) * 3 + 1).w;
  float density = emission / glow_total * squared / cosine;
  return LightSample(d, distance, vec3(emission / density), density);
}
