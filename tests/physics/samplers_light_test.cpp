// The samplers of the wood's light: rectangles, beams of several planes, light from leaves, the sun through
// gaps. As in samplers_test.cpp.
#include <fmt/format.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>
#include <random>

#include "engine/world/sky_map.h"
#include "tests/physics/bench_top.h"
#include "tests/physics/sampler_bench.h"
#include "tests/physics/statistics.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr std::size_t samples = SamplerBench::samples;

World torch_world() {
  return world_of(bare + plain_camera + no_sky +
                  "[[source]]\nname = \"torch\"\nkind = \"torch\"\nposition_m = [0.1, 0.2, 0.5]\naim = "
                  "[0.3, -0.2, 0.1]\nintensity_cd = 1\nbeam_deg = 120\ndiameter_mm = 60\n");
}

// A rectangle of 80 x 30 mm, turned about its axis and seen from the side: both coordinates on it are even
// (16 x 16 bins). From a place 50 mm before its middle the mean of 1 / density is its solid angle, 4 asin(a b
// / sqrt((a a + d d) (b b + d d))). A ray that passes an edge, or comes from behind, finds nothing.
TEST(Samplers, Rectangle) {
  World world = torch_world();
  Lamp& lamp = world.lamps[0];
  lamp.rectangle = true;
  lamp.half_width_m = .04;
  lamp.half_height_m = .015;
  lamp.right = glm::normalize(lamp.right + .7 * glm::cross(lamp.right, lamp.direction));
  const glm::dvec3 up = glm::cross(lamp.right, lamp.direction);
  SamplerBench bench(world);
  Verdicts verdicts;
  for (const bool aside : {false, true}) {
    const double distance = .05;
    bench.place = glm::vec3(lamp.position_m + distance * lamp.direction + (aside ? .1 : 0) * lamp.right);
    std::vector<double> counts(256);
    double angle = 0;
    for (const auto& answer : bench.run(Wanted::lamp, samples)) {
      const glm::dvec3 off = glm::dvec3(bench.place) +
                             static_cast<double>(answer.second.y) * glm::dvec3(answer.first) -
                             lamp.position_m;
      const double x = glm::dot(off, lamp.right) / lamp.half_width_m,
                   y = glm::dot(off, up) / lamp.half_height_m;
      ASSERT_LT(std::max(std::abs(x), std::abs(y)), 1.0001);
      counts[static_cast<std::size_t>(std::clamp(static_cast<int>(8 * x + 8), 0, 15) * 16 +
                                      std::clamp(static_cast<int>(8 * y + 8), 0, 15))] += 1;
      const auto density = static_cast<double>(answer.first.w);
      angle += 1 / density / samples;
      if (std::max(std::abs(x), std::abs(y)) > .999) continue;
      ASSERT_NEAR(static_cast<double>(answer.second.w) / density, 1, 1e-3);
      ASSERT_NEAR(static_cast<double>(answer.second.z / answer.second.x) / density, 1, 1e-3);
    }
    verdicts.add(pearson_chance(counts, std::vector<double>(256, samples / 256.0)), "rectangle");
    const double a = lamp.half_width_m, b = lamp.half_height_m;
    if (!aside) {
      EXPECT_NEAR(
          angle / (4 * std::asin(a * b /
                                 std::sqrt((a * a + distance * distance) * (b * b + distance * distance)))),
          1, 5e-3);
    }
    for (const double side : {1., -1.}) {
      bench.place = glm::vec3(lamp.position_m + side * distance * lamp.direction);
      std::vector<glm::vec4> toward;
      for (int i = -9; i <= 9; ++i)
        for (const double out : {.999, 1.001}) {
          for (const glm::dvec2 on : {glm::dvec2(out, .1 * i), glm::dvec2(-.1 * i, -out)}) {
            const glm::dvec3 point =
                lamp.position_m + on.x * lamp.half_width_m * lamp.right + on.y * lamp.half_height_m * up;
            toward.emplace_back(glm::normalize(point - glm::dvec3(bench.place)), 0);
          }
        }
      const auto met = bench.run(Wanted::lamp_met, toward);
      for (std::size_t i = 0; i < met.size(); ++i)
        EXPECT_EQ(met[i].first.x > 0, side > 0 && i % 4 < 2) << side << " " << i;
    }
  }
  EXPECT_TRUE(verdicts.hold());
}

// A beam of three planes of chance, each a smooth curve: what a point of the lamp sends toward any place is
// the table's, linear between its nodes (theta = 90 degrees x (i / 511)^2) and between its planes (at 0, 120
// and 240 degrees from 'right' toward 'up'), in double precision. By luminance, I / (area cosine), and by the
// value of a sample, I / distance^2. 1e-4 of the peak: directions in single precision.
TEST(Samplers, BeamOfPlanes) {
  World world = torch_world();
  Lamp& lamp = world.lamps[0];
  lamp.half_width_m = lamp.half_height_m = .002;
  lamp.planes = 3;
  lamp.beam.clear();
  for (int plane = 0; plane < 3; ++plane)
    for (int i = 0; i < beam_table_nodes; ++i) {
      const double x = static_cast<double>(i) / (beam_table_nodes - 1);
      lamp.beam.push_back(static_cast<float>((.5 + .2 * plane) * std::exp(-(1 + 3 * plane) * x * x) +
                                             .2 * std::sin(9 * x + plane)));
    }
  const glm::dvec3 up = glm::cross(lamp.right, lamp.direction);
  const auto exact = [&](const glm::dvec3& away) {
    const double theta = std::acos(std::clamp(glm::dot(away, lamp.direction), -1., 1.));
    if (theta >= pi / 2) return 0.;
    const double x = 511 * std::sqrt(theta / (pi / 2));
    double turn = std::atan2(glm::dot(away, up), glm::dot(away, lamp.right)) / (2 * pi / 3);
    if (turn < 0) turn += 3;
    const int i = std::min(static_cast<int>(x), 510), plane = std::min(static_cast<int>(turn), 2);
    const auto node = [&](int of, int at) {
      return static_cast<double>(lamp.beam[static_cast<std::size_t>(of % 3 * beam_table_nodes + at)]);
    };
    const auto along = [&](int of) { return node(of, i) + (x - i) * (node(of, i + 1) - node(of, i)); };
    return along(plane) + (turn - plane) * (along(plane + 1) - along(plane));
  };
  SamplerBench bench(world);
  std::mt19937 random(3);
  std::uniform_real_distribution<double> even(0, 1);
  for (int i = 0; i < 200; ++i) {
    // Places all around, on its front.
    const double theta = 1.5 * std::sqrt(even(random)), turn = 2 * pi * even(random);
    const glm::dvec3 away = std::cos(theta) * lamp.direction +
                            std::sin(theta) * (std::cos(turn) * lamp.right + std::sin(turn) * up);
    bench.place = glm::vec3(lamp.position_m + .4 * away);
    const glm::dvec3 back = lamp.position_m - glm::dvec3(bench.place);
    const auto met = bench.run(Wanted::lamp_met, std::vector<glm::vec4>{{glm::normalize(back), 0}}).front();
    const double area = pi * .002 * .002, cosine = glm::dot(away, lamp.direction);
    EXPECT_NEAR(static_cast<double>(met.first.y) * area * cosine, exact(-glm::normalize(back)), 1e-4)
        << theta << " " << turn;
    if (i % 20 != 0) continue;
    for (const auto& answer : bench.run(Wanted::lamp, 64)) {
      const auto distance = static_cast<double>(answer.second.y);
      ASSERT_NEAR(static_cast<double>(answer.second.x) * distance * distance,
                  exact(-glm::dvec3(answer.first)), 1e-4);
    }
  }
}

// The second map, of light from leaves: its own chances, beside a sky of other ones. As Samplers.Sky.
TEST(Samplers, Leaves) {
  World world = world_of(bare + plain_camera +
                         "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n[sun]\non = true\nazimuth_deg = "
                         "130\nelevation_deg = 25\n");
  world.groups.push_back({.kind = LightGroup::Kind::canopy, .name = "canopy"});
  const int side = 16;
  const auto chance_map = [&](unsigned seed) {
    SkyMap map{side, std::vector<glm::vec3>(static_cast<std::size_t>((side + 1) * (side + 1)))};
    std::mt19937 random(seed);
    for (glm::vec3& node : map.node) node = glm::vec3(static_cast<float>(random() % 1000) / 1000.f);
    return map;
  };
  world.sky = chance_map(1);
  world.leaves = chance_map(2);
  SamplerBench bench(world);
  bench.map = 1;
  std::vector<double> counts(static_cast<std::size_t>(4 * side * side));
  double off = 0, mean = 0;
  for (const auto& answer : bench.run(Wanted::sky, samples)) {
    const glm::dvec3 d(answer.first);
    counts[quarter_of(world.leaves, d)] += 1;
    off += std::abs(sky_radiance(world.leaves, d).x - static_cast<double>(answer.second.z)) / samples;
    mean += static_cast<double>(answer.second.x) * d.z / samples;
  }
  EXPECT_LT(off, 1e-4);
  // The mean of value x cosine is the illuminance of level ground: by the samples and by quadrature.
  EXPECT_NEAR(mean / sky_illuminance(world.leaves).x, 1, 5e-3);
  Verdicts verdicts;
  verdicts.add(pearson_chance(counts, expected_of_quarters(world.leaves, samples)), "leaves");
  EXPECT_TRUE(verdicts.hold());
}

// The sun through gaps: from any place the disc is drawn evenly, gaps or not, and a draw counts where the ray
// crosses an open cell of the layer, which repeats in both directions; above the layer all of it does. Asked
// at places far off the layer's corner. Rays within 1e-4 of a cell of an edge may be taken for either side.
TEST(Samplers, SunThroughGaps) {
  World world =
      world_of(bare + plain_camera + no_sky + "[sun]\non = true\nazimuth_deg = 130\nelevation_deg = 25\n");
  GapLayer& gaps = world.gaps;
  gaps = {.height_m = 3, .corner_m = {.31, -.47}, .cell_m = .02, .side = 37, .open = {}};
  std::mt19937 random(5);
  for (int i = 0; i < 37 * 37; ++i) gaps.open.push_back(random() % 3 == 0);
  SamplerBench bench(world);
  std::size_t open = 0, near_edge = 0, asked = 0;
  for (const glm::vec3 place :
       {glm::vec3(0, 0, 0), glm::vec3(-7.3f, 4.1f, .2f), glm::vec3(2.2f, -9.f, 2.5f)}) {
    bench.place = place;
    for (const auto& answer : bench.run(Wanted::sun, 1 << 14)) {
      const glm::dvec3 d(answer.first), from(place);
      const glm::dvec2 at =
          (glm::dvec2(from) + glm::dvec2(d) * ((gaps.height_m - from.z) / d.z) - gaps.corner_m) / gaps.cell_m;
      const glm::dvec2 within = at - glm::floor(at);
      ++asked;
      if (std::min({within.x, within.y, 1 - within.x, 1 - within.y}) < 1e-3) {
        ++near_edge;
        continue;
      }
      const auto wrapped = [](double x) { return static_cast<int>(x - 37 * std::floor(x / 37)); };
      const bool gap = gaps.open[static_cast<std::size_t>(wrapped(at.y) * 37 + wrapped(at.x))] != 0;
      open += gap;
      ASSERT_EQ(answer.second.x, gap ? 1.f : 0.f) << at.x << " " << at.y;
    }
  }
  EXPECT_GT(open, asked / 10);
  EXPECT_LT(open, asked / 2);
  EXPECT_LT(near_edge, asked / 50);
  bench.place = {0, 0, 3.1f};
  for (const auto& answer : bench.run(Wanted::sun, 1024)) ASSERT_EQ(answer.second.x, 1.f);
}

}  // namespace
}  // namespace undercap
