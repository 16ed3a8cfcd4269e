#include "engine/shape/tuft.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double golden_angle = 2.399963229728653;  // rad, pi (3 - sqrt 5): directions never repeat

// A cap as the relaxation sees it: an upright ellipsoid about the middle of its height.
struct Body {
  glm::dvec2 place{};
  double height = 0;  // of the stem
  double radius = 0, half_height = 0;
};

// Pushes overlapping caps apart, more upwards and downwards than sideways: a tuft is a stair of caps.
void relax(std::vector<Body>& bodies, const std::vector<double>& heights) {
  for (int pass = 0; pass < 160; ++pass) {
    for (std::size_t i = 0; i < bodies.size(); ++i) {
      for (std::size_t j = i + 1; j < bodies.size(); ++j) {
        Body &a = bodies[i], &b = bodies[j];
        const double reach = 1.10 * (a.radius + b.radius);
        const double clearance = 1.15 * (a.half_height + b.half_height);
        glm::dvec2 apart = b.place - a.place;
        const double rise = (b.height - a.height) / clearance;
        const double level = glm::length(apart) / reach;
        const double distance = std::sqrt(level * level + rise * rise);
        if (distance >= 1) continue;
        if (glm::length(apart) < 1e-6) apart = {1e-3 * (1 + static_cast<double>(i)), 1e-3};
        const double push = 0.25 * (1 - distance);
        const glm::dvec2 sideways = glm::normalize(apart) * (push * reach);
        a.place -= sideways;
        b.place += sideways;
        const double up = (rise >= 0 ? 1.0 : -1.0) * 0.4 * push * clearance;
        a.height = std::clamp(a.height - up, 0.62 * heights[i], 1.3 * heights[i]);
        b.height = std::clamp(b.height + up, 0.62 * heights[j], 1.3 * heights[j]);
      }
    }
  }
}

// The youth-th of the model: smaller, rounder, more inrolled, with fewer gills.
MushroomShape younger(const MushroomShape& model, double youth, std::uint32_t seed) {
  MushroomShape shape = model;
  Random random(hash_bits(seed, 0x70f7u));
  const double size = (1 - 0.62 * youth) * random.between(0.92, 1.06);
  shape.seed = seed;
  shape.youth = youth;
  shape.cap_radius *= size;
  shape.cap_height *= size * (1 + 0.75 * youth);
  shape.umbo *= size;
  shape.depression *= size * (1 - youth);
  shape.upturn *= size * (1 - youth);
  shape.inroll = shape.inroll * size + 0.10 * youth * shape.cap_radius;
  shape.flesh *= mix(1.0, size, 0.8);
  shape.margin *= mix(1.0, size, 0.5);
  shape.gill_count = std::max(8, static_cast<int>(shape.gill_count * mix(1.0, size, 0.45)));
  shape.gill_depth *= size;
  shape.stem_length *= (1 - 0.58 * youth) * random.between(0.90, 1.10);
  shape.stem_radius *= mix(1.0, size, 0.55);
  shape.bulb *= size;
  shape.spacing *= 1.3;
  return shape;
}

double youth_of(int number, int count, bool tufted, Random& random) {
  const double rank = count > 1 ? static_cast<double>(number) / (count - 1) : 0.0;
  return tufted ? std::clamp(0.92 * std::pow(rank, 0.85) + random.between(-0.08, 0.08), 0.0, 1.0)
                : (number == 0 ? 0.0 : 0.75 * random.unit() * random.unit() + 0.06);
}

}  // namespace

std::vector<Individual> arrange_cluster(const MushroomShape& model, int count, double spread) {
  Random random(hash_bits(model.seed, 0x7f7u));
  const bool tufted = spread < 1.5 * model.cap_radius;
  std::vector<Individual> cluster;
  std::vector<Body> bodies;
  std::vector<double> heights;
  for (int i = 0; i < count; ++i) {
    Individual one;
    one.shape = younger(model, youth_of(i, count, tufted, random),
                        hash_bits(model.seed, 1u + static_cast<std::uint32_t>(i)));
    // Even over the disc of bases; the largest stands near its middle.
    const double ring = std::sqrt((i + 0.3) / count);
    const double angle = i * golden_angle + model.seed + random.between(-0.4, 0.4);
    const glm::dvec2 outward(std::cos(angle), std::sin(angle));
    one.base = (spread * ring) * outward;
    const double height = one.shape.stem_length;
    // Tops lean outwards from a tuft, the outer ones more, and hardly at all in a troop.
    const double splay = tufted ? height * mix(0.10, 0.62, ring) * random.between(0.8, 1.2) : 0.10 * height;
    const glm::dvec2 own(random.between(-0.05, 0.05) * height, random.between(-0.05, 0.05) * height);
    bodies.push_back({one.base + splay * outward + own, height, one.shape.cap_radius,
                      0.5 * one.shape.cap_height + 0.5 * one.shape.flesh});
    heights.push_back(height);
    cluster.push_back(one);
  }
  relax(bodies, heights);
  for (std::size_t i = 0; i < cluster.size(); ++i) {
    MushroomShape& shape = cluster[i].shape;
    shape.tip = bodies[i].place - cluster[i].base;
    shape.stem_length = std::hypot(bodies[i].height, glm::length(shape.tip));
    // A cap leans out half as far as its stem, and keeps the model's own tilt.
    const glm::dvec2 lean = 0.5 * shape.tip / bodies[i].height;
    const glm::dvec2 own(random.between(-0.06, 0.06), random.between(-0.06, 0.06));
    shape.cap_axis = glm::normalize(model.cap_axis + glm::dvec3(lean + own, 0));
  }
  return cluster;
}

}  // namespace undercap
