#include "engine/shape/noise.h"

#include <algorithm>
#include <cmath>

namespace undercap {
namespace {

// The whole number at or below x; a conversion and a comparison, which are much quicker than std::floor
// without SSE 4.
double whole_below(double x) {
  const auto whole = static_cast<double>(static_cast<std::int64_t>(x));
  return whole > x ? whole - 1 : whole;
}

std::uint32_t whole_bits(double whole) {
  return static_cast<std::uint32_t>(static_cast<std::int64_t>(whole));
}

std::uint32_t corner_bits(std::uint32_t x, std::uint32_t y, std::uint32_t z, std::uint32_t seed) {
  return hash_bits((x * 0x8da6b343u) ^ (y * 0xd8163841u) ^ (z * 0xcb1ab31fu) ^ (seed * 0x9e3779b9u));
}

// Quintic fade: first and second derivatives vanish at 0 and 1 (Perlin 2002, "Improving noise").
double fade(double t) { return t * t * t * (t * (t * 6 - 15) + 10); }

// The twelve directions to a cube's edges, four of them twice (Perlin 2002). A table, since branches on
// random bits are slow.
constexpr double edge_directions[16][3] = {
    {1, 1, 0}, {-1, 1, 0}, {1, -1, 0}, {-1, -1, 0}, {1, 0, 1}, {-1, 0, 1}, {1, 0, -1}, {-1, 0, -1},
    {0, 1, 1}, {0, -1, 1}, {0, 1, -1}, {0, -1, -1}, {1, 1, 0}, {-1, 1, 0}, {0, -1, 1}, {0, -1, -1}};

double edge_gradient(std::uint32_t bits, double x, double y, double z) {
  const double* direction = edge_directions[bits >> 28];
  return direction[0] * x + direction[1] * y + direction[2] * z;
}

// Eight directions in the plane; diagonals are as long as the axes.
constexpr double diagonal = 0.70710678118654752;
constexpr double plane_directions[8][2] = {{1, 0},
                                           {-1, 0},
                                           {0, 1},
                                           {0, -1},
                                           {diagonal, diagonal},
                                           {diagonal, -diagonal},
                                           {-diagonal, diagonal},
                                           {-diagonal, -diagonal}};

double plane_gradient(std::uint32_t bits, double x, double y) {
  const double* direction = plane_directions[bits >> 29];
  return direction[0] * x + direction[1] * y;
}

template <class Place>
double octave_sum(const Place& place, int octaves, std::uint32_t seed) {
  double sum = 0, size = 1, frequency = 1;
  for (int octave = 0; octave < octaves; ++octave) {
    sum += size * gradient_noise(place * frequency, seed + static_cast<std::uint32_t>(octave) * 101u);
    size *= 0.5;
    frequency *= 2.03;  // not 2, so that the zeros of the octaves do not coincide
  }
  return sum;
}

}  // namespace

// Finaliser with full avalanche ("lowbias32", Wellons 2018, from memory).
std::uint32_t hash_bits(std::uint32_t x) {
  x ^= x >> 16;
  x *= 0x7feb352du;
  x ^= x >> 15;
  x *= 0x846ca68bu;
  x ^= x >> 16;
  return x;
}

std::uint32_t hash_bits(std::uint32_t x, std::uint32_t y) {
  return hash_bits(hash_bits(x) ^ (y * 0x9e3779b9u));
}

double unit_from_bits(std::uint32_t bits) { return bits * (1.0 / 4294967296.0); }

double gradient_noise(const glm::dvec3& place, std::uint32_t seed) {
  const glm::dvec3 cell(whole_below(place.x), whole_below(place.y), whole_below(place.z));
  const glm::dvec3 at = place - cell;
  const std::uint32_t x = whole_bits(cell.x), y = whole_bits(cell.y), z = whole_bits(cell.z);
  const double u = fade(at.x), v = fade(at.y), w = fade(at.z);
  const auto corner = [&](std::uint32_t i, std::uint32_t j, std::uint32_t k) {
    return edge_gradient(corner_bits(x + i, y + j, z + k, seed), at.x - i, at.y - j, at.z - k);
  };
  const double low =
      mix(mix(corner(0, 0, 0), corner(1, 0, 0), u), mix(corner(0, 1, 0), corner(1, 1, 0), u), v);
  const double high =
      mix(mix(corner(0, 0, 1), corner(1, 0, 1), u), mix(corner(0, 1, 1), corner(1, 1, 1), u), v);
  return std::clamp(mix(low, high, w), -1.0, 1.0);
}

double gradient_noise(const glm::dvec2& place, std::uint32_t seed) {
  const glm::dvec2 cell(whole_below(place.x), whole_below(place.y));
  const glm::dvec2 at = place - cell;
  const std::uint32_t x = whole_bits(cell.x), y = whole_bits(cell.y);
  const double u = fade(at.x), v = fade(at.y);
  const auto corner = [&](std::uint32_t i, std::uint32_t j) {
    return plane_gradient(corner_bits(x + i, y + j, 0x51u, seed), at.x - i, at.y - j);
  };
  // The largest possible value is about 0.71; the factor brings the range to -1..1.
  return std::clamp(1.41 * mix(mix(corner(0, 0), corner(1, 0), u), mix(corner(0, 1), corner(1, 1), u), v),
                    -1.0, 1.0);
}

double fbm(const glm::dvec3& place, int octaves, std::uint32_t seed) {
  return octave_sum(place, octaves, seed);
}
double fbm(const glm::dvec2& place, int octaves, std::uint32_t seed) {
  return octave_sum(place, octaves, seed);
}

double ridged(const glm::dvec2& place, int octaves, std::uint32_t seed) {
  double sum = 0, total = 0, size = 1, frequency = 1;
  for (int octave = 0; octave < octaves; ++octave) {
    const double noise = gradient_noise(place * frequency, seed + static_cast<std::uint32_t>(octave) * 131u);
    const double crest = 1 - std::min(1.0, 1.8 * std::abs(noise));
    sum += size * crest * crest;
    total += size;
    size *= 0.5;
    frequency *= 2.03;
  }
  return total > 0 ? sum / total : 0;
}

Cell cells(const glm::dvec2& place, std::uint32_t seed, int period) {
  const glm::dvec2 cell(whole_below(place.x), whole_below(place.y));
  double nearest = 1e9, second = 1e9;
  Cell found;
  for (int j = -1; j <= 1; ++j) {
    for (int i = -1; i <= 1; ++i) {
      const glm::dvec2 neighbour = cell + glm::dvec2(i, j);
      const double x = period > 0 ? neighbour.x - period * whole_below(neighbour.x / period) : neighbour.x;
      const std::uint32_t bits = corner_bits(whole_bits(x), whole_bits(neighbour.y), 0x77u, seed);
      const glm::dvec2 offset =
          neighbour + glm::dvec2(unit_from_bits(bits), unit_from_bits(hash_bits(bits))) - place;
      const double distance = offset.x * offset.x + offset.y * offset.y;
      if (distance < nearest) {
        second = nearest;
        nearest = distance;
        found.from_nearest = -offset;
        found.id = hash_bits(bits, 0x3du);
      } else {
        second = std::min(second, distance);
      }
    }
  }
  found.nearest = std::sqrt(nearest);
  found.second = std::sqrt(second);
  return found;
}

double ramp(double from, double to, double x) {
  const double t = std::clamp((x - from) / (to - from), 0.0, 1.0);
  return t * t * (3 - 2 * t);
}

double mix(double a, double b, double share) { return a + (b - a) * share; }
glm::dvec3 mix(const glm::dvec3& a, const glm::dvec3& b, double share) { return a + (b - a) * share; }

double Random::spread() {
  // The variance of a sum of four uniform numbers is 4/12.
  const double sum = unit() + unit() + unit() + unit() - 2;
  return sum * 1.7320508075688772;
}

}  // namespace undercap
