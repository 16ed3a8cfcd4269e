// The kind 'branch': a fallen branch with its forks, lying on the ground along its own x axis. Lengths in mm.
#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/bark.h"
#include "engine/shape/kit.h"
#include "engine/shape/log_build.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

// One limb: from its start to its end with bends on the way, thinner towards the end.
struct Limb {
  glm::dvec3 start{0}, reach{1, 0, 0};
  double thick = 12, thin = 5;  // radii
  double crooked = 0.05;        // of the length
  std::uint32_t seed = 1;
  double length() const { return glm::length(reach); }
  glm::dvec3 at(double s) const {
    const glm::dvec3 along = reach / length();
    const glm::dvec3 across = glm::normalize(glm::cross(glm::dvec3(0, 0, 1), along));
    const auto wander = [&](double where, std::uint32_t salt) {
      return fbm(glm::dvec2(2.3 * where + 0.37, 0.61), 3, seed + salt);
    };
    // Both ends keep their places.
    const double aside = wander(s, 1) - mix(wander(0, 1), wander(1, 1), s);
    const double up = 0.5 * (wander(s, 2) - mix(wander(0, 2), wander(1, 2), s));
    return start + s * reach + crooked * length() * (aside * across + up * glm::dvec3(0, 0, 1));
  }
  double radius(double s) const { return mix(thick, thin, s) * (1 + 0.25 * std::exp(-s * length() / thick)); }
};

class BranchBuilder {
 public:
  BranchBuilder(const KeyValues& values, const Setting& setting)
      : setting_(setting), random_(hash_bits(seed_of(values), 0xb4a9u)) {
    bark_ = mesh_.part_index("bark");
    wood_ = mesh_.part_index("wood");
    look_.bark = bark_form(text(values, "bark"));
    look_.age = number(values, "age");
    look_.radius = 0.5 * number(values, "diameter_mm");
    look_.plate = std::clamp(0.5 * look_.radius, 4.0, 20.0);
    look_.relief = std::min(number(values, "bark_relief_mm"), 0.4 * look_.radius);
    look_.seed = seed_of(values);
  }

  Mesh build(const KeyValues& values) {
    const double length = number(values, "length_mm");
    const double thin = look_.radius * (1 - number(values, "taper"));
    const Limb main{{-0.5 * length, 0, 0},     {length, 0, 0}, look_.radius, thin,
                    number(values, "crooked"), random_.bits()};
    add_limb(main);
    const int forks = whole(values, "forks");
    double side = random_.chance(0.5) ? 1 : -1;
    for (int i = 0; i < forks; ++i, side = -side) {
      const double s = std::min(0.93, 0.18 + 0.75 * (i + random_.unit()) / forks);
      add_fork(main, s, side, 1 - 0.5 * s, 2);
    }
    scale_mesh(mesh_, 1e-3f);
    sharpen_part(mesh_, wood_, 0.7);
    mesh_.parts[bark_].pattern = bark_pattern(look_);
    mesh_.parts[wood_].pattern = wood_pattern(look_);
    balance_tints(mesh_, log_parts());
    return std::move(mesh_);
  }

 private:
  void add_fork(const Limb& parent, double s, double side, double size, int orders) {
    const glm::dvec3 along = glm::normalize(parent.reach);
    const glm::dvec3 across = side * glm::normalize(glm::cross(glm::dvec3(0, 0, 1), along));
    const double angle = random_.between(0.5, 1.0);
    const double length = parent.length() * size * random_.between(0.2, 0.55);
    // A short stub where the limb broke off, now and then.
    const bool stub = random_.chance(0.25);
    const double thick = parent.radius(s) * random_.between(0.35, 0.65);
    const Limb fork{parent.at(s),
                    (stub ? std::min(length, 3.5 * thick) : length) *
                        glm::normalize(std::cos(angle) * along + std::sin(angle) * across +
                                       glm::dvec3(0, 0, random_.between(0.0, 0.45))),
                    thick,
                    stub ? 0.85 * thick : 0.35 * thick,
                    parent.crooked,
                    random_.bits()};
    add_limb(fork);
    if (stub || orders <= 1) return;
    const double farther = random_.between(0.4, 0.8);
    add_fork(fork, farther, random_.chance(0.5) ? side : -side, 0.8, orders - 1);
  }

  // A tube with bark and a torn face at each end.
  void add_limb(const Limb& limb) {
    LogShape shape = look_;
    shape.length = limb.length();
    shape.radius = 0.5 * (limb.thick + limb.thin);
    shape.relief = std::min(look_.relief, 0.3 * limb.thin);
    shape.seed = limb.seed;
    const BarkField field(shape);
    const double cell = std::max({1.1, 0.1 * limb.thick, 2.5e3 * pixel_at(setting_, 1e-3 * limb.at(0.5))});
    const int rows = std::clamp(static_cast<int>(limb.length() / (1.7 * cell)), 6, 400);
    const int columns = std::clamp(static_cast<int>(2 * pi * limb.thick / cell), 5, 72);
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    glm::dvec3 across = glm::normalize(glm::cross(limb.at(0.02) - limb.at(0), glm::dvec3(0.1, 0.2, 1)));
    for (int row = 0; row < rows; ++row) {
      const double s = static_cast<double>(row) / (rows - 1);
      const glm::dvec3 along =
          glm::normalize(limb.at(std::min(s + 0.01, 1.0)) - limb.at(std::max(s - 0.01, 0.0)));
      across = glm::normalize(across - glm::dot(across, along) * along);
      const glm::dvec3 other = glm::cross(along, across), middle = lying(limb.at(s), limb.radius(s));
      for (int column = 0; column < columns; ++column) {
        const double angle = 2 * pi * column / columns, x = (s - 0.5) * shape.length;
        const double height = field.height(x, angle);
        const double radius = limb.radius(s) * (1 + field.trunk(x, angle)) + shape.relief * (height - 0.7);
        const glm::dvec3 out = std::cos(angle) * across + std::sin(angle) * other;
        mesh_.position.emplace_back(middle + std::max(radius, 0.3 * limb.radius(s)) * out);
        mesh_.tint.emplace_back(field.tint(x, angle, out.z));
        mesh_.uv.emplace_back(std::clamp(height, 0.0, 1.0), 0);
      }
    }
    add_grid_triangles(mesh_, {first, rows, columns, true}, bark_);
    close(first, columns, limb, 0);
    close(first + static_cast<std::uint32_t>((rows - 1) * columns), columns, limb, 1);
  }

  // Torn in uneven teeth; positions of its own keep the rim an edge.
  void close(std::uint32_t rim, int columns, const Limb& limb, double s) {
    const glm::dvec3 out = glm::normalize(limb.reach) * (s > 0.5 ? 1.0 : -1.0);
    const glm::dvec3 middle = lying(limb.at(s), limb.radius(s));
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    constexpr int rings = 3;
    for (int ring = 0; ring < rings; ++ring) {
      const double q = 1 - static_cast<double>(ring) / rings;
      for (int column = 0; column < columns; ++column) {
        const glm::dvec3 edge(mesh_.position[rim + static_cast<std::uint32_t>(column)]);
        const double tooth = ring == 0 ? 0.0 : limb.radius(s) * random_.between(-0.35, 0.7);
        mesh_.position.emplace_back(middle + q * (edge - middle) + tooth * out);
        if (ring == 0) mesh_.position.back() = mesh_.position[rim + static_cast<std::uint32_t>(column)];
        mesh_.tint.emplace_back(static_cast<float>(0.7 + 0.5 * random_.unit()));
        mesh_.uv.emplace_back(static_cast<double>(column) / columns, q);
      }
    }
    mesh_.position.emplace_back(middle + 0.2 * limb.radius(s) * out);
    mesh_.tint.emplace_back(0.8f);
    mesh_.uv.emplace_back(0, 0);
    const std::size_t before = mesh_.triangle.size();
    add_grid_triangles(mesh_, {first, rings, columns, true}, wood_);
    add_fan(mesh_, first + static_cast<std::uint32_t>(rings * columns),
            first + static_cast<std::uint32_t>((rings - 1) * columns), columns, wood_);
    if (s > 0.5) return;
    for (std::size_t i = before; i < mesh_.triangle.size(); ++i)
      std::swap(mesh_.triangle[i].b, mesh_.triangle[i].c);
  }

  // A little sunk into what it lies on, and never deeper.
  glm::dvec3 lying(const glm::dvec3& place, double radius) const {
    const double ground = 1e3 * ground_at(setting_, 1e-3 * place.x, 1e-3 * place.y);
    return {place.x, place.y, ground + std::max(place.z + 0.8 * look_.radius, 0.8 * radius)};
  }

  const Setting& setting_;
  Random random_;
  Mesh mesh_;
  std::uint32_t bark_ = 0, wood_ = 0;
  LogShape look_;
};

}  // namespace

Kind branch_kind() {
  return {
      "branch",
      "a fallen branch with forks and broken ends, lying along its own x axis",
      {number_key("length_mm", "450", 40, 4000, "of the main limb, from end to end"),
       number_key("diameter_mm", "26", 4, 200, "at its thick end, the left one, over the bark"),
       number_key("taper", "0.6", 0, 0.9, "share of the diameter lost towards the thin end"),
       number_key("crooked", "0.12", 0, 0.4, "how far it wanders off the straight line, share of its length"),
       integer_key("forks", "3", 0, 12, "limbs that leave it"), bark_key("smooth"),
       number_key("bark_relief_mm", "1", 0, 10, "from the furrows to the tops of the plates"),
       number_key("age", "0.6", 0, 1, "0 fresh fallen .. 1 old: algae, lichen, rot"), seed_key()},
      log_parts(),
      [](const KeyValues& values, const Setting& setting) {
        return BranchBuilder(values, setting).build(values);
      }};
}

}  // namespace undercap
