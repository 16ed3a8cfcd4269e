// Pyramids of a plane of numbers: the plane at half the size, again and again, and the detail that each step
// loses.
//
// P. J. Burt & E. H. Adelson, The Laplacian pyramid as a compact image code, IEEE Trans. Comm. 31:532-540,
// 1983, from memory: five taps with a = 3/8, which makes them the binomial 1 4 6 4 1 over 16. The smaller
// plane has the samples 0, 2, 4 ... of the larger one, so any size can be halved, down to one sample. At the
// borders the plane is mirrored about its last sample; the taps always sum to one, so a constant stays one.
#pragma once

#include <cstddef>
#include <vector>

namespace undercap {

// Rows from the top. No side is below 1.
struct Plane {
  int width = 0;
  int height = 0;
  std::vector<float> value{};

  Plane() = default;
  Plane(int wide, int high)
      : width(wide), height(high), value(static_cast<std::size_t>(wide) * static_cast<std::size_t>(high)) {}
  float& at(int x, int y) { return value[index(x, y)]; }
  float at(int x, int y) const { return value[index(x, y)]; }

 private:
  std::size_t index(int x, int y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x);
  }
};

// The plane through the five taps, at its own size: a blur with a variance of one pixel squared.
Plane smooth(const Plane& plane);

// REDUCE: smoothed, and every second sample of it. Sides of (n + 1) / 2.
Plane reduce(const Plane& plane);

// EXPAND: back to the size that 'reduce' came from; each side is 2 n - 1 or 2 n.
Plane expand(const Plane& plane, int width, int height);

// 'levels' planes from the finest to the coarsest; the first is the plane itself.
std::vector<Plane> gaussian_pyramid(Plane plane, int levels);

// The same sizes: what a level has beyond the next one expanded, and last the coarsest level itself.
std::vector<Plane> laplacian_pyramid(Plane plane, int levels);

// The plane whose Laplacian pyramid this is: exact but for rounding.
Plane collapse(std::vector<Plane> laplacian);

}  // namespace undercap
