// Deterministic noise for the procedural kit: integer hashes, gradient noise, fbm, cells, and a small random
// sequence.
//
// Everything starts from 32-bit integer hashing and plain arithmetic, so a seed gives the same shape on every
// machine. Coordinates are in cells: divide a length by the wanted wavelength before the call.
#pragma once

#include <cstdint>
#include <glm/vec2.hpp>
#include <glm/vec3.hpp>

namespace undercap {

std::uint32_t hash_bits(std::uint32_t x);
std::uint32_t hash_bits(std::uint32_t x, std::uint32_t y);
// 0 up to, not including, 1.
double unit_from_bits(std::uint32_t bits);

// Smooth, -1..1, zero at whole coordinates; standard deviation about 0.27.
double gradient_noise(const glm::dvec3& place, std::uint32_t seed);
double gradient_noise(const glm::dvec2& place, std::uint32_t seed);
// A sum of octaves, each of half the size and half the wavelength: within about -1..1 (never beyond -2..2).
double fbm(const glm::dvec3& place, int octaves, std::uint32_t seed);
double fbm(const glm::dvec2& place, int octaves, std::uint32_t seed);
// Sharp crests: 0 in the hollows, 1 on the ridges.
double ridged(const glm::dvec2& place, int octaves, std::uint32_t seed);

// Distances to the two nearest of one random point a cell, and a hash of the nearest. With a period the
// pattern repeats in x after that many cells, as round a trunk.
struct Cell {
  double nearest = 0, second = 0;
  glm::dvec2 from_nearest{};  // from the nearest point to the place asked for
  std::uint32_t id = 0;
};
Cell cells(const glm::dvec2& place, std::uint32_t seed, int period = 0);

// 0 below 'from', 1 above 'to', smooth between; 'from' above 'to' falls.
double ramp(double from, double to, double x);
double mix(double a, double b, double share);
glm::dvec3 mix(const glm::dvec3& a, const glm::dvec3& b, double share);

// A sequence of random numbers from a seed.
class Random {
 public:
  explicit Random(std::uint32_t seed) : seed_(hash_bits(seed, 0x6b79u)) {}
  std::uint32_t bits() { return hash_bits(seed_, counter_++); }
  double unit() { return unit_from_bits(bits()); }
  double between(double low, double high) { return low + (high - low) * unit(); }
  bool chance(double share) { return unit() < share; }
  // Near normal with mean 0, standard deviation 1, and no value beyond +-3.5 (a sum of four uniform numbers).
  double spread();

 private:
  std::uint32_t seed_;
  std::uint32_t counter_ = 0;
};

}  // namespace undercap
