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
struct Gill {
  double angle = 0;
  double from_u = 0;  // where it begins: 0 at the stem, 1 at the gills' outer end
  double depth = 1;   // of the full depth
  int tier = 0;       // 0 reaches the stem
  std::uint32_t number = 0;
};

// Depth of a gill as a share of the stated depth at u, 0 at the stem to 1 at its outer end: bellied,
// shallower at both ends, but still a third at 95 % of the way, so that the outer zone reads as gills.
double depth_share(const MushroomShape& shape, double u, const Gill& gill) {
  double depth = 0.30 + 0.70 * std::pow(std::sin(pi * mix(0.20, 0.92, u)), 0.8);
  depth *= 1 - 0.65 * ramp(0.93, 1.0, u);
  if (gill.tier > 0) return depth * gill.depth * ramp(gill.from_u - 0.02, gill.from_u + 0.16, u);
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
    case GillAttachment::arcuate:
      return 0.75 * depth + 1.1 * std::pow(std::max(1 - u / 0.45, 0.0), 1.6);
    case GillAttachment::ventricose:
      return (0.35 + 0.95 * std::pow(std::sin(pi * mix(0.06, 0.97, std::pow(u, 0.8))), 1.5)) *
             (1 - 0.65 * ramp(0.93, 1.0, u));
  }
  return depth;
}

class GillBuilder {
 public:
  GillBuilder(Mesh& mesh, const MushroomBuild& build)
      : mesh_(mesh),
        build_(build),
        part_(build.part(mesh, "gills", PatternKind::gills, static_cast<float>(build.shape.cap_radius))),
        inner_(build.gills_begin()),
        outer_(std::min(0.985, build.profile.way_at_curl())),
        pitch_(2 * pi / build.shape.gill_count) {
    // A tier closer than a pixel and a half (spacing 1 is six pixels of 0.13 mm) is not seen one by one.
    tiers_ = build.shape.gill_tiers;
    while (tiers_ > 0 && build.shape.spacing > 2.5 &&
           pitch_ * build.shape.cap_radius / (1 << tiers_) < 0.2 * build.shape.spacing)
      --tiers_;
  }

  void build() {
    Random random(hash_bits(build_.shape.seed, 0x911u));
    std::uint32_t number = 0;
    for (int full = 0; full < build_.shape.gill_count; ++full) {
      const double angle = full * pitch_;
      add(random, {angle, 0.0, 1.0, 0, number++});
      // Short gills between every neighbouring pair, the second tier at the quarters, the third at the
      // eighths.
      for (int tier = 1; tier <= build_.shape.gill_tiers; ++tier) {
        const int slots = 1 << tier;
        for (int slot = 1; slot < slots; slot += 2) {
          const double start[] = {0.30, 0.56, 0.76};
          const double from = start[tier - 1] + random.between(-0.04, 0.15);
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
    gill.depth *= random.between(0.85, 1.06);
    if (gill.tier > tiers_) return;
    const double length = (1 - gill.from_u) * build_.shape.cap_radius;
    const double spacing = build_.shape.spacing;
    const int steps = std::clamp(static_cast<int>(length / (1.3 * spacing)), 3, 20);
    const int levels = spacing > 3 ? 2 : (gill.tier == 0 && spacing < 1.6) ? 4 : 3;
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    for (int level = 0; level < levels; ++level) {
      for (int step = 0; step <= steps; ++step)
        add_position(gill, step / double(steps), level / double(levels - 1));
    }
    add_grid_triangles(mesh_, {first, levels, steps + 1, false}, part_);
  }

  void add_position(const Gill& gill, double share, double v) {
    const MushroomShape& shape = build_.shape;
    const std::uint32_t seed = hash_bits(shape.seed, 0x6111u + gill.number);
    const double u = mix(gill.from_u, 1.0, share);
    SectionPoint root = build_.profile.under(mix(inner_, outer_, u));
    if (shape.one_sheet) root.place = build_.profile.top(root.way).place;
    // Kept from turning level, so that gills under a steep margin hang downwards.
    root.normal.y = std::max(root.normal.y, 0.15);
    root.normal = glm::normalize(root.normal);
    const double edge_wear = 1 + 0.14 * gradient_noise(glm::dvec2(9 * u, 0.5), seed + 1);
    // Where a gill runs out it keeps a twentieth of its depth, so that no triangle is without area.
    const double depth = shape.gill_depth * std::max(0.05, depth_share(shape, u, gill) * edge_wear);
    // Rooted a little inside the flesh, so that no light passes between the two.
    const double rooted = shape.one_sheet ? 0.0 : -0.3 * build_.profile.thickness(root.q);
    glm::dvec2 section = root.place - mix(rooted, depth, v) * root.normal;
    section.x = std::max(section.x, 0.05);
    mesh_.position.emplace_back(build_.place(root.q, gill.angle + waver(gill, u, v, seed), section));
    const double tone = 0.92 + 0.16 * unit_from_bits(hash_bits(shape.seed, gill.number));
    mesh_.tint.emplace_back(glm::dvec3(tone * (1 - 0.10 * shape.youth)));
    mesh_.uv.emplace_back(u, v);
  }

  // Each gill bends for itself; neighbours also bend together, as the cap grew.
  double waver(const Gill& gill, double u, double v, std::uint32_t seed) const {
    const double room = pitch_ / (1 << build_.shape.gill_tiers);
    const double own = 0.34 * gradient_noise(glm::dvec2(3.1 * u, 2.5), seed + 2) +
                       0.36 * v * gradient_noise(glm::dvec2(6.3 * u, 4.5 + 1.2 * v), seed + 3);
    const glm::dvec3 place(2.6 * std::cos(gill.angle), 2.6 * std::sin(gill.angle), 1.7 * u);
    const double shared = gradient_noise(build_.warp.offset() + place, build_.shape.seed + 31);
    return room * own + 0.05 * shared * ramp(0.0, 0.5, u);
  }

  Mesh& mesh_;
  const MushroomBuild& build_;
  std::uint32_t part_;
  double inner_, outer_, pitch_;
  int tiers_ = 0;
};

}  // namespace

void add_gills(Mesh& mesh, const MushroomBuild& build) {
  Mesh sheets;
  GillBuilder(sheets, build).build();
  smooth_normals(sheets);
  mesh.append(sheets);
}

}  // namespace undercap
