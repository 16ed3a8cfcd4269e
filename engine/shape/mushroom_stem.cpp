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

// A cubic Bezier curve: leaves the ground nearly upright and arrives along the cap's axis.
struct StemCurve {
  glm::dvec3 p[4];
  glm::dvec3 at(double t) const {
    const double s = 1 - t;
    return s * s * s * p[0] + 3 * s * s * t * p[1] + 3 * s * t * t * p[2] + t * t * t * p[3];
  }
  glm::dvec3 along(double t) const {
    const double s = 1 - t;
    return glm::normalize(s * s * (p[1] - p[0]) + 2 * s * t * (p[2] - p[1]) + t * t * (p[3] - p[2]));
  }
};

StemCurve stem_curve(const MushroomBuild& build) {
  const MushroomShape& shape = build.shape;
  Random random(hash_bits(shape.seed, 0x57e3u));
  // Ends inside the flesh, or just under the sheet of a thin cap.
  const double into = shape.one_sheet ? -0.02 * shape.stem_length : 0.4 * shape.flesh;
  const glm::dvec3 end = build.seat.tip() + into * shape.cap_axis;
  const glm::dvec3 start(0, 0, -sunk_depth(shape));
  const double length = glm::distance(start, end);
  const glm::dvec3 straight = (end - start) / length;
  const glm::dvec3 sway(random.between(-0.045, 0.045), random.between(-0.045, 0.045), 0);
  const glm::dvec3 upright = glm::normalize(glm::dvec3(0.45 * straight.x, 0.45 * straight.y, 1) + 1.4 * sway);
  return {
      {start, start + 0.36 * length * upright, end - (0.32 * length) * shape.cap_axis + length * sway, end}};
}

class StemBuilder {
 public:
  StemBuilder(Mesh& mesh, const MushroomBuild& build)
      : mesh_(mesh),
        build_(build),
        curve_(stem_curve(build)),
        part_(mesh.part_index("stem", build.individual)) {
    const MushroomShape& shape = build.shape;
    columns_ = std::clamp(static_cast<int>(2 * pi * shape.stem_radius / (0.40 * shape.spacing)), 18, 72);
    rows_ = std::clamp(static_cast<int>(shape.stem_length / (0.75 * shape.spacing)), 16, 96);
    length_ = glm::distance(curve_.p[0], curve_.p[3]);
    sunk_share_ = sunk_depth(shape) / length_;
  }

  void build() {
    glm::dvec3 x(1, 0, 0);
    add_end(0.0);
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    for (int row = 0; row < rows_; ++row) {
      const double s = static_cast<double>(row) / (rows_ - 1);
      const glm::dvec3 along = curve_.along(s);
      // Carried along without twist: only what leans into the new direction is taken away.
      x = glm::normalize(x - glm::dot(x, along) * along);
      const glm::dvec3 y = glm::cross(along, x);
      for (int column = 0; column < columns_; ++column) {
        const double angle = 2 * pi * column / columns_;
        const glm::dvec3 out = std::cos(angle) * x + std::sin(angle) * y;
        mesh_.position.emplace_back(curve_.at(s) + radius(s, angle) * out);
        mesh_.tint.emplace_back(colour(s, angle));
      }
    }
    add_grid_triangles(mesh_, {first, rows_, columns_, true}, part_);
    add_fan(mesh_, first - 1, first, columns_, part_, true);
    add_end(1.0);
    const auto top = static_cast<std::uint32_t>(mesh_.position.size() - 1);
    add_fan(mesh_, top, top - static_cast<std::uint32_t>(columns_), columns_, part_);
  }

 private:
  void add_end(double s) {
    mesh_.position.emplace_back(curve_.at(s));
    mesh_.tint.emplace_back(colour(s, 0));
  }

  // Height above the ground in stem radii, 0 at the ground.
  double height_in_radii(double s) const { return (s - sunk_share_) * length_ / build_.shape.stem_radius; }

  double radius(double s, double angle) const {
    const MushroomShape& shape = build_.shape;
    const double base = shape.stem_radius * 1.16, top = shape.stem_radius * 0.86;
    double r = mix(mix(base, shape.stem_radius, ramp(0.0, 0.45, s)), top, ramp(0.4, 0.95, s));
    const double h = height_in_radii(s);
    r += shape.bulb * std::exp(-std::pow((h - 0.3) / 2.2, 2.0));
    r *= 1 + 0.16 * ramp(0.88, 1.0, s) * (shape.one_sheet ? 0.3 : 1.0);
    const glm::dvec3 ring(std::cos(angle), std::sin(angle), 0);
    const glm::dvec3 place = build_.warp.offset() + glm::dvec3(0.9 * ring.x, 0.9 * ring.y, 0.5 * h);
    const double lumps = 0.07 * fbm(place, 3, shape.seed + 41) + 0.16 *
                                                                     std::exp(-std::max(h + 0.5, 0.0) / 1.1) *
                                                                     fbm(1.7 * place, 2, shape.seed + 42);
    const double ribs = 0.030 * fibre(angle, h, 4.6, 43) + 0.022 * fibre(angle, h, 9.5, 44);
    return r * (1 + lumps + ribs);
  }

  // Noise drawn out along the stem: fibres, which turn a little about it.
  double fibre(double angle, double h, double fineness, std::uint32_t salt) const {
    const double turned = angle + 0.035 * h;
    const glm::dvec3 place(fineness * std::cos(turned), fineness * std::sin(turned), 0.11 * h);
    return fbm(build_.warp.offset() + place, 2, build_.shape.seed + salt);
  }

  glm::dvec3 colour(double s, double angle) const {
    const MushroomShape& shape = build_.shape;
    const double h = height_in_radii(s);
    const glm::dvec3 ring(std::cos(angle), std::sin(angle), 0);
    const glm::dvec3 place = build_.warp.offset() + glm::dvec3(ring.x, ring.y, 0.35 * h);
    const double blotch = fbm(1.4 * place, 3, shape.seed + 45);
    glm::dvec3 made = mix(glm::dvec3(0.40, 0.28, 0.165), glm::dvec3(0.60, 0.51, 0.385),
                          ramp(0.02, 0.85, s + 0.16 * blotch));
    made *= 1 + 0.34 * fibre(angle, h, 4.6, 43) + 0.34 * fibre(angle, h, 11.0, 46);
    // Flecks torn from the surface as the stem grew.
    const Cell fleck = cells(glm::dvec2(3.1 * angle, 1.1 * h), shape.seed + 47);
    if (unit_from_bits(fleck.id) > 0.72) {
      made *= 1 - 0.30 * ramp(0.30, 0.08, fleck.nearest) * ramp(0.95, 0.5, s);
    }
    // Soil: splashed and rubbed on the foot, ragged above.
    const double soil = ramp(2.3, -0.2, h + 2.2 * fbm(2.2 * place, 3, shape.seed + 48));
    made = mix(made, glm::dvec3(0.105, 0.068, 0.042), 0.86 * soil);
    return made * (1 - 0.12 * shape.youth);
  }

  Mesh& mesh_;
  const MushroomBuild& build_;
  StemCurve curve_;
  std::uint32_t part_;
  int columns_ = 0, rows_ = 0;
  double length_ = 0, sunk_share_ = 0;
};

}  // namespace

double sunk_depth(const MushroomShape& shape) { return std::clamp(0.09 * shape.stem_length, 2.0, 6.0); }

void add_stem(Mesh& mesh, const MushroomBuild& build) {
  Mesh tube;
  StemBuilder(tube, build).build();
  smooth_normals(tube);
  mesh.append(tube);
}

}  // namespace undercap
