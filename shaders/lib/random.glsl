// Owen-scrambled Sobol points on the fly. A point depends on (pixel, sample, half, seed) and on nothing else, so that any
// prefix of samples is good and every device agrees.
//
// Hash-based nested scrambling: Burley 2020, "Practical Hash-based Owen Scrambling", JCGT 9(4), with the corrected
// hash constants of Vegdahl (from memory). Hash of integers: Wellons' lowbias32 (from memory).

uint hash_u32(uint x) {
  x ^= x >> 16; x *= 0x7feb352du;
  x ^= x >> 15; x *= 0x846ca68bu;
  x ^= x >> 16;
  return x;
}

uint combine(uint seed, uint value) { return hash_u32(seed ^ (value * 0x9e3779b9u + 0x7f4a7c15u)); }

// Nested uniform scramble of a bit-reversed number; the result is bit-reversed as well.
uint scramble_reversed(uint x, uint seed) {
  x ^= x * 0x3d20adeau;
  x += seed;
  x *= (seed >> 16) | 1u;
  x ^= x * 0x05526c56u;
  x ^= x * 0x53a22864u;
  return x;
}

float to_unit(uint x) { return min(float(x) * 2.3283064365386963e-10, 0.99999994); }

// The bit-reversed second Sobol coordinate: its direction numbers form Pascal's triangle modulo 2.
uint sobol1_reversed(uint index) {
  index ^= (index & 0xaaaaaaaau) >> 1;
  index ^= (index & 0xccccccccu) >> 2;
  index ^= (index & 0xf0f0f0f0u) >> 4;
  index ^= (index & 0xff00ff00u) >> 8;
  index ^= (index & 0xffff0000u) >> 16;
  return index;
}

// The third and fourth coordinates: Joe & Kuo 2008, primitive polynomials of degree 2 and 3, m = {1,3} and {1,3,1}.
uvec2 sobol23(uint index) {
  uint a0 = 0x80000000u, a1 = 0xc0000000u;                    // v(i), v(i+1) of the third coordinate
  uint b0 = 0x80000000u, b1 = 0xc0000000u, b2 = 0x20000000u;  // of the fourth
  uvec2 sum = uvec2(0u);
  for (uint bits = index; bits != 0u; bits >>= 1) {
    if ((bits & 1u) != 0u) sum ^= uvec2(a0, b0);
    uint a2 = a1 ^ a0 ^ (a0 >> 2);
    a0 = a1; a1 = a2;
    uint b3 = b1 ^ b0 ^ (b0 >> 3);
    b0 = b1; b1 = b2; b2 = b3;
  }
  return sum;
}

// One 4-D point: the sets whose dimensions belong together (lens point and first light point).
vec4 sobol_4d(uint index, uint seed) {
  uvec2 high = sobol23(index);
  uint x = bitfieldReverse(scramble_reversed(index, combine(seed, 0u)));
  uint y = bitfieldReverse(scramble_reversed(sobol1_reversed(index), combine(seed, 1u)));
  uint z = bitfieldReverse(scramble_reversed(bitfieldReverse(high.x), combine(seed, 2u)));
  uint w = bitfieldReverse(scramble_reversed(bitfieldReverse(high.y), combine(seed, 3u)));
  return vec4(to_unit(x), to_unit(y), to_unit(z), to_unit(w));
}

// One point of a padded 2-D set: the order of its samples is scrambled too, so that sets are independent of each other.
vec2 sobol_2d(uint index, uint seed) {
  uint order = bitfieldReverse(scramble_reversed(bitfieldReverse(index), combine(seed, 2u)));
  uint x = bitfieldReverse(scramble_reversed(order, combine(seed, 0u)));
  uint y = bitfieldReverse(scramble_reversed(sobol1_reversed(order), combine(seed, 1u)));
  return vec2(to_unit(x), to_unit(y));
}
