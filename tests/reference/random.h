// Plain random numbers: PCG32 (O'Neill 2014, "PCG: A Family of Simple Fast Space-Efficient Statistically Good
// Algorithms for Random Number Generation", XSH RR 64/32).
#pragma once

#include <cstdint>

namespace undercap::reference {

class Random {
 public:
  // A stream for each place of each seed.
  Random(std::uint64_t seed, std::uint64_t place) : increment_(2 * mixed(seed ^ mixed(place)) + 1) {
    next();
    state_ += mixed(place + mixed(seed));
    next();
  }
  // Even in [0, 1).
  double operator()() { return next() * 0x1p-32; }

 private:
  // The finaliser of splitmix64 (Steele, Lea & Flood 2014): neighbouring seeds and places become far apart.
  static std::uint64_t mixed(std::uint64_t x) {
    x += 0x9e3779b97f4a7c15u;
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9u;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebu;
    return x ^ (x >> 31);
  }
  std::uint32_t next() {
    const std::uint64_t old = state_;
    state_ = old * 6364136223846793005u + increment_;
    const auto word = static_cast<std::uint32_t>(((old >> 18) ^ old) >> 27);
    const auto turn = static_cast<std::uint32_t>(old >> 59);
    return (word >> turn) | (word << ((32 - turn) & 31));
  }
  std::uint64_t state_ = 0, increment_;
};

}  // namespace undercap::reference
