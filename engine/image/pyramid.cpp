#include "engine/image/pyramid.h"

#include <cstdlib>
#include <utility>

namespace undercap {
namespace {

// Where sample i of a row of n stands when the row is mirrored about its first and last samples. i leaves
// the row by 2 at most, and a row of one or two samples may be left twice.
int mirrored(int i, int n) {
  if (i >= 0 && i < n) return i;
  if (n == 1) return 0;
  i = std::abs(i) % (2 * (n - 1));
  return i < n ? i : 2 * (n - 1) - i;
}

// The binomial of five about i in a row of n; 'sample' gives the values.
template <class Sample>
float five_taps(const Sample& sample, int i, int n) {
  return (sample(mirrored(i - 2, n)) + sample(mirrored(i + 2, n)) +
          4 * (sample(mirrored(i - 1, n)) + sample(mirrored(i + 1, n))) + 6 * sample(i)) /
         16;
}

// The taps along both axes at every 'step'-th sample.
Plane filtered(const Plane& plane, int step) {
  const int width = (plane.width + step - 1) / step, height = (plane.height + step - 1) / step;
  Plane rows(width, plane.height);
  for (int y = 0; y < plane.height; ++y)
    for (int x = 0; x < width; ++x)
      rows.at(x, y) = five_taps([&](int i) { return plane.at(i, y); }, x * step, plane.width);
  Plane result(width, height);
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x)
      result.at(x, y) = five_taps([&](int i) { return rows.at(x, i); }, y * step, plane.height);
  return result;
}

// The same taps over a row with zeros between its n samples, doubled. An even place lies on a sample, an odd
// one between two; past the last sample an even row is continued by it.
template <class Sample>
float between(const Sample& sample, int i, int n) {
  const int j = i / 2;
  if (i % 2 == 1) return (sample(j) + sample(j + 1 < n ? j + 1 : j)) / 2;
  return (sample(mirrored(j - 1, n)) + 6 * sample(j) + sample(mirrored(j + 1, n))) / 8;
}

void add(Plane& plane, const Plane& other, float factor) {
  for (std::size_t i = 0; i < plane.value.size(); ++i) plane.value[i] += factor * other.value[i];
}

}  // namespace

Plane smooth(const Plane& plane) { return filtered(plane, 1); }

Plane reduce(const Plane& plane) { return filtered(plane, 2); }

Plane expand(const Plane& plane, int width, int height) {
  Plane rows(width, plane.height);
  for (int y = 0; y < plane.height; ++y)
    for (int x = 0; x < width; ++x)
      rows.at(x, y) = between([&](int i) { return plane.at(i, y); }, x, plane.width);
  Plane result(width, height);
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x)
      result.at(x, y) = between([&](int i) { return rows.at(x, i); }, y, plane.height);
  return result;
}

std::vector<Plane> gaussian_pyramid(Plane plane, int levels) {
  std::vector<Plane> pyramid;
  pyramid.push_back(std::move(plane));
  while (static_cast<int>(pyramid.size()) < levels) pyramid.push_back(reduce(pyramid.back()));
  return pyramid;
}

std::vector<Plane> laplacian_pyramid(Plane plane, int levels) {
  std::vector<Plane> pyramid = gaussian_pyramid(std::move(plane), levels);
  for (std::size_t i = 0; i + 1 < pyramid.size(); ++i)
    add(pyramid[i], expand(pyramid[i + 1], pyramid[i].width, pyramid[i].height), -1);
  return pyramid;
}

Plane collapse(std::vector<Plane> laplacian) {
  for (std::size_t i = laplacian.size() - 1; i-- > 0;)
    add(laplacian[i], expand(laplacian[i + 1], laplacian[i].width, laplacian[i].height), 1);
  return std::move(laplacian.front());
}

}  // namespace undercap
