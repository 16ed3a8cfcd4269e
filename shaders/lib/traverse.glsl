// Rays against the flat 4-wide quantised BVH. The layout is written by engine/render/bvh.cpp:
//   node, 3 texels: exponents x, y, z and four times triangles - 1 (2 bits) | inner children (3 bits) and number of the first
//     | first triangle | origin x || origin y | origin z | low x | high x || low y | high y | low z | high z, a byte a child
//   inner children come first, then leaves, then free slots; children of a node stand side by side, and so do its triangles
//   a child in the walk is 0xffffffff (none), a node's number, or a leaf: bit 31, count - 1 in bits 29..30, first triangle
//   triangle, 3 texels: corner, edge to b, edge to c (the w of each is free)

const uint no_child = 0xffffffffu;
const uint leaf_bit = 0x80000000u;
const float far_away = 1e30;

struct Hit {
  float t;
  uint triangle;
  vec2 uv;
};

vec4 bytes(uint word) { return vec4((uvec4(word) >> uvec4(0u, 8u, 16u, 24u)) & 255u); }

float power_of_two(uint biased) { return uintBitsToFloat(biased << 23); }

// Children that wait: a node's number in the upper 24 bits, how many wait in bits 6..7, their slots, nearest first, below.
// One such word is kept at hand and one a level goes to the stack.
const uint none_waiting = 0u;

// The stack: shared memory on a GPU (a quarter faster than a private array there). Software OpenGL turns every write to an
// array into a branch, a load and a store a lane, which took a third of the time; for it engine/render/tracer.cpp defines
// the three as moves between registers.
#ifndef GROUP_LANES
#define GROUP_LANES 64
#endif
#ifdef STACK_START
const bool descends_at_once = true;
#else
const bool descends_at_once = false;
shared uint stack[STACK_SIZE][GROUP_LANES];
#define STACK_START int top = 1; stack[0][gl_LocalInvocationIndex] = none_waiting
#define STACK_PUSH(word, wanted) { stack[top][gl_LocalInvocationIndex] = word; top += int(wanted); }
#define STACK_POP(word, wanted) { if (wanted) word = stack[--top][gl_LocalInvocationIndex]; }
#endif

// The child in a slot, from the first texel of its node.
uint child_at(uvec4 first_texel, uint slot) {
  uint inner = first_texel.y >> 29;
  uint more = first_texel.x >> 24, before = more & ((1u << (2u * slot)) - 1u);
  uint skipped = slot - inner + (before & 3u) + ((before >> 2) & 3u) + (before >> 4);
  uint leaf = leaf_bit | ((more >> (2u * slot)) & 3u) << 29 | (first_texel.z + skipped);
  return slot < inner ? (first_texel.y & 0x1fffffffu) + slot : leaf;
}

// The next child that waits, or the end of the walk.
#define TAKE_WAITING \
  { \
    bool pop = waiting == none_waiting; \
    STACK_POP(waiting, pop) \
    uint from = waiting, left = (from >> 6) & 3u; \
    current = from == none_waiting ? no_child : child_at(texelFetch(bvh_nodes, int(from >> 8) * 3), from & 3u); \
    waiting = left > 1u ? (from & ~255u) | (left - 1u) << 6 | ((from & 63u) >> 2) : none_waiting; \
  }

// Finds the nearest hit in (t_min, hit.t), or with 'any' the first one found. Returns whether there is one.
bool trace(vec3 origin, vec3 direction, float t_min, bool any, inout Hit hit) {
  vec3 safe = mix(direction, vec3(1e-20), lessThan(abs(direction), vec3(1e-20)));
  vec3 inverse = 1.0 / safe;
  bvec3 down = lessThan(inverse, vec3(0.0));
  STACK_START;
  uint waiting = none_waiting, current = 0u;
  bool found = false, done = false;
  // On a GPU a turn takes one step, a node or a leaf, whichever a lane is at; on software OpenGL all lanes first come down to
  // a leaf. Loops test at their end: software OpenGL goes once more through one that tests at its beginning.
  do {
    if ((current & leaf_bit) == 0u) do {
      int at = int(current) * 3;
      uvec4 children = texelFetch(bvh_nodes, at), middle = texelFetch(bvh_nodes, at + 1), box = texelFetch(bvh_nodes, at + 2);
      vec3 scale = vec3(power_of_two(children.x & 255u), power_of_two((children.x >> 8) & 255u),
                        power_of_two((children.x >> 16) & 255u)) * inverse;
      vec3 base = (uintBitsToFloat(uvec3(children.w, middle.xy)) - origin) * inverse;
      vec4 x0 = bytes(down.x ? middle.w : middle.z) * scale.x + base.x;
      vec4 x1 = bytes(down.x ? middle.z : middle.w) * scale.x + base.x;
      vec4 y0 = bytes(down.y ? box.y : box.x) * scale.y + base.y;
      vec4 y1 = bytes(down.y ? box.x : box.y) * scale.y + base.y;
      vec4 z0 = bytes(down.z ? box.w : box.z) * scale.z + base.z;
      vec4 z1 = bytes(down.z ? box.z : box.w) * scale.z + base.z;
      // Compared as whole numbers, a third of the work of float minima on software OpenGL: a near distance below 0 is less
      // than t_min either way, and any far distance below 0 is a miss. t_min is not negative.
      ivec4 near = max(max(floatBitsToInt(x0), floatBitsToInt(y0)), max(floatBitsToInt(z0), ivec4(floatBitsToInt(t_min))));
      ivec4 far = min(min(floatBitsToInt(x1), floatBitsToInt(y1)), min(floatBitsToInt(z1), ivec4(floatBitsToInt(hit.t))));
      vec4 enter = intBitsToFloat(near);
      // The far side is widened by the rounding of these lines (Ize 2013, "Robust BVH Ray Traversal", JCGT 2(2)).
      vec4 leave = intBitsToFloat(far) * 1.0000008;
      // Distances that are not negative sort as whole numbers; the slot rides in the last two bits.
      bvec4 miss = greaterThan(enter, leave);
      uvec4 key = mix((floatBitsToUint(enter) & ~3u) | uvec4(0u, 1u, 2u, 3u), uvec4(no_child), miss);
      uvec2 low = min(key.xz, key.yw), high = max(key.xz, key.yw);
      uint first = min(low.x, low.y), last = max(high.x, high.y);
      uint middle0 = max(low.x, low.y), middle1 = min(high.x, high.y);
      uint second = min(middle0, middle1), third = max(middle0, middle1);
      uint more = uint(second != no_child) + uint(third != no_child) + uint(last != no_child);
      bool push = more > 0u && waiting != none_waiting;
      STACK_PUSH(waiting, push)
      if (more > 0u) {
        waiting = current << 8 | more << 6 | (second & 3u) | (third & 3u) << 2 | (last & 3u) << 4;
      }
      current = first != no_child ? child_at(children, first & 3u) : no_child;
    } while (descends_at_once && (current & leaf_bit) == 0u);
    if ((current & leaf_bit) == 0u) continue;
    // A leaf, or no_child when no child of a node was met.
    uint triangle = current & 0x1fffffffu, last_one = triangle + ((current >> 29) & 3u);
    if (current != no_child) do {
      // Moeller & Trumbore 1997, both sides.
      int at = int(triangle) * 3;
      vec3 corner = texelFetch(bvh_triangles, at).xyz;
      vec3 to_b = texelFetch(bvh_triangles, at + 1).xyz;
      vec3 to_c = texelFetch(bvh_triangles, at + 2).xyz;
      vec3 p = cross(direction, to_c);
      float determinant = dot(to_b, p);
      float inverse_determinant = 1.0 / determinant;
      vec3 s = origin - corner;
      float u = dot(s, p) * inverse_determinant;
      vec3 q = cross(s, to_b);
      float v = dot(direction, q) * inverse_determinant;
      float t = dot(to_c, q) * inverse_determinant;
      if (determinant != 0.0 && u >= 0.0 && v >= 0.0 && u + v <= 1.0 && t > t_min && t < hit.t) {
        hit = Hit(t, triangle, vec2(u, v));
        found = true;
      }
      ++triangle;
    } while (triangle <= last_one);
    if (any && found) return true;
    TAKE_WAITING
    done = current == no_child;
  } while (!done);
  // Software OpenGL ends loops in silence after about 65,536 turns in a dispatch: say so.
  if (!done) atomicAdd(counters[2], 1u);
  return found;
}
