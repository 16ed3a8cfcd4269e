// The kind 'thicket': saplings in leaf, with bare twigs between, standing on the ground. Lengths in mm.
#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/kit.h"
#include "engine/shape/leaf.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

std::vector<KindPart> thicket_parts() {
  return {part_of("leaf", "thicket_leaf", true), part_of("twig", "thicket_twig", false)};
}

class ThicketBuilder {
 public:
  ThicketBuilder(const KeyValues& values, const Setting& setting)
      : setting_(setting),
        width_(1e3 * number(values, "width_m")),
        depth_(1e3 * number(values, "depth_m")),
        height_(1e3 * number(values, "height_m")),
        stems_(whole(values, "stems")),
        leaves_(whole(values, "leaves_per_stem")),
        leaf_length_(number(values, "leaf_length_mm")),
        yellow_(number(values, "yellow_share")),
        green_(number(values, "green_share")),
        random_(hash_bits(seed_of(values), 0x7c1eu)) {
    leaf_ = mesh_.part_index("leaf");
    twig_ = mesh_.part_index("twig");
  }

  Mesh build() {
    for (int i = 0; i < stems_; ++i) grow_stem(i);
    smooth_normals(mesh_);
    scale_mesh(mesh_, 1e-3f);
    balance_tints(mesh_, thicket_parts());
    return std::move(mesh_);
  }

 private:
  struct Line {
    glm::dvec3 start{}, reach{};  // to the tip
    double sag = 0, radius = 2;
    glm::dvec3 at(double s) const { return start + s * reach - glm::dvec3(0, 0, sag * s * s); }
  };

  void grow_stem(int number) {
    const double x = width_ * ((number + random_.unit()) / stems_ - 0.5);
    const double y = depth_ * (random_.unit() - 0.5);
    const double height = height_ * random_.between(0.55, 1.0);
    const double ground = 1e3 * ground_at(setting_, 1e-3 * x, 1e-3 * y);
    Line stem{{x, y, ground - 20},
              {0.22 * height * random_.spread(), 0.18 * height * random_.spread(), height},
              0.08 * height,
              0.0045 * height};
    tube(stem);
    constexpr int branches = 9;
    for (int branch = 0; branch < branches; ++branch) {
      const double s = random_.between(0.10, 0.98), angle = random_.between(0, 2 * pi);
      const double length = height * random_.between(0.14, 0.38) * (1.15 - 0.6 * s);
      const Line twig{stem.at(s),
                      length * glm::dvec3(std::cos(angle), std::sin(angle), random_.between(0.0, 0.6)),
                      length * random_.between(0.1, 0.4), 0.35 * stem.radius};
      tube(twig);
      for (int leaf = branch; leaf < leaves_; leaf += branches)
        hang_leaf(twig.at(random_.between(0.15, 1.0)));
    }
  }

  // A four-sided rod that thins towards its tip, closed at both ends.
  void tube(const Line& line) {
    constexpr int rings = 7, sides = 4;
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    const glm::dvec3 along = glm::normalize(line.reach);
    const glm::dvec3 across = glm::normalize(glm::cross(along, glm::dvec3(0.31, 0.87, 0.39)));
    const glm::dvec3 other = glm::cross(along, across);
    const double shade = random_.between(0.6, 1.4);
    for (int ring = 0; ring < rings; ++ring) {
      const double s = static_cast<double>(ring) / (rings - 1);
      const double kink = ring > 0 && ring + 1 < rings ? 2 * line.radius * random_.spread() : 0.0;
      for (int side = 0; side < sides; ++side) {
        const double angle = 2 * pi * side / sides;
        mesh_.position.emplace_back(line.at(s) + kink * across +
                                    line.radius * (1 - 0.6 * s) *
                                        (std::cos(angle) * across + std::sin(angle) * other));
        mesh_.tint.emplace_back(shade);
      }
    }
    add_grid_triangles(mesh_, {first, rings, sides, true}, twig_);
    for (const bool foot : {true, false}) {
      mesh_.position.emplace_back(line.at(foot ? 0 : 1));
      mesh_.tint.emplace_back(shade);
      add_fan(mesh_, static_cast<std::uint32_t>(mesh_.position.size() - 1),
              first + static_cast<std::uint32_t>(foot ? 0 : (rings - 1) * sides), sides, twig_, foot);
    }
  }

  // Leaves hang a little, their upper faces to the light.
  void hang_leaf(const glm::dvec3& root) {
    LeafShape shape = fallen_leaf(random_, leaf_length_, 0.6, yellow_);
    if (random_.chance(green_)) {
      shape.colour = mix(glm::dvec3(0.085, 0.130, 0.026), glm::dvec3(0.24, 0.24, 0.045), random_.unit());
      shape.age = 0.2 * random_.unit();
    }
    const LeafSheet sheet = make_leaf(shape, 4, 3);
    const double yaw = random_.between(0, 2 * pi), tip = random_.between(-1.1, 0.2);
    const double roll = 0.5 * random_.spread();
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    for (const glm::dvec3& p : sheet.position) {
      const glm::dvec3 a(std::cos(roll) * p.x + std::sin(roll) * p.z, p.y,
                         std::cos(roll) * p.z - std::sin(roll) * p.x);
      const glm::dvec3 b(a.x, std::cos(tip) * a.y - std::sin(tip) * a.z,
                         std::sin(tip) * a.y + std::cos(tip) * a.z);
      mesh_.position.emplace_back(root + glm::dvec3(std::cos(yaw) * b.x - std::sin(yaw) * b.y,
                                                    std::sin(yaw) * b.x + std::cos(yaw) * b.y, b.z));
    }
    mesh_.tint.insert(mesh_.tint.end(), sheet.colour.begin(), sheet.colour.end());
    add_grid_triangles(mesh_, {first, sheet.rows, sheet.columns, false}, leaf_);
  }

  const Setting& setting_;
  double width_, depth_, height_;
  int stems_, leaves_;
  double leaf_length_, yellow_, green_;
  Random random_;
  Mesh mesh_;
  std::uint32_t leaf_ = 0, twig_ = 0;
};

}  // namespace

Kind thicket_kind() {
  return {"thicket",
          "saplings and low branches in leaf, a screen behind or beside the subject",
          {number_key("width_m", "1.6", 0.1, 40, "of the ground they stand on"),
           number_key("depth_m", "0.5", 0, 40, "of the ground they stand on"),
           number_key("height_m", "1.2", 0.05, 10, "of the tallest"),
           integer_key("stems", "14", 1, 500, "saplings, spread over the width"),
           integer_key("leaves_per_stem", "60", 1, 1000, "leaves on each; each has 12 triangles"),
           number_key("leaf_length_mm", "52", 8, 250, "mean length of a blade"),
           number_key("yellow_share", "0.45", 0, 1, "share of the leaves turned yellow"),
           number_key("green_share", "0.3", 0, 1, "share of the leaves still green"), seed_key()},
          thicket_parts(),
          [](const KeyValues& values, const Setting& setting) {
            return ThicketBuilder(values, setting).build();
          }};
}

}  // namespace undercap
