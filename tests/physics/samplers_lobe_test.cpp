// Where a path goes on, by the lobes of a surface, against their densities and albedos. As in
// samplers_test.cpp.
#include <fmt/format.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <glm/trigonometric.hpp>
#include <numbers>

#include "engine/surface/coat.h"
#include "tests/physics/bench_top.h"
#include "tests/physics/sampler_bench.h"
#include "tests/physics/statistics.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr std::size_t samples = SamplerBench::samples;

// Bins of equal solid angle: 64 bands of z by 32 sectors of azimuth over the whole sphere.
constexpr int bands = 64, sectors = 32;

std::size_t bin_of(const glm::vec3& d) {
  const double azimuth = std::atan2(static_cast<double>(d.y), static_cast<double>(d.x)) / (2 * pi) + 1;
  const int band = std::clamp(static_cast<int>((static_cast<double>(d.z) + 1) / 2 * bands), 0, bands - 1);
  return static_cast<std::size_t>(band * sectors + static_cast<int>(azimuth * sectors) % sectors);
}

// Integrals over each bin by 12 x 12 midpoints: of the coat's and the body's density, and of value x cosine
// over the sphere.
struct Integrals {
  std::vector<double> coat, body;
  double value = 0;
};

Integrals integrals(const SamplerBench& bench) {
  constexpr int fine = 12;
  std::vector<glm::vec4> directions;
  for (int band = 0; band < bands * fine; ++band)
    for (int sector = 0; sector < sectors * fine; ++sector) {
      const double z = 2 * (band + 0.5) / (bands * fine) - 1,
                   azimuth = 2 * pi * (sector + 0.5) / (sectors * fine), sine = std::sqrt(1 - z * z);
      directions.emplace_back(sine * std::cos(azimuth), sine * std::sin(azimuth), z, 0);
    }
  const auto found = bench.run(Wanted::densities, directions);
  Integrals result{std::vector<double>(bands * sectors), std::vector<double>(bands * sectors)};
  const double each = 4 * pi / static_cast<double>(directions.size());
  for (std::size_t i = 0; i < found.size(); ++i) {
    const std::size_t bin = bin_of(directions[i]);
    result.coat[bin] += static_cast<double>(found[i].first.x) * each;
    result.body[bin] += static_cast<double>(found[i].first.y) * each;
    result.value += static_cast<double>(found[i].second.x) * each;
  }
  return result;
}

struct LobeCase {
  const char* name;
  double view_deg, tilt_deg;  // of the viewer and of the shading normal from the real surface's normal
  float alpha, reflects, transmits, mirror = 0;
  bool wet = false;
};

// Share of light from a direction that a rough metal sends back: over facets drawn from D cos h, tan^2 h =
// alpha^2 u / (1 - u), the mean of F G (v.h) / (cos v cos h), with Schlick's F.
double metal_albedo(double at_normal, double alpha, double cosine) {
  const auto lambda = [&](double c) {
    return 0.5 * (std::sqrt(1 + alpha * alpha * (1 - c * c) / (c * c)) - 1);
  };
  constexpr int rings = 400, turns = 100;
  double sum = 0;
  for (int ring = 0; ring < rings; ++ring) {
    const double w = (ring + 0.5) / rings, tangent = alpha * std::sqrt(1 - w * w) / w,
                 hz = 1 / std::sqrt(1 + tangent * tangent);
    for (int turn = 0; turn < turns; ++turn) {
      const double cos_d =
                       tangent * hz * std::cos(pi * (turn + 0.5) / turns) * std::sqrt(1 - cosine * cosine) +
                       hz * cosine,
                   cos_l = 2 * cos_d * hz - cosine;
      if (cos_d <= 0 || cos_l <= 0) continue;
      sum += 2 * w * (at_normal + (1 - at_normal) * std::pow(1 - cos_d, 5)) * cos_d /
             (cosine * hz * (1 + lambda(cosine) + lambda(cos_l)));
    }
  }
  return sum / (rings * turns);
}

// The albedo by the laws. The coat's own, and under it the body's share. A film of water (index 1.333, alpha
// .04) sends the share k = .47459 of the body's light down again: what is the same from both sides of a
// sheet meets a solid r = R + T, (1 - k) r / (1 - k r).
double albedo_of(const LobeCase& one, double cosine) {
  const double body = static_cast<double>(one.reflects) + static_cast<double>(one.transmits),
               alpha = static_cast<double>(one.alpha);
  if (one.mirror > 0) return metal_albedo(static_cast<double>(one.mirror), alpha, cosine);
  const double by_coat = one.wet     ? coat_albedo(cosine, .04, 1.333)
                         : alpha > 0 ? coat_albedo(cosine, alpha)
                                     : 0;
  constexpr double k = .47459;
  return by_coat + (1 - by_coat) * (one.wet ? (1 - k) * body / (1 - k * body) : body);
}

// Lambertian lobes on both sides, folded lobes under a tilted shading normal, and coats from smooth to rough,
// seen steeply and flat, metals, water: the counts of each lobe in 2048 bins against its density; and the
// mean weight of a path, which is the albedo, against the integral of value x cosine (Student's t).
TEST(Samplers, NextDirection) {
  const LobeCase cases[] = {
      {"body", 50, 0, 0, .6f, .3f},
      {"tilted body", 20, 35, 0, .5f, .4f},
      {"coat .2", 60, 0, .2f, .5f, 0},
      {"flat coat .4", 80, 0, .4f, .5f, 0},
      {"rough coat .9", 40, 0, .9f, .2f, 0},
      {"tilted coat .5", 30, 25, .5f, .3f, .3f},
      {"coat alone .6", 70, 0, .6f, 0, 0},
      {"metal .16", 40, 0, .16f, 0, 0, .9f},
      {"flat metal .5", 75, 0, .5f, 0, 0, .3f},
      {"tilted metal .36", 30, 20, .36f, 0, 0, .7f},
      {"wet sheet", 35, 0, 0, .5f, .3f, 0, true},
      {"tilted wet body", 60, 15, .5f, .6f, 0, 0, true},
  };
  SamplerBench bench(plain_world(no_sky));
  Verdicts verdicts;
  std::uint32_t seed = 1;
  for (const LobeCase& one : cases) {
    const double view = glm::radians(one.view_deg), tilt = glm::radians(one.tilt_deg);
    bench.lobes = {.normal = glm::vec3(-std::sin(tilt) * .6, std::sin(tilt) * .8, std::cos(tilt)),
                   .view = glm::vec3(std::sin(view), 0, std::cos(view)),
                   .alpha = one.alpha,
                   .reflects = one.reflects,
                   .transmits = one.transmits,
                   .mirror = one.mirror,
                   .wet = one.wet};
    const Integrals expected = integrals(bench);
    // 1e-4: the table of 32 x 32 nodes; twice that below the narrow lobe of a film of water.
    const double seen = glm::dot(glm::dvec3(bench.lobes.normal), glm::dvec3(bench.lobes.view));
    EXPECT_NEAR(expected.value, albedo_of(one, seen),
                one.wet         ? 2e-4
                : one.alpha > 0 ? 1e-4
                                : 1e-5)
        << one.name;
    std::vector<double> coat(bands * sectors), body(bands * sectors);
    double ended = 0, weight = 0, weight_squared = 0;
    for (const auto& answer : bench.run(Wanted::next_direction, samples, ++seed)) {
      const float lobe = answer.first.w;
      if (lobe < 0) {
        ended += 1;
        continue;
      }
      (lobe > 0 ? coat : body)[bin_of(glm::vec3(answer.first))] += 1;
      weight += static_cast<double>(answer.second.y);
      weight_squared += std::pow(static_cast<double>(answer.second.y), 2);
    }
    // Both lobes and what was ended: everything adds up to the number of samples.
    std::vector<double> counts = coat, wanted = expected.coat;
    counts.insert(counts.end(), body.begin(), body.end());
    wanted.insert(wanted.end(), expected.body.begin(), expected.body.end());
    double all = 0;
    for (double& bin : wanted) all += bin, bin *= samples;
    counts.push_back(ended);
    wanted.push_back(std::max(1 - all, 0.0) * samples);
    EXPECT_LT(all, 1 + 2e-4) << one.name;  // the midpoints' error
    verdicts.add(pearson_chance(counts, wanted), one.name);
    const double mean = weight / samples, se = std::sqrt((weight_squared / samples - mean * mean) / samples);
    verdicts.add(student_chance((mean - expected.value) / std::max(se, 1e-6), samples - 1),
                 fmt::format("weight of {} ({} against {})", one.name, mean, expected.value));
  }
  EXPECT_TRUE(verdicts.hold());
}

// The cosine lobe by its closed form: z^2 and azimuth are even. 16 x 16 bins.
TEST(Samplers, CosineLobe) {
  const SamplerBench bench(plain_world(no_sky));
  std::vector<double> counts(256);
  for (const auto& answer : bench.run(Wanted::next_direction, samples)) {
    const glm::dvec3 d(answer.first);
    counts[static_cast<std::size_t>(std::min(static_cast<int>(d.z * d.z * 16), 15) * 16 +
                                    static_cast<int>((std::atan2(d.y, d.x) / (2 * pi) + 1) * 16) % 16)] += 1;
    ASSERT_NEAR(static_cast<double>(answer.second.x), d.z / pi, 1e-6);
  }
  Verdicts verdicts;
  verdicts.add(pearson_chance(counts, std::vector<double>(256, samples / 256.0)), "cosine");
  EXPECT_TRUE(verdicts.hold());
}

}  // namespace
}  // namespace undercap
