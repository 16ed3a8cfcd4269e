// The kind 'moss': a cushion of upright shoots on the ground or over the top of a log.
#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double golden_angle = 2.399963229728653;  // rad, pi (3 - sqrt 5)

std::vector<KindPart> moss_parts() {
  return {part_of("leaf", "moss_shoot", true), part_of("base", "moss_base", false)};
}

// A place on the cushion with the direction its shoots grow in, mm.
struct Footing {
  glm::dvec3 place{}, up{0, 0, 1};
};

class MossBuilder {
 public:
  MossBuilder(const KeyValues& values, const Setting& setting)
      : setting_(setting),
        radius_(0.5 * number(values, "diameter_mm")),
        height_(number(values, "height_mm")),
        shoot_(number(values, "shoot_mm")),
        density_per_mm2_(0.01 * number(values, "shoots_per_cm2")),
        log_radius_(number(values, "log_radius_mm")),
        seed_(seed_of(values)),
        random_(hash_bits(seed_, 0x3055u)) {
    leaf_ = mesh_.part_index("leaf");
    base_ = mesh_.part_index("base");
  }

  Mesh build() {
    const auto shoots = static_cast<int>(std::lround(density_per_mm2_ * pi * radius_ * radius_));
    // The power is below 1/2, which would be even in plan, since the flanks of the heap are steep.
    for (int i = 0; i < std::max(shoots, 3); ++i)
      scatter_shoot(std::pow((i + 0.5) / std::max(shoots, 3), 0.40), i);
    smooth_normals(mesh_);
    mesh_.append(dome());
    scale_mesh(mesh_, 1e-3f);
    balance_tints(mesh_, moss_parts());
    return std::move(mesh_);
  }

 private:
  // The lobed outline: the cushion's reach in a direction, as a share of its radius.
  double reach(double angle) const {
    const glm::dvec3 ring(std::cos(angle) + 4.5, std::sin(angle) + 2.5, 0.5);
    return 1 + 0.34 * fbm(1.3 * ring, 3, seed_ + 1);
  }

  // What the cushion lies on, mm: the ground, or the back of a log that runs along x.
  double support(double x, double y) const {
    double level = 1e3 * ground_at(setting_, 1e-3 * x, 1e-3 * y);
    if (log_radius_ > 0) {
      const double off = std::min(std::abs(y), 0.94 * log_radius_);
      level -= log_radius_ - std::sqrt(log_radius_ * log_radius_ - off * off);
    }
    return level;
  }

  // The way round a log as its share across it, so that shoots stand as close on its flanks as on its back.
  double across_log(double way) const {
    if (log_radius_ <= 0) return way;
    constexpr double steepest = 1.2;  // rad from the top; farther down the cushion hardly spreads
    const double angle = std::abs(way) / log_radius_;
    const double across = std::sin(std::min(angle, steepest)) + 0.05 * std::max(angle - steepest, 0.0);
    return std::copysign(log_radius_ * across, way);
  }

  // q 0 in the middle to 1 at the outline.
  double surface(double q, double x, double y) const {
    const glm::dvec2 place(x, y);
    const double lumps =
        1 + 0.40 * fbm(place / (0.55 * radius_) + 7.5, 2, seed_ + 2) + 0.16 * fbm(place / 7.0, 2, seed_ + 3);
    return support(x, y) + height_ * std::sqrt(std::max(1 - q * q, 0.0)) * lumps - 2.5 * ramp(0.9, 1.0, q);
  }

  Footing footing(double q, double angle) const {
    const double r = q * radius_ * reach(angle);
    const double x = r * std::cos(angle), y = across_log(r * std::sin(angle));
    const double inner = std::min(q, 0.985);
    const auto level = [&](double at_x, double at_y) {
      return surface(
          std::clamp(inner + ((at_x - x) * std::cos(angle) + (at_y - y) * std::sin(angle)) / radius_, 0.0,
                     0.995),
          at_x, at_y);
    };
    const double step = 0.02 * radius_;
    const glm::dvec3 normal = glm::normalize(glm::dvec3(level(x - step, y) - level(x + step, y),
                                                        level(x, y - step) - level(x, y + step), 2 * step));
    return {{x, y, surface(q, x, y)}, glm::normalize(0.7 * normal + glm::dvec3(0, 0, 0.5))};
  }

  void scatter_shoot(double q, int number) {
    const double angle = number * golden_angle + random_.between(-0.2, 0.2);
    // A few stand astray outside the cushion.
    const double out = std::clamp(
        q + 0.02 * random_.spread() + (random_.chance(0.04) ? random_.between(0, 0.16) : 0.0), 0.0, 1.15);
    Footing foot = footing(std::min(out, 1.0), angle);
    foot.place.x *= std::max(out, 1.0);
    foot.place.y *= std::max(out, 1.0);
    const glm::dvec3 stray(random_.spread(), random_.spread(), 0);
    foot.up = glm::normalize(foot.up + 0.20 * stray);
    add_shoot(foot, shoot_ * random_.between(0.75, 1.3) * (out > 0.97 ? 0.7 : 1.0));
  }

  // Whorls of pointed leaves up a stem, closing to a star at the tip. Only the upper part shows.
  void add_shoot(const Footing& foot, double length) {
    const glm::dvec3 x = glm::normalize(glm::cross(foot.up, glm::dvec3(0.3, 1, 0.2)));
    const glm::dvec3 y = glm::cross(foot.up, x);
    const double turn = random_.between(0, 2 * pi), shade = random_.between(0.78, 1.2);
    const double dry =
        ramp(0.10, 0.75, fbm(glm::dvec2(foot.place) / 33.0, 3, seed_ + 4) + 0.25 * random_.unit());
    constexpr int whorls = 4, leaves = 5;
    for (int whorl = 0; whorl < whorls; ++whorl) {
      const double s = 0.34 + 0.62 * whorl / (whorls - 1);
      const double rise = mix(0.25, 1.05, std::pow(s, 1.6)) + random_.between(-0.12, 0.12);
      const glm::dvec3 root = foot.place + (s - 0.25) * length * foot.up;
      for (int leaf = 0; leaf < leaves; ++leaf) {
        const double angle = turn + 2 * pi * (leaf + 0.5 * whorl) / leaves + random_.between(-0.25, 0.25);
        const glm::dvec3 out = std::cos(angle) * x + std::sin(angle) * y;
        const glm::dvec3 side = std::cos(angle) * y - std::sin(angle) * x;
        const double reach_mm = length * random_.between(0.28, 0.40) * mix(1.0, 0.72, s);
        add_leaflet(root, reach_mm * (std::cos(rise) * out + std::sin(rise) * foot.up),
                    0.17 * reach_mm * side, 0.10 * reach_mm * foot.up, s, shade, dry);
      }
    }
  }

  // Two triangles folded along the leaf's middle.
  void add_leaflet(const glm::dvec3& root, const glm::dvec3& reach_mm, const glm::dvec3& side,
                   const glm::dvec3& lift, double s, double shade, double dry) {
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    const glm::dvec3 belly = root + 0.42 * reach_mm + lift;
    for (const glm::dvec3& place : {root, belly - side, root + reach_mm, belly + side}) {
      mesh_.position.emplace_back(place);
    }
    const glm::dvec3 low(0.040, 0.052, 0.012), high(0.205, 0.265, 0.040), straw(0.185, 0.160, 0.042);
    const auto colour = [&](double along) {
      return glm::vec3(shade * mix(mix(low, high, ramp(0.20, 1.0, along)), straw * along, 0.5 * dry));
    };
    for (const double along : {s - 0.12, s, s + 0.12, s}) mesh_.tint.push_back(colour(along));
    mesh_.triangle.push_back({first, first + 1, first + 2, leaf_});
    mesh_.triangle.push_back({first, first + 2, first + 3, leaf_});
  }

  // The dark heap of old stems beneath, closed below.
  Mesh dome() const {
    constexpr int rings = 14, columns = 56;
    Mesh heap;
    const std::uint32_t part = heap.part_index("base");
    const auto add = [&](const glm::dvec3& place) {
      heap.position.emplace_back(place);
      heap.tint.emplace_back(static_cast<float>(1 + 0.5 * fbm(glm::dvec2(place) / 6.0, 2, seed_ + 5)));
    };
    add(footing(0, 0).place);
    for (int ring = 1; ring <= rings; ++ring) {
      const double q = std::sin(0.5 * pi * ring / rings);
      for (int column = 0; column < columns; ++column) add(footing(q, 2 * pi * column / columns).place);
    }
    add({0, 0, support(0, 0) - 4});
    const auto bottom = static_cast<std::uint32_t>(heap.position.size() - 1);
    add_grid_triangles(heap, {1, rings, columns, true}, part);
    for (MeshTriangle& one : heap.triangle) std::swap(one.b, one.c);
    add_fan(heap, 0, 1, columns, part);
    add_fan(heap, bottom, bottom - columns, columns, part, true);
    smooth_normals(heap);
    return heap;
  }

  const Setting& setting_;
  double radius_, height_, shoot_, density_per_mm2_, log_radius_;
  std::uint32_t seed_;
  Random random_;
  Mesh mesh_;
  std::uint32_t leaf_ = 0, base_ = 0;
};

}  // namespace

Kind moss_kind() {
  return {
      "moss",
      "a cushion of upright moss shoots, on the ground or over the top of a log",
      {number_key("diameter_mm", "90", 8, 1000, "mean width of the cushion"),
       number_key("height_mm", "14", 0, 120, "of the heap in the middle, without the shoots"),
       number_key("shoot_mm", "7", 1.5, 40, "length of a shoot"),
       number_key("shoots_per_cm2", "22", 0.5, 60, "shoots; each has 40 triangles"),
       number_key("log_radius_mm", "0", 0, 1000,
                  "bends the cushion down over a log of this radius that runs along its x axis; 0 = none"),
       seed_key()},
      moss_parts(),
      [](const KeyValues& values, const Setting& setting) { return MossBuilder(values, setting).build(); }};
}

}  // namespace undercap
