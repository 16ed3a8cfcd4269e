// How a part's pattern looks at one place of a triangle: lib/pattern.glsl gives the numbers, this the factors and the normal.

vec3 unpack_normal(uint word) {
  vec2 e = unpackSnorm2x16(word);
  vec3 n = vec3(e, 1.0 - abs(e.x) - abs(e.y));
  if (n.z < 0.0) n.xy = (1.0 - abs(n.yx)) * vec2(n.x >= 0.0 ? 1.0 : -1.0, n.y >= 0.0 ? 1.0 : -1.0);
  return normalize(n);
}

vec3 unpack_tint(uint word) { return vec3((uvec3(word) >> uvec3(0u, 10u, 20u)) & 1023u) * (1.0 / 512.0); }

// What a pattern gives at a hit, packed so that a path keeps it while shadow rays walk.
struct Look {
  uint reflect;   // factor on the reflectance, 10 bits a channel, (n / 512)^2; how glossy in the last two, thirds
  uint transmit;  // the same on the transmittance; bit 30: wet, bit 31: bit 30 is known
  uint normal;    // bent by relief; all ones = the interpolated one
};

const uint plain_factor = 512u | 512u << 10 | 512u << 20;
const Look plain_look = Look(plain_factor, plain_factor, 0xffffffffu);

vec3 unpack_factor(uint word) {
  vec3 root = vec3((uvec3(word) >> uvec3(0u, 10u, 20u)) & 1023u) * (1.0 / 512.0);
  return root * root;
}

// Rounded, but never over 'most'.
uint pack_factor(vec3 factor, vec3 most) {
  uvec3 n = uvec3(min(sqrt(factor) * 512.0 + 0.5, floor(sqrt(most) * 512.0 + 1e-3)));
  n = min(n, uvec3(1023u));
  return n.x | n.y << 10 | n.z << 20;
}

uint pack_normal(vec3 n) {
  n /= abs(n.x) + abs(n.y) + abs(n.z);
  if (n.z < 0.0) n.xy = (1.0 - abs(n.yx)) * vec2(n.x >= 0.0 ? 1.0 : -1.0, n.y >= 0.0 ? 1.0 : -1.0);
  uint word = packSnorm2x16(n.xy);
  return word == 0xffffffffu ? word ^ 1u : word;
}

// A triangle's corners' places on the pattern, with no jump of the angle inside it.
struct PatternCorner { vec2 a, to_b, to_c; };
PatternCorner pattern_corner(int triangle, bool turns) {
  uvec4 words = texelFetch(triangle_uv, triangle);
  PatternCorner at;
  at.a = unpackUnorm2x16(words.x);
  at.to_b = unpackUnorm2x16(words.y) - at.a;
  at.to_c = unpackUnorm2x16(words.z) - at.a;
  if (turns) {
    at.to_b.x -= floor(at.to_b.x + 0.5);
    at.to_c.x -= floor(at.to_c.x + 0.5);
  }
  return at;
}

vec3 interpolated_normal(uvec4 normals, vec3 weight, vec3 flat_one) {
  if (normals.x == 0xffffffffu) return flat_one;
  return normalize(weight.x * unpack_normal(normals.x) + weight.y * unpack_normal(normals.y) + weight.z * unpack_normal(normals.z));
}

// The most that a pattern may make of a part: R + T = .92, or what it has without a pattern.
const float most_returned = 0.92;

// Reads the pattern where a ray has met a surface. 'step_m' > 0: bends the normal by the relief, read that far apart.
// 'raw': the factors before they are divided by their means.
Look look_at(uint hit_triangle, vec2 at, float step_m, out PatternValue raw) {
  int triangle = int(hit_triangle);
  uvec4 normals = texelFetch(triangle_surface, triangle * 2), tints = texelFetch(triangle_surface, triangle * 2 + 1);
  int material = int(normals.w & 0xffffu), record = material * texels_of_pattern;
  vec4 head = texelFetch(pattern_table, record);
  int first = floatBitsToInt(head.x);
  uint counts = floatBitsToUint(head.y), seed = floatBitsToUint(head.z) >> 1;
  int layers = int(counts & 0xffffu), with_relief = step_m > 0.0 ? int(counts >> 16) : 0;
  bool turns = (floatBitsToUint(head.z) & 1u) != 0u;

  vec3 to_b = texelFetch(bvh_triangles, triangle * 3 + 1).xyz, to_c = texelFetch(bvh_triangles, triangle * 3 + 2).xyz;
  vec3 position = texelFetch(bvh_triangles, triangle * 3).xyz + at.x * to_b + at.y * to_c;
  vec3 across = cross(to_b, to_c), flat_one = normalize(across);
  vec3 weight = vec3(1.0 - at.x - at.y, at);
  vec3 normal = interpolated_normal(normals, weight, flat_one);
  vec4 row0 = texelFetch(pattern_table, record + 3), row1 = texelFetch(pattern_table, record + 4), row2 = texelFetch(pattern_table, record + 5);
  PatternCorner corner = pattern_corner(triangle, turns);
  PatternPlace place;
  place.own = vec3(dot(row0, vec4(position, 1.0)), dot(row1, vec4(position, 1.0)), dot(row2, vec4(position, 1.0)));
  place.uv = corner.a + at.x * corner.to_b + at.y * corner.to_c;
  place.up = normal.z;

  // Two steps in the triangle's plane, and how the place on the pattern changes along them.
  vec3 along[2];
  along[0] = normalize(to_b);
  along[1] = cross(flat_one, along[0]);
  vec3 per_b = cross(to_c, across) / dot(across, across), per_c = cross(across, to_b) / dot(across, across);
  float height = 0.0;
  vec3 slope = vec3(0.0);
  float own_per_m = length(row0.xyz);
  int turn = 0;
  do {
    PatternPlace there = place;
    vec3 direction = turn == 2 ? along[1] : along[0];
    if (turn > 0) {
      vec3 d = step_m * direction;
      there.own += vec3(dot(row0.xyz, d), dot(row1.xyz, d), dot(row2.xyz, d));
      there.uv += dot(per_b, d) * corner.to_b + dot(per_c, d) * corner.to_c;
    }
    int from = turn == 0 ? first : first + layers;
    PatternValue value = read_layers(from, from + (turn == 0 ? layers : with_relief), there, turns, seed);
    if (turn == 0) { raw = value; height = value.height; }
    else slope += (value.height - height) / (step_m * own_per_m) * direction;
    ++turn;
  } while (turn < (with_relief > 0 ? 3 : 1));

  vec4 mean_reflect = texelFetch(pattern_table, record + 1), mean_transmit = texelFetch(pattern_table, record + 2);
  vec3 tint = weight.x * unpack_tint(tints.x) + weight.y * unpack_tint(tints.y) + weight.z * unpack_tint(tints.z);
  vec3 both = (texelFetch(materials, material * 3).rgb + texelFetch(materials, material * 3 + 1).rgb) * tint;
  vec3 most = max(most_returned / max(both, 1e-3), 1.0);
  Look look = plain_look;
  look.reflect = pack_factor(raw.colour * mean_reflect.rgb, most);
  look.transmit = pack_factor(raw.colour * raw.through * mean_transmit.rgb, most);
  float glossy = smoothstep(-0.15, 0.15, raw.damp - mean_reflect.w);
  look.reflect |= uint(3.0 * glossy + 0.5) << 30;
  look.transmit |= (raw.damp > head.w ? 3u : 2u) << 30;
  if (with_relief > 0) {
    // Steeper relief would show its own back (woodland recipes: common practice, no source).
    float steep = length(slope);
    look.normal = pack_normal(normalize(normal - slope * (min(steep, 1.2) / max(steep, 1e-6))));
  }
  return look;
}
