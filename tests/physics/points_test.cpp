// The kernel's sets of points: as well spread as a Sobol set, and scrambled evenly.
#include <fmt/format.h>

#include <array>
#include <bit>
#include <cmath>

#include "tests/physics/bench_top.h"
#include "tests/physics/sampler_bench.h"
#include "tests/physics/statistics.h"

namespace undercap {
namespace {

using Wanted = SamplerBench::Wanted;

// A point's coordinates as 24-bit fractions: the four of the 4-D set, then two of each of two padded sets.
using Point = std::array<std::uint32_t, 8>;

Point whole_numbers(const SamplerBench::Answer& answer) {
  Point point;
  for (int i = 0; i < 4; ++i) {
    point[static_cast<std::size_t>(i)] = static_cast<std::uint32_t>(std::ldexp(answer.first[i], 24));
    point[static_cast<std::size_t>(i + 4)] = static_cast<std::uint32_t>(std::ldexp(answer.second[i], 24));
  }
  return point;
}

// Quality t of 2^m points as a digital net in base 2: the smallest t for which every box of volume 2^(t-m)
// with sides of powers of a half holds exactly 2^t points (Niederreiter 1987, "Point sets and sequences with
// small discrepancy").
int quality(const std::vector<Point>& points, const std::vector<std::size_t>& of) {
  const int m = std::countr_zero(points.size());
  for (int t = 0; t <= m; ++t) {
    bool even = true;
    // All ways to share m - t halvings among the dimensions.
    std::vector<int> halvings(of.size());
    const auto check = [&] {
      std::vector<int> count(points.size() >> t);
      for (const Point& point : points) {
        std::size_t box = 0;
        for (std::size_t d = 0; d < of.size(); ++d)
          box = box << halvings[d] | static_cast<std::size_t>(point[of[d]] >> (24 - halvings[d]));
        if (++count[box] > 1 << t) even = false;
      }
    };
    const auto share = [&](const auto& self, std::size_t d, int left) -> void {
      if (d + 1 == of.size()) {
        halvings[d] = left;
        check();
        return;
      }
      for (int here = 0; here <= left && even; ++here) {
        halvings[d] = here;
        self(self, d + 1, left - here);
      }
    };
    share(share, 0, m - t);
    if (even) return t;
  }
  return m;
}

// Sobol's points unscrambled, from the table of Joe & Kuo 2008 (new-joe-kuo-6, from memory): s, a and m of
// the second to fourth dimension; the first is van der Corput's.
Point sobol(std::uint32_t index) {
  struct Row {
    unsigned s, a;
    std::vector<std::uint32_t> m;
  };
  static const Row table[] = {{1, 0, {1}}, {2, 1, {1, 3}}, {3, 1, {1, 3, 1}}};
  Point point{};
  for (unsigned bit = 0; bit < 24; ++bit) point[0] |= (index >> bit & 1u) << (23 - bit);
  for (std::size_t d = 0; d < 3; ++d) {
    std::vector<std::uint32_t> m = table[d].m;
    const unsigned s = table[d].s;
    while (m.size() < 24) {
      const std::size_t k = m.size();
      std::uint32_t next = m[k - s] ^ m[k - s] << s;
      for (unsigned i = 1; i < s; ++i)
        if (table[d].a >> (s - 1 - i) & 1u) next ^= m[k - i] << i;
      m.push_back(next);
    }
    for (unsigned bit = 0; bit < 24; ++bit)
      if (index >> bit & 1u) point[d + 1] ^= m[bit] << (23 - bit);
  }
  return point;
}

// 256 points with numbers that begin at a multiple of 256, in eight scrambles: each coordinate is stratified
// (one point in each 256th), the first two of the 4-D set and each padded pair are (0, 8, 2)-nets, and every
// other pair and all four together are as good as Sobol's own, since Owen's scramble leaves t as it is (Owen
// 1995). Prefixes of 16 points as well.
TEST(Points, AreNets) {
  const SamplerBench bench(world_of(bare + plain_camera + no_sky));
  for (const unsigned count : {16u, 256u})
    for (unsigned scramble = 0; scramble < 8; ++scramble) {
      const unsigned from = scramble % 3 * count;
      std::vector<glm::vec4> given;
      std::vector<Point> points, plain;
      for (unsigned i = 0; i < count; ++i) {
        given.emplace_back(from + i, scramble, 0, 0);
        plain.push_back(sobol(from + i));
      }
      for (const auto& answer : bench.run(Wanted::points, given, 77)) points.push_back(whole_numbers(answer));
      for (std::size_t d = 0; d < 8; ++d) EXPECT_EQ(quality(points, {d}), 0) << d;
      for (const auto& [a, b] : {std::pair<std::size_t, std::size_t>{0, 1}, {4, 5}, {6, 7}})
        EXPECT_EQ(quality(points, {a, b}), 0) << a << b;
      for (std::size_t a = 0; a < 4; ++a)
        for (std::size_t b = a + 1; b < 4; ++b)
          EXPECT_EQ(quality(points, {a, b}), quality(plain, {a, b})) << a << b;
      EXPECT_EQ(quality(points, {0, 1, 2, 3}), quality(plain, {0, 1, 2, 3}));
      EXPECT_LE(quality(plain, {0, 1, 2, 3}), 3);  // of this table
    }
}

// One point under 2^16 scrambles is even in each of the eight coordinates (64 bins), and in pairs of
// coordinates (16 x 16): those of one set and those of different sets, which are to be independent. Two
// points whose numbers differ by one lie in different halves and are otherwise independent (nested uniform
// scramble): 16 x 16 bins, half of them empty.
TEST(Points, ScramblesAreEven) {
  const SamplerBench bench(world_of(bare + plain_camera + no_sky));
  constexpr std::size_t scrambles = 1 << 16;
  Verdicts verdicts;
  std::vector<std::vector<Point>> points;
  for (const unsigned index : {0u, 1u, 22u, 23u}) {
    std::vector<glm::vec4> given;
    for (std::size_t s = 0; s < scrambles; ++s) given.emplace_back(index, s, 0, 0);
    points.emplace_back();
    for (const auto& answer : bench.run(Wanted::points, given, 5))
      points.back().push_back(whole_numbers(answer));
  }
  for (const std::vector<Point>& one : points) {
    for (std::size_t a = 0; a < 8; ++a) {
      std::vector<double> counts(64);
      for (const Point& p : one) counts[p[a] >> 18] += 1;
      verdicts.add(pearson_chance(counts, std::vector<double>(64, scrambles / 64.0)),
                   fmt::format("coordinate {}", a));
      for (std::size_t b = a + 1; b < 8; ++b) {
        std::vector<double> pair(256);
        for (const Point& p : one) pair[p[a] >> 20 << 4 | p[b] >> 20] += 1;
        verdicts.add(pearson_chance(pair, std::vector<double>(256, scrambles / 256.0)),
                     fmt::format("coordinates {} and {}", a, b));
      }
    }
  }
  // Numbers 0, 1 and 22, 23 of the 4-D set.
  for (const std::size_t first : {0u, 2u})
    for (std::size_t a = 0; a < 4; ++a) {
      std::vector<double> counts(256), expected(256);
      for (std::size_t s = 0; s < scrambles; ++s)
        counts[points[first][s][a] >> 20 << 4 | points[first + 1][s][a] >> 20] += 1;
      for (std::size_t cell = 0; cell < 256; ++cell) {
        const bool apart = (cell >> 7 & 1u) != (cell >> 3 & 1u);
        expected[cell] = apart ? scrambles / 128.0 : 0;
        EXPECT_TRUE(apart || counts[cell] <= 0) << a << " " << cell;
      }
      verdicts.add(pearson_chance(counts, expected), fmt::format("two points, coordinate {}", a));
    }
  EXPECT_TRUE(verdicts.hold());
}

}  // namespace
}  // namespace undercap
