// The kind 'thicket': saplings in leaf, with bare twigs between, standing on the ground. Lengths in mm.
#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/spray.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double golden_turn = 2.39996;  // rad; 2 pi (1 - 1 / 1.618), as leaves stand round a stem

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
        colours_{number(values, "yellow_share"), number(values, "green_share")},
        seed_(seed_of(values)),
        random_(hash_bits(seed_, 0x7c1eu)) {
    parts_.leaf = mesh_.part_index("leaf");
    parts_.twig = mesh_.part_index("twig");
  }

  Mesh build() {
    for (int i = 0; i < stems_; ++i) grow_stem(i);
    smooth_normals(mesh_);
    scale_mesh(mesh_, 1e-3f);
    mesh_.parts[parts_.leaf].pattern = spray_leaf_pattern(leaf_length_, seed_);
    mesh_.parts[parts_.twig].pattern = spray_twig_pattern(seed_);
    balance_tints(mesh_, thicket_parts());
    return std::move(mesh_);
  }

 private:
  // A sapling: a kinked stem that leans to the light, and shoots round it by the golden angle, the lowest the
  // longest, each arching over under its leaves.
  void grow_stem(int number) {
    const double x = width_ * ((number + random_.unit()) / stems_ - 0.5);
    const double y = depth_ * (random_.unit() - 0.5);
    small_ = 8e3 * pixel_at(setting_, {1e-3 * x, 1e-3 * y, 0}) > leaf_length_;
    const double height = height_ * random_.between(0.5, 1.0), radius = 0.0042 * height + 0.6;
    const double ground = 1e3 * ground_at(setting_, 1e-3 * x, 1e-3 * y);
    const glm::dvec3 lean{0.16 * height * random_.spread(), 0.14 * height * random_.spread(), 0};
    constexpr int knees = 9;
    std::vector<glm::dvec3> line;
    for (int i = 0; i < knees; ++i) {
      const double s = static_cast<double>(i) / (knees - 1);
      const double kink = i > 0 ? 0.012 * height : 0.0;
      line.push_back(glm::dvec3{x + lean.x * s * s + kink * random_.spread(),
                                y + lean.y * s * s + kink * random_.spread(),
                                ground - 20 + (height + 20) * s});
    }
    add_rod(mesh_, parts_.twig, line, radius, 0.25 * radius, small_ ? 4 : 5,
            glm::vec3(static_cast<float>(random_.between(0.6, 1.4))));
    const int shoots = std::clamp(leaves_ / 8, 1, 40);
    const double turned = random_.between(0, 2 * pi);
    for (int i = 0; i < shoots; ++i) grow_shoot(line, height, radius, i, shoots, turned + golden_turn * i);
  }

  void grow_shoot(const std::vector<glm::dvec3>& line, double height, double radius, int i, int shoots,
                  double angle) {
    const double s = std::min(0.98, 0.16 + 0.84 * (i + random_.unit()) / shoots);
    const double at = s * static_cast<double>(line.size() - 1);
    const auto knee = std::min(static_cast<std::size_t>(at), line.size() - 2);
    Spray spray;
    spray.start = mix(line[knee], line[knee + 1], at - static_cast<double>(knee));
    const double length = height * random_.between(0.20, 0.42) * (1.1 - 0.75 * s);
    const double rise = random_.between(0.1, 0.9) + 0.8 * s * s;
    spray.reach = length * glm::normalize(glm::dvec3(std::cos(angle), std::sin(angle), rise));
    spray.droop = length * random_.between(0.2, 0.7);
    spray.radius = 0.35 * radius;
    // What does not divide evenly goes to the first shoots.
    spray.leaves = leaves_ / shoots + (i < leaves_ % shoots ? 1 : 0);
    spray.leaf_length = leaf_length_;
    spray.colours = colours_;
    spray.small = small_;
    add_spray(mesh_, parts_, spray, random_);
  }

  const Setting& setting_;
  double width_, depth_, height_;
  int stems_, leaves_;
  double leaf_length_;
  LeafColours colours_;
  bool small_ = false;
  std::uint32_t seed_;
  Random random_;
  Mesh mesh_;
  SprayParts parts_;
};

}  // namespace

Kind thicket_kind() {
  return {"thicket",
          "saplings and low branches in leaf, a screen behind or beside the subject",
          {number_key("width_m", "1.6", 0.1, 40, "of the ground they stand on"),
           number_key("depth_m", "0.5", 0, 40, "of the ground they stand on"),
           number_key("height_m", "1.2", 0.05, 10, "of the tallest"),
           integer_key("stems", "14", 1, 500, "saplings, spread over the width"),
           integer_key("leaves_per_stem", "60", 1, 1000,
                       "leaves on each; each has 12 triangles, or 4 seen small"),
           number_key("leaf_length_mm", "52", 8, 250, "mean length of a blade"),
           number_key("yellow_share", "0.45", 0, 1, "share of the leaves turned yellow"),
           number_key("green_share", "0.3", 0, 1, "share of the leaves still green"), seed_key()},
          thicket_parts(),
          [](const KeyValues& values, const Setting& setting) {
            return ThicketBuilder(values, setting).build();
          }};
}

}  // namespace undercap
