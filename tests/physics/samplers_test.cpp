// Every sampler of the kernel against its own density, and densities against what they must add up to:
// samples counted in bins and held against the integral of the density over each bin (chi square), with what
// a sampler throws away as one bin more. So a density that is wrong, or does not integrate to one, shows.
//
// 2^18 samples a case unless said otherwise; several cases of a test are judged together by Sidak's bound of
// 0.1 %.
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

// --- lights

// A sky of chance, a third of it black: counts in quarters of its cells against density x solid angle, which
// add up to one; luminance over density is the value; and the luminance is that of the map (sky_map.h), in
// double precision.
TEST(Samplers, Sky) {
  World world = plain_world("[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n");
  const int side = 32;
  world.sky = {side, std::vector<glm::vec3>(static_cast<std::size_t>((side + 1) * (side + 1)))};
  std::mt19937 random(7);
  for (glm::vec3& node : world.sky.node)
    node = glm::vec3(random() % 3 == 0 ? 0.f : static_cast<float>(random() % 1000) / 1000.f);
  const SamplerBench bench(world);
  std::vector<double> counts(static_cast<std::size_t>(4 * side * side));
  const std::vector<double> expected = expected_of_quarters(world.sky, samples);
  double total = 0;  // four times the sum of the cells' means
  for (int row = 0; row < side; ++row)
    for (int column = 0; column < side; ++column)
      for (const int corner : {0, 1, side + 1, side + 2})
        total += static_cast<double>(
            world.sky.node[static_cast<std::size_t>(row * (side + 1) + column + corner)].x);
  double estimate = 0, exact = 0, off = 0;
  for (const auto& answer : bench.run(Wanted::sky, samples)) {
    const glm::dvec3 d(answer.first);
    counts[quarter_of(world.sky, d)] += 1;
    const double density = static_cast<double>(answer.first.w);
    // In proportion to the luminance itself; rounding moves a sample next to a black node.
    const double wanted = sky_radiance(world.sky, d).x / total * 4 * side * side / (2 * pi);
    if (std::abs(density - wanted) > 1e-3 * wanted + 1e-4) exact += 1;
    estimate +=
        static_cast<double>(answer.second.z) > 0
            ? std::abs(
                  static_cast<double>(answer.second.x) / (static_cast<double>(answer.second.z) / density) - 1)
            : 0;
    off += std::abs(sky_radiance(world.sky, d).x - static_cast<double>(answer.second.z));
  }
  EXPECT_LT(exact, 1e-3 * samples);
  EXPECT_LT(estimate / samples, 1e-3);
  EXPECT_LT(off / samples, 1e-4);  // of a luminance of 0..1: a direction in single precision, times 32 cells
  for (std::size_t cell = 0; cell < counts.size(); ++cell)
    EXPECT_TRUE(expected[cell] > 0 || counts[cell] <= 1e-4 * samples) << cell;
  Verdicts verdicts;
  verdicts.add(pearson_chance(counts, expected), "sky");
  EXPECT_TRUE(verdicts.hold());
}

// The sun's disc: even by solid angle, so the square of the chord from its centre and the angle around it
// are even. 16 x 16 bins. Its solid angle is 6.79996e-5 sr (a radius of 959.63").
TEST(Samplers, Sun) {
  const World world = plain_world(no_sky + "[sun]\non = true\nazimuth_deg = 130\nelevation_deg = 25\n");
  const SamplerBench bench(world);
  const glm::dvec3 axis(glm::vec3(world.sun_direction));
  const glm::dvec3 across = glm::normalize(glm::cross(axis, glm::dvec3(0, 0, 1))),
                   up = glm::cross(axis, across);
  const double chord = 2 * (1 - std::cos(sun_angular_radius.value()));
  std::vector<double> counts(256);
  for (const auto& answer : bench.run(Wanted::sun, samples)) {
    const glm::dvec3 off = glm::dvec3(answer.first) - axis;
    const double out = glm::dot(off, off) / chord,
                 around = std::atan2(glm::dot(off, up), glm::dot(off, across)) / (2 * pi) + 1;
    ASSERT_LT(out, 1.001);
    counts[static_cast<std::size_t>(std::min(static_cast<int>(out * 16), 15) * 16 +
                                    static_cast<int>(around * 16) % 16)] += 1;
    ASSERT_NEAR(static_cast<double>(answer.first.w) * 6.79996e-5, 1, 1e-4);
  }
  Verdicts verdicts;
  verdicts.add(pearson_chance(counts, std::vector<double>(256, samples / 256.0)), "sun");
  EXPECT_TRUE(verdicts.hold());
}

// Radius squared and angle of a lamp's disc are even, seen from anywhere: 16 x 16 bins. The mean of 1 /
// density is the solid angle, pi R^2 / d^2 x cosine far away and 2 pi (1 - d / sqrt(d^2 + R^2)) on the axis
// close by. What a ray finds on the disc has the density with which it is asked for; a ray that passes the
// rim, or comes from behind, finds nothing.
TEST(Samplers, Lamp) {
  const World world =
      plain_world(no_sky +
                  "[[source]]\nname = \"torch\"\nkind = \"torch\"\nposition_m = [0.1, 0.2, 0.5]\naim = [0.3, "
                  "-0.2, 0.1]\nflux_lm = 100\nbeam_deg = 80\ndiameter_mm = 60\n");
  SamplerBench bench(world);
  const Lamp& lamp = world.lamps[0];
  const glm::dvec3 across = glm::normalize(glm::cross(lamp.direction, glm::dvec3(0, 0, 1))),
                   up = glm::cross(lamp.direction, across);
  Verdicts verdicts;
  for (const double distance : {.02, .5}) {
    const glm::dvec3 from = lamp.position_m + distance * lamp.direction;
    bench.place = glm::vec3(from);
    std::vector<double> counts(256);
    double angle = 0;
    for (const auto& answer : bench.run(Wanted::lamp, samples)) {
      const glm::dvec3 on = glm::dvec3(bench.place) +
                            static_cast<double>(answer.second.y) * glm::dvec3(answer.first) - lamp.position_m;
      const double out = glm::dot(on, on) / (lamp.half_width_m * lamp.half_width_m),
                   around = std::atan2(glm::dot(on, up), glm::dot(on, across)) / (2 * pi) + 1;
      counts[static_cast<std::size_t>(std::min(static_cast<int>(out * 16), 15) * 16 +
                                      static_cast<int>(around * 16) % 16)] += 1;
      const auto density = static_cast<double>(answer.first.w);
      angle += 1 / density / samples;
      if (out < 0.999) {
        ASSERT_NEAR(static_cast<double>(answer.second.w) / density, 1, 1e-3);
        ASSERT_NEAR(static_cast<double>(answer.second.z / answer.second.x) / density, 1, 1e-3);
      }
    }
    verdicts.add(pearson_chance(counts, std::vector<double>(256, samples / 256.0)), "lamp");
    EXPECT_NEAR(angle / (2 * pi * (1 - distance / std::hypot(distance, lamp.half_width_m))), 1, 5e-3);
    for (const double side : {1., -1.}) {
      bench.place = glm::vec3(lamp.position_m + side * distance * lamp.direction);
      std::vector<glm::vec4> toward;
      for (int i = 0; i < 64; ++i)
        for (const double out : {.999, 1.001}) {
          const glm::dvec3 rim = std::cos(.1 * i) * across + std::sin(.1 * i) * up;
          toward.emplace_back(
              glm::normalize(lamp.position_m + out * lamp.half_width_m * rim - glm::dvec3(bench.place)), 0);
        }
      const auto met = bench.run(Wanted::lamp_met, toward);
      for (std::size_t i = 0; i < met.size(); ++i)
        EXPECT_EQ(met[i].first.x > 0, side > 0 && i % 2 == 0) << distance << " " << side << " " << i;
    }
  }
  EXPECT_TRUE(verdicts.hold());
}

// Emissive triangles: each by its emission x area, and evenly over it (four quarters of equal area). The
// density is emission / total x d^2 / cosine, and luminance over density the value.
TEST(Samplers, Glow) {
  std::string text = no_sky;
  const double sides[][3] = {{100, 200, 50}, {20, 30, 900}, {300, 10, 100}};
  for (int i = 0; i < 3; ++i)
    text += fmt::format(
        "[[prop]]\nname = \"g{0}\"\nkind = \"card\"\nat_m = [{1}, 0.0, 0.0]\nsize_mm = [{2}, {3}]\nturn_deg "
        "= "
        "{4}\nmaterial.surface = {{ reflectance = 0, emission_cd_m2 = {5} }}\n",
        i, 0.4 * i - 0.4, sides[i][0], sides[i][1], 10 * i - 10, sides[i][2]);
  const World world = plain_world(text);
  SamplerBench bench(world);
  bench.place = {0.1f, -0.8f, 0.05f};
  struct Corner {
    glm::dvec3 a, b, c, normal;
    double strength, emission;
  };
  std::vector<Corner> triangles;
  double total = 0;
  for (const WorldTriangle& t : world.triangle) {
    const glm::dvec3 a(world.position[t.a]), b(world.position[t.b]), c(world.position[t.c]);
    const glm::dvec3 normal = glm::cross(b - a, c - a);
    const auto emission = static_cast<double>(world.materials[world.parts[t.part].material].emission_cd_m2);
    triangles.push_back({a, b, c, glm::normalize(normal), emission * glm::length(normal) / 2, emission});
    total += triangles.back().strength;
  }
  std::vector<double> counts(triangles.size() * 4), expected;
  for (const Corner& t : triangles) expected.insert(expected.end(), 4, samples * t.strength / total / 4);
  for (const auto& answer : bench.run(Wanted::glow, samples)) {
    const glm::dvec3 d(answer.first);
    const auto distance = static_cast<double>(answer.second.y);
    const glm::dvec3 point = glm::dvec3(bench.place) + distance * d;
    // Coordinates on the triangle that holds the point.
    std::size_t best = triangles.size();
    double u = 0, v = 0;
    for (std::size_t i = 0; i < triangles.size(); ++i) {
      const Corner& t = triangles[i];
      const glm::dvec3 off = point - t.a, n = glm::cross(t.b - t.a, t.c - t.a);
      const double square = glm::dot(n, n), x = glm::dot(glm::cross(off, t.c - t.a), n) / square,
                   y = glm::dot(glm::cross(t.b - t.a, off), n) / square;
      if (std::abs(glm::dot(off, t.normal)) > 1e-5 || x < -1e-4 || y < -1e-4 || x + y > 1 + 1e-4) continue;
      best = i, u = x, v = y;
    }
    ASSERT_LT(best, triangles.size());
    const Corner& t = triangles[best];
    const std::size_t quarter = u > .5 ? 0 : v > .5 ? 1 : u + v < .5 ? 2 : 3;
    counts[best * 4 + quarter] += 1;
    const double density = t.emission / total * distance * distance / -glm::dot(d, t.normal);
    ASSERT_NEAR(static_cast<double>(answer.first.w) / density, 1, 1e-4);
    ASSERT_NEAR(static_cast<double>(answer.second.x) * density / t.emission, 1, 1e-4);
  }
  Verdicts verdicts;
  verdicts.add(pearson_chance(counts, expected), "glow");
  EXPECT_TRUE(verdicts.hold());
}

// --- the lens

// Points of the lens are even by area: in 20 sectors of equal area of the iris (8 triangles of its fan each)
// by 8 rings of equal area. Mean and second moments are those of the outline: a triangle (0, A, B) has the
// mean (A + B) / 3 and the second moments (AA + BB + (AB + BA) / 2) / 6.
TEST(Samplers, Lens) {
  const World world =
      world_of(bare + no_sky +
               "[camera]\nbarrel_mm = 0\nlook_at = [0.0, 0.0, 0.0]\nposition_m = [0.0, -0.5, 0.0]\nblades = "
               "5\nblade_curvature = 0.3\nblade_turn_deg = 20\nf_number = 2\n");
  const SamplerBench bench(world);
  const std::vector<glm::dvec2>& iris = world.camera.iris_m;
  const std::size_t edges = iris.size();
  ASSERT_EQ(edges, 160u);
  glm::dvec2 mean(0);
  double xx = 0, yy = 0, xy = 0;
  for (std::size_t k = 0; k < edges; ++k) {
    const glm::dvec2 a = iris[k], b = iris[(k + 1) % edges];
    const double share = 1 / static_cast<double>(edges);
    mean += share * (a + b) / 3.0;
    xx += share * (a.x * a.x + b.x * b.x + a.x * b.x) / 6;
    yy += share * (a.y * a.y + b.y * b.y + a.y * b.y) / 6;
    xy += share * (a.x * a.y + b.x * b.y + (a.x * b.y + a.y * b.x) / 2) / 6;
  }
  std::vector<double> counts(20 * 8);
  double sums[5]{}, squares[5]{};
  for (const auto& answer : bench.run(Wanted::lens, samples)) {
    const glm::dvec2 p(answer.first.x, answer.first.y);
    std::size_t k = 0;
    double out = 2;
    for (; k < edges; ++k) {
      const glm::dvec2 a = iris[k], b = iris[(k + 1) % edges];
      const double area = a.x * b.y - a.y * b.x, along_a = (p.x * b.y - p.y * b.x) / area,
                   along_b = (a.x * p.y - a.y * p.x) / area;
      if (along_a < 0 || along_b < 0) continue;
      out = std::pow(along_a + along_b, 2);
      break;
    }
    ASSERT_LT(out, 1.0001);
    counts[k / 8 * 8 + static_cast<std::size_t>(std::min(out * 8, 7.5))] += 1;
    const double moments[] = {p.x, p.y, p.x * p.x, p.y * p.y, p.x * p.y};
    for (int m = 0; m < 5; ++m) sums[m] += moments[m], squares[m] += moments[m] * moments[m];
  }
  Verdicts verdicts;
  verdicts.add(pearson_chance(counts, std::vector<double>(160, samples / 160.0)), "bins");
  const double exact[] = {mean.x, mean.y, xx, yy, xy};
  for (int m = 0; m < 5; ++m) {
    const double average = sums[m] / samples,
                 se = std::sqrt((squares[m] / samples - average * average) / samples);
    verdicts.add(student_chance((average - exact[m]) / se, samples - 1), fmt::format("moment {}", m));
  }
  EXPECT_TRUE(verdicts.hold());
}

}  // namespace
}  // namespace undercap
