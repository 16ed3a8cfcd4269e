// Noise for made-up samples.
#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>

namespace undercap {

// Normal numbers from a written-out generator: splitmix64 (Steele, Lea, Flood 2014) and Box & Muller 1958.
class Normal {
 public:
  explicit Normal(std::uint64_t seed) : state_(seed) {}
  double operator()() {
    return std::sqrt(-2 * std::log(1 - uniform())) * std::cos(2 * std::numbers::pi * uniform());
  }

 private:
  double uniform() {
    std::uint64_t z = state_ += 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return static_cast<double>((z ^ (z >> 31)) >> 11) * 0x1p-53;
  }
  std::uint64_t state_;
};

}  // namespace undercap
