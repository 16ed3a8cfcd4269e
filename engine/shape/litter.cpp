// The kind 'litter': fallen leaves, scraps and twigs on the ground about the origin.
#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/kit.h"
#include "engine/shape/leaf.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"
#include "engine/shape/twig.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double golden_angle = 2.399963229728653;  // rad, pi (3 - sqrt 5)
constexpr double crumbs_per_m2 = 9000;
constexpr double even_radius_m = 0.6;  // within it the density is the stated one

std::vector<KindPart> litter_parts() {
  return {part_of("leaf", "litter_leaf", true), part_of("twig", "litter_twig", false)};
}

// Turns a leaf from its own space: about its long axis, then tipped, then about the vertical.
struct Pose {
  double roll = 0, tip = 0, yaw = 0;
  glm::dvec3 turned(const glm::dvec3& p) const {
    const double cr = std::cos(roll), sr = std::sin(roll), ct = std::cos(tip), st = std::sin(tip);
    const glm::dvec3 a(cr * p.x + sr * p.z, p.y, -sr * p.x + cr * p.z);
    const glm::dvec3 b(a.x, ct * a.y - st * a.z, st * a.y + ct * a.z);
    return {std::cos(yaw) * b.x - std::sin(yaw) * b.y, std::sin(yaw) * b.x + std::cos(yaw) * b.y, b.z};
  }
};

class LitterBuilder {
 public:
  LitterBuilder(const KeyValues& values, const Setting& setting)
      : setting_(setting),
        radius_m_(number(values, "radius_m")),
        density_(number(values, "leaves_per_m2")),
        leaf_length_(number(values, "leaf_length_mm")),
        yellow_(number(values, "yellow_share")),
        twig_density_(number(values, "twigs_per_m2")),
        corridor_m_(1e-3 * number(values, "clear_front_mm")),
        clear_m_(1e-3 * number(values, "clear_centre_mm")),
        near_(text(values, "detail") == "near"),
        seed_(seed_of(values)),
        random_(hash_bits(seed_, 0x117u)) {}

  Mesh build() {
    leaf_ = mesh_.part_index("leaf");
    mesh_.part_index("twig");
    const auto leaves = static_cast<int>(std::lround(density_ * weight_within(radius_m_)));
    for (int i = 0; i < leaves; ++i) scatter_leaf((i + 0.5) / leaves, i);
    const int scraps = leaves * 6 / 5;
    for (int i = 0; i < scraps; ++i) scatter_scrap((i + 0.5) / scraps, i);
    smooth_normals(mesh_);
    const int twigs = std::max(1, static_cast<int>(std::lround(twig_density_ * weight_within(radius_m_))));
    for (int i = 0; i < twigs; ++i) scatter_twig((i + 0.5) / twigs, i);
    const double crumb_radius_m = near_ ? std::min(radius_m_, 0.3) : 0;
    const auto crumbs = static_cast<int>(crumbs_per_m2 * pi * crumb_radius_m * crumb_radius_m);
    for (int i = 0; i < crumbs; ++i) scatter_crumb(crumb_radius_m * std::sqrt((i + 0.5) / crumbs), i);
    scale_mesh(mesh_, 1e-3f);
    balance_tints(mesh_, litter_parts());
    return std::move(mesh_);
  }

 private:
  // Leaves lie evenly to even_radius_m; beyond, their number per area falls as 1/r: area integral of the
  // density.
  static double weight_within(double r) {
    const double inner = std::min(r, even_radius_m);
    return pi * inner * inner + 2 * pi * even_radius_m * std::max(r - even_radius_m, 0.0);
  }

  // A place on a sunflower spiral, so that leaves cover the ground without gaps or heaps, then shaken.
  glm::dvec2 spiral_place(double share, int number, std::uint32_t salt) {
    const double weight = share * weight_within(radius_m_);
    const double even = pi * even_radius_m * even_radius_m;
    const double r =
        weight <= even ? std::sqrt(weight / pi) : even_radius_m + (weight - even) / (2 * pi * even_radius_m);
    const double angle = number * golden_angle + unit_from_bits(hash_bits(seed_, salt)) * 2 * pi;
    const double shake = 0.7 / std::sqrt(density_);
    return glm::dvec2(r * std::cos(angle), r * std::sin(angle)) +
           shake * glm::dvec2(random_.spread(), random_.spread());
  }

  // 1 in the cleared way to the camera and about the subject, 0 elsewhere, with an uneven border.
  double cleared(const glm::dvec2& at) const {
    const double edge = 0.025 * fbm(at / 0.07, 2, seed_ + 3);
    double share = ramp(clear_m_ + 0.10, clear_m_ + 0.03, glm::length(at) + edge);
    if (corridor_m_ > 0 && at.y < 0) {
      share =
          std::max(share, ramp(0.5 * corridor_m_ + 0.03, 0.5 * corridor_m_ - 0.03, std::abs(at.x) + edge));
    }
    return share;
  }

  void scatter_leaf(double share, int number) {
    const glm::dvec2 at = spiral_place(share, number, 5);
    const double clear = cleared(at);
    LeafShape shape = fallen_leaf(random_, leaf_length_, clear, yellow_);
    Pose pose;
    const bool standing = random_.chance(0.15);
    pose.tip =
        (1 - 0.7 * clear) * (standing ? 0.45 + 0.3 * std::abs(random_.spread()) : 0.20 * random_.spread());
    pose.roll = (1 - 0.7 * clear) * (standing ? 0.9 : 0.28) * random_.spread();
    pose.yaw = random_.between(0, 2 * pi);
    if (random_.chance(0.4)) {  // face down, the paler under side up
      pose.roll += pi;
      shape.colour = mix(shape.colour, glm::dvec3(0.26, 0.185, 0.125), 0.35);
    }
    const double rest = mix(random_.between(-1.5, 9.0), random_.between(-1.0, 1.5), clear);
    // Drawn in the same order whether the leaf is kept or not, so that a wider way takes leaves and moves
    // none.
    const bool kept = random_.unit() > 0.30 * clear;
    const double patch = fbm(at / 0.35, 2, seed_ + 4);
    if (!kept || random_.unit() > 1.0 + 0.8 * patch) return;
    if (glm::length(at) < clear_m_ + 0.3e-3 * shape.length) return;
    const int detail = detail_at(at);
    constexpr int rows[] = {25, 15, 9}, columns[] = {11, 7, 5};
    lay(make_leaf(shape, rows[detail], columns[detail]), pose, at, rest);
    if (detail < 2 && random_.chance(0.8)) add_stalk(shape, pose);
  }

  // Small torn pieces fill what the leaves leave open.
  void scatter_scrap(double share, int number) {
    const glm::dvec2 at = spiral_place(share, number, 6);
    LeafShape shape = fallen_leaf(random_, leaf_length_, 0.3, 0.4 * yellow_);
    shape.form = LeafForm::scrap;
    shape.length = leaf_length_ * random_.between(0.10, 0.36);
    shape.crinkle *= 2.5;
    shape.age = 1;
    shape.colour *= 0.8;
    const Pose pose{0.35 * random_.spread(), 0.30 * random_.spread(), random_.between(0, 2 * pi)};
    const double rest = random_.between(-1.0, 1.2);
    const int detail = detail_at(at);
    if (glm::length(at) < clear_m_ || detail == 2) return;
    lay(make_leaf(shape, detail == 0 ? 7 : 5, detail == 0 ? 5 : 3), pose, at, rest);
  }

  void scatter_twig(double share, int number) {
    const glm::dvec2 at = spiral_place(share, number, 7);
    TwigShape shape;
    shape.length = random_.between(50, 170);
    shape.radius = random_.between(0.7, 2.1);
    shape.orders = random_.chance(0.6) ? 2 : 1;
    shape.seed = random_.bits();
    const double yaw = random_.between(0, 2 * pi), rise = random_.between(1, 9);
    if (glm::length(at) < clear_m_ + 0.04 || (cleared(at) > 0.5 && shape.radius > 1.1)) return;
    Mesh twig = make_twig(shape);
    for (glm::vec3& place : twig.position) {
      const glm::dvec3 p = Pose{0, 0, yaw}.turned(glm::dvec3(place));
      const double x = 1e3 * at.x + p.x, y = 1e3 * at.y + p.y;
      place = glm::vec3(x, y, p.z + rise + ground_mm(1e3 * at.x + 0.9 * p.x, 1e3 * at.y + 0.9 * p.y));
    }
    smooth_normals(twig);
    mesh_.append(twig);
  }

  // Crumbs lie only where one is near enough to see them, half buried.
  void scatter_crumb(double r, int number) {
    const double angle = number * golden_angle;
    const glm::dvec2 at = r * glm::dvec2(std::cos(angle), std::sin(angle)) +
                          0.006 * glm::dvec2(random_.spread(), random_.spread());
    const double size = random_.between(0.9, 2.2) * (1 + 1.6 * std::pow(random_.unit(), 4.0));
    const double stretch = random_.chance(0.3) ? random_.between(2.0, 7.0) : random_.between(0.9, 1.6);
    const Mesh crumb = make_crumb(stretch > 2 ? 0.5 * size : size, stretch, random_.bits());
    const Pose pose{random_.between(0, 2 * pi), 0.2 * random_.spread(), random_.between(0, 2 * pi)};
    const glm::dvec3 shift(1e3 * at, ground_mm(1e3 * at.x, 1e3 * at.y) + 0.15 * size);
    Mesh placed = crumb;
    for (glm::vec3& place : placed.position) place = glm::vec3(pose.turned(glm::dvec3(place)) + shift);
    smooth_normals(placed);
    mesh_.append(placed);
  }

  // 0 about the subject, where one sees every vein; 2 far off.
  int detail_at(const glm::dvec2& at) const {
    const double r = glm::length(at);
    return near_ && r < 0.25 ? 0 : near_ && r < 0.6 ? 1 : 2;
  }

  double ground_mm(double x_mm, double y_mm) const {
    return 1e3 * ground_at(setting_, 1e-3 * x_mm, 1e-3 * y_mm);
  }

  // Turns the sheet and lowers it until its lowest point is 'rest' mm above the ground.
  void lay(const LeafSheet& sheet, const Pose& pose, const glm::dvec2& at_m, double rest) {
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    std::vector<glm::dvec3> placed;
    double least = 1e9;
    const glm::dvec3 middle = sheet.position[sheet.position.size() / 2];
    for (const glm::dvec3& position : sheet.position) {
      glm::dvec3 p = pose.turned(position - middle);
      p.x += 1e3 * at_m.x;
      p.y += 1e3 * at_m.y;
      least = std::min(least, p.z - ground_mm(p.x, p.y));
      placed.push_back(p);
    }
    shift_ = glm::dvec3(1e3 * at_m, rest - least);
    shift_ -= pose.turned(middle);
    for (const glm::dvec3& p : placed) mesh_.position.emplace_back(p.x, p.y, p.z + rest - least);
    mesh_.tint.insert(mesh_.tint.end(), sheet.colour.begin(), sheet.colour.end());
    add_grid_triangles(mesh_, {first, sheet.rows, sheet.columns, false}, leaf_);
  }

  // The stalk of the leaf just laid: a thin three-sided tube, a little bent.
  void add_stalk(const LeafShape& shape, const Pose& pose) {
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    const double length = shape.length * random_.between(0.10, 0.28), thick = 0.011 * shape.length;
    const double turn = random_.between(-0.6, 0.6), angle = -0.5 * shape.bend;
    constexpr int rings = 4, sides = 3;
    for (int ring = 0; ring < rings; ++ring) {
      const double s = length * ring / (rings - 1);
      const glm::dvec3 middle(s * s / length * turn, -s * std::cos(angle),
                              -s * std::sin(angle) + 0.25 * s * s / length);
      // A stalk that would run into the ground lies on it.
      const glm::dvec3 axis = pose.turned(middle) + shift_;
      const double lift = std::max(0.0, ground_mm(axis.x, axis.y) - axis.z);
      for (int side = 0; side < sides; ++side) {
        const double a = 2 * pi * side / sides;
        const double r = thick * (1 + 0.5 * ring / (rings - 1));
        const glm::dvec3 p = axis + pose.turned(glm::dvec3(r * std::cos(a), 0, r * std::sin(a)));
        mesh_.position.emplace_back(p.x, p.y, p.z + lift);
        mesh_.tint.emplace_back(1.15 * shape.colour);
      }
    }
    add_grid_triangles(mesh_, {first, rings, sides, true}, leaf_);
  }

  const Setting& setting_;
  double radius_m_, density_, leaf_length_, yellow_, twig_density_, corridor_m_, clear_m_;
  bool near_;
  std::uint32_t seed_;
  Random random_;
  Mesh mesh_;
  std::uint32_t leaf_ = 0;
  glm::dvec3 shift_{};  // of the leaf just laid, from its turned space, mm
};

}  // namespace

Kind litter_kind() {
  return {
      "litter",
      "fallen leaves, torn scraps and twigs, lying on the ground about its place",
      {number_key("radius_m", "0.8", 0.05, 6, "of the litter; beyond 0.6 m it thins out as 1/r"),
       number_key("leaves_per_m2", "700", 5, 2500, "leaves that show, within 0.6 m of the middle"),
       number_key("leaf_length_mm", "58", 8, 250, "mean length of a blade"),
       number_key("yellow_share", "0.11", 0, 1, "share of the leaves that are freshly fallen and yellow"),
       number_key("twigs_per_m2", "14", 0, 200, "dead twigs among the leaves"),
       number_key("clear_front_mm", "160", 0, 2000,
                  "width of the way towards the camera where leaves lie thin and flat"),
       number_key("clear_centre_mm", "14", 0, 1000, "radius about the middle that stays free"),
       choice_key("detail", "near", "near far",
                  "near: every vein about the middle; far: plain leaves, no scraps"),
       seed_key()},
      litter_parts(),
      [](const KeyValues& values, const Setting& setting) { return LitterBuilder(values, setting).build(); }};
}

}  // namespace undercap
