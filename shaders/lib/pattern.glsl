// The pattern of a part at a place: layers that engine/surface/pattern_layers.h describes, read one after the other. One loop
// serves all kinds, since software OpenGL runs every branch of a program for every lane.
//
// A material has six texels in pattern_table:
//   first layer, layers | layers with relief << 16, turns round | seed << 1, damp above which it is wet
//   1 / mean of the reflectance's factor; damp above which it is glossy
//   1 / mean of the transmittance's factor; free
//   three rows: from the world, m, to the prop's own space, mm
// A layer has three of pattern_layers, numbers as halves: place xyz, along xyz, source | does << 4 | turns << 8 | covers << 9 |
// number << 16; amount, by u, v, e, up, bend, low, 1 / (high - low); colour, through, height, bend of q, free.
// The layers with relief stand behind all of them once more, with what they need, for the bump.

const int texels_of_pattern = 6;

struct PatternPlace {
  vec3 own;  // mm
  vec2 uv;
  float up;  // of the normal
};

struct PatternValue {
  vec3 colour;    // factors before they are divided by their means
  float through;  // on top of colour, for what comes through
  float height;   // mm
  float damp;     // mostly -1..1: water and gloss gather where it is high
};

// All that a lattice of random points gives around a place.
struct Lattice {
  float noise;   // gradient noise (Perlin 2002, 'Improving Noise'), with gradients from a hash; scaled to a deviation of .4
  vec3 vector;   // value noise of the gradients
  float near, second, chance;  // the nearest points of Worley 1996, and a number 0..1 of the nearest
};

// Random bits of a place: 'at' are its three whole numbers times these odd ones.
const uvec3 place_step = uvec3(0x8da6b343u, 0xd8163841u, 0xcb1ab31fu);
uint bits_of(uvec3 at, uint seed) {
  uint h = (at.x ^ at.y ^ at.z ^ seed) * 0x9e3779b1u;
  h ^= h >> 15;
  h *= 0x85ebca6bu;
  return h ^ (h >> 13);
}

// 'noise' with 'vector', and the points: whether each is wanted. Loops test at their end, since software OpenGL goes through a
// loop once even where no lane wants it, and once more where the test stands at the beginning.
Lattice lattice_at(vec3 p, uint seed, bool noise, bool points) {
  vec3 whole = floor(p), t = p - whole;
  uvec3 origin = uvec3(ivec3(whole)) * place_step;
  Lattice found = Lattice(0.0, vec3(0.0), 9.0, 9.0, 0.0);
  if (noise) {
    vec3 fade = t * t * t * (t * (t * 6.0 - 15.0) + 10.0);
    int i = 0;
    do {
      ivec3 corner = ivec3(i & 1, (i >> 1) & 1, i >> 2);
      uint h = bits_of(origin + mix(uvec3(0u), place_step, equal(corner, ivec3(1))), seed);
      vec3 random = vec3((uvec3(h) >> uvec3(0u, 10u, 20u)) & 1023u) * (2.0 / 1023.0) - 1.0;
      vec3 share = mix(1.0 - fade, fade, equal(corner, ivec3(1)));
      float weight = share.x * share.y * share.z;
      found.noise += weight * dot(random, t - vec3(corner));
      found.vector += weight * random;
      ++i;
    } while (i < 8);
    found.noise *= 1.6;
  }
  if (points) {
    // The nearest point needs all 27 neighbours.
    ivec3 corner = ivec3(-1);
    uvec3 there = origin - place_step;
    uint chosen = 0u;
    do {
      uint h = bits_of(there, seed);
      vec3 random = vec3((uvec3(h) >> uvec3(0u, 10u, 20u)) & 1023u) * (2.0 / 1023.0) - 1.0;
      vec3 to = t - vec3(corner) - 0.5 * random;
      float far = dot(to, to);
      found.second = min(found.second, max(found.near, far));
      chosen = far < found.near ? h : chosen;
      found.near = min(found.near, far);
      ++corner.x;
      there.x += place_step.x;
      if (corner.x == 2) { corner.x = -1; there.x = origin.x - place_step.x; ++corner.y; there.y += place_step.y; }
      if (corner.y == 2) { corner.y = -1; there.y = origin.y - place_step.y; ++corner.z; there.z += place_step.z; }
    } while (corner.z < 2);
    found.chance = float((chosen * 0x2c1b3c6du) >> 8) * (1.0 / 16777216.0);
    found.near = sqrt(found.near);
    found.second = sqrt(found.second);
  }
  return found;
}

PatternValue read_layers(int first, int end, PatternPlace place, bool turns_round, uint seed) {
  PatternValue value = PatternValue(vec3(1.0), 1.0, 0.0, 0.0);
  float angle = 6.28318530718 * place.uv.x;
  vec3 round_it = vec3(cos(angle), sin(angle), place.uv.y);
  vec3 on_it = vec3(place.uv, abs(2.0 * place.uv.y - 1.0));
  vec3 own = place.own, bent = vec3(0.0);
  float sum = 0.0, gate = 1.0;
  int i = first;
  if (first < end) do {
    uvec4 a = texelFetch(pattern_layers, i * 3), b = texelFetch(pattern_layers, i * 3 + 1), c = texelFetch(pattern_layers, i * 3 + 2);
    vec2 middle = unpackHalf2x16(a.y), ramp0 = unpackHalf2x16(b.x), ramp1 = unpackHalf2x16(b.y), ramp2 = unpackHalf2x16(b.z),
         edge = unpackHalf2x16(b.w), colour0 = unpackHalf2x16(c.x), colour1 = unpackHalf2x16(c.y), relief = unpackHalf2x16(c.z);
    uint source = a.w & 15u, does = (a.w >> 4) & 15u;
    vec3 q = (a.w & 256u) != 0u ? round_it + bent : on_it + bent;
    vec3 at = vec3(unpackHalf2x16(a.x), middle.x) * own + vec3(middle.y, unpackHalf2x16(a.z)) * q;
    bool lattice = source != 5u && ramp0.x != 0.0, points = lattice && source >= 1u;
    Lattice found = lattice_at(at, seed ^ ((a.w >> 16) * 0x632be5abu), lattice && (source == 0u || does == 4u), points);
    float x = found.noise;
    if (source == 1u) x = found.near;
    if (source == 2u) x = found.second - found.near;
    if (source == 3u) x = found.near - found.chance;
    if (source == 4u) x = found.chance;
    if (source == 5u) x = 1.0 - 4.0 * abs(fract(at.x + at.y + at.z) - 0.5);
    sum += ramp0.x * x + dot(vec4(ramp0.y, ramp1, ramp2.x), vec4(on_it, place.up));
    float mask = clamp((sum - edge.x) * edge.y, 0.0, 1.0);
    mask = mask * mask * (3.0 - 2.0 * mask) * gate;
    if (does == 1u) gate = mask;
    if (does == 2u) {
      vec3 colour = vec3(colour0, colour1.x);
      value.colour = mix(value.colour, (a.w & 512u) != 0u ? colour : colour * value.colour, mask);
      value.through *= mix(1.0, colour1.y, mask);
      value.height += relief.x * mask;
      gate = 1.0;
    }
    if (does == 3u) {  // wet passes into dry in specks, not along a line
      uint h = bits_of(floatBitsToUint(place.own) * place_step, 0u);
      value.damp = sum + 0.7 * (float(h >> 8) * (1.0 / 16777216.0) - 0.5);
    }
    if (does == 4u) {
      own += ramp2.y * found.vector;
      bent += relief.y * found.vector;
      sum -= ramp0.x * x;
    }
    if (does != 0u && does != 4u) sum = 0.0;
    ++i;
  } while (i < end);
  return value;
}
