#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/mesh_build.h"
#include "engine/shape/mushroom.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double outer_end = 0.985;

struct Gill {
  double angle = 0;
  double from = 0;   // share of the way from centre to margin where it begins
  double depth = 1;  // of the full depth
  int tier = 0;      // 0 reaches the stem
  std::uint32_t number = 0;
};

// Depth of a gill as a share of the stated depth, 'way' from centre to margin: bellied, shallower at both
// ends, but still a third at 95 % of the way, so that the outer zone reads as gills.
double depth_share(const MushroomShape& shape, double way, double inner, const Gill& gill) {
  const double u = std::clamp((way - inner) / (outer_end - inner), 0.0, 1.0);
  double depth = 0.30 + 0.70 * std::pow(std::sin(pi * mix(0.20, 0.92, u)), 0.8);
  depth *= 1 - 0.65 * ramp(0.94, 1.0, way);
  if (gill.tier > 0) return depth * gill.depth * ramp(gill.from - 0.02, gill.from + 0.16, way);
  switch (shape.attachment) {
    case GillAttachment::free:
      return depth * ramp(0.0, 0.12, u);
    case GillAttachment::adnexed:
      return depth * mix(0.4, 1.0, ramp(0.0, 0.16, u));
    case GillAttachment::adnate:
      return depth;
    case GillAttachment::sinuate:
      return depth * (1 - 0.6 * std::exp(-std::pow((u - 0.07) / 0.06, 2.0)));
    case GillAttachment::decurrent:
      return depth + 1.6 * std::pow(std::max(1 - u / 0.22, 0.0), 2.0);
  }
  return depth;
}

class GillBuilder {
 public:
  GillBuilder(Mesh& mesh, const MushroomBuild& build)
      : mesh_(mesh), build_(build), part_(mesh.part_index("gills", build.individual)) {
    const MushroomShape& shape = build.shape;
    const double gap =
        shape.attachment == GillAttachment::free ? 0.06 * shape.cap_radius : -0.35 * shape.stem_radius;
    inner_ = std::min(build.profile.way_at_radius(std::max(shape.stem_radius + gap, 0.1)), 0.6);
    pitch_ = 2 * pi / shape.gill_count;
  }

  void build() {
    Random random(hash_bits(build_.shape.seed, 0x911u));
    std::uint32_t number = 0;
    for (int full = 0; full < build_.shape.gill_count; ++full) {
      const double angle = full * pitch_;
      add(random, {angle, inner_, 1.0, 0, number++});
      // Short gills between every neighbouring pair, the second tier at the quarters, the third at the
      // eighths.
      for (int tier = 1; tier <= build_.shape.gill_tiers; ++tier) {
        const int slots = 1 << tier;
        for (int slot = 1; slot < slots; slot += 2) {
          const double start[] = {0.42, 0.64, 0.80};
          const double from = start[tier - 1] + random.between(0, 0.15);
          add(random, {angle + pitch_ * slot / slots, from, 1 - 0.14 * tier, tier, number++});
        }
      }
    }
  }

 private:
  void add(Random& random, Gill gill) {
    // Irregular by a sixth of the distance to the neighbour, whichever tier it is of.
    const double room = pitch_ / (1 << build_.shape.gill_tiers);
    gill.angle += room * random.between(-0.28, 0.28);
    gill.depth *= random.between(0.9, 1.06);
    gill.from = std::max(gill.from, inner_);
    const double length = (outer_end - gill.from) * build_.shape.cap_radius;
    const int steps = std::clamp(static_cast<int>(length / (0.9 * build_.shape.spacing)), 5, 26);
    const int levels = gill.tier == 0 ? 6 : 5;
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    for (int level = 0; level < levels; ++level) {
      for (int step = 0; step <= steps; ++step)
        add_position(gill, step / double(steps), level / double(levels - 1));
    }
    add_grid_triangles(mesh_, {first, levels, steps + 1, false}, part_);
  }

  void add_position(const Gill& gill, double u, double v) {
    const MushroomShape& shape = build_.shape;
    const std::uint32_t seed = hash_bits(shape.seed, 0x6111u + gill.number);
    const double way = mix(gill.from, outer_end, u);
    const double q = build_.profile.q_at_way(way);
    SectionPoint root = build_.profile.under(q);
    if (shape.one_sheet) root.place = build_.profile.top(q).place;
    const double edge_wear = 1 + 0.10 * gradient_noise(glm::dvec2(9 * q, 0.5), seed + 1);
    // Where a gill runs out it keeps a twentieth of its depth, so that no triangle is without area.
    const double depth = shape.gill_depth * std::max(0.05, depth_share(shape, way, inner_, gill) * edge_wear);
    // Rooted a little inside the flesh, so that no light passes between the two.
    const double rooted = shape.one_sheet ? 0.0 : -0.3 * build_.profile.thickness(q);
    glm::dvec2 section = root.place - mix(rooted, depth, v) * root.normal;
    section.x = std::max(section.x, 0.05);
    const double room = pitch_ / (1 << shape.gill_tiers);
    const double waver = room * (0.34 * gradient_noise(glm::dvec2(3.1 * q, 2.5), seed + 2) +
                                 0.32 * v * gradient_noise(glm::dvec2(6.3 * q, 4.5 + 1.2 * v), seed + 3));
    const double angle = gill.angle + waver;
    mesh_.position.emplace_back(build_.place(q, angle, section));
    mesh_.tint.emplace_back(colour(gill, q, v, angle));
  }

  glm::dvec3 colour(const Gill& gill, double q, double v, double angle) const {
    const MushroomShape& shape = build_.shape;
    const glm::dvec3 place =
        build_.warp.offset() + glm::dvec3(7 * q * std::cos(angle), 7 * q * std::sin(angle), v);
    const double patch = fbm(place, 2, shape.seed + 31);
    const double rust = ramp(0.34, 0.6, fbm(2.3 * place, 2, shape.seed + 32)) * ramp(0.2, 0.9, v);
    const double each = 0.94 + 0.12 * unit_from_bits(hash_bits(shape.seed, gill.number));
    glm::dvec3 made =
        glm::dvec3(0.56, 0.46, 0.31) * mix(0.84, 1.06, ramp(0.0, 0.9, v)) * each * (1 + 0.10 * patch);
    made *= 1 + 0.06 * ramp(0.85, 1.0, v);
    made = mix(made, glm::dvec3(0.34, 0.19, 0.09), 0.45 * rust);
    return made * (1 - 0.10 * shape.youth);
  }

  Mesh& mesh_;
  const MushroomBuild& build_;
  std::uint32_t part_;
  double inner_ = 0, pitch_ = 0;
};

}  // namespace

void add_gills(Mesh& mesh, const MushroomBuild& build) {
  Mesh sheets;
  GillBuilder(sheets, build).build();
  smooth_normals(sheets);
  mesh.append(sheets);
}

}  // namespace undercap
