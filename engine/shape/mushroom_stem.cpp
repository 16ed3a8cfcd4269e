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
  const glm::dvec3 start = -sunk_depth(shape) * shape.root_axis;
  const double length = glm::distance(start, end);
  const glm::dvec3 straight = (end - start) / length;
  const glm::dvec3 sway(random.between(-0.045, 0.045), random.between(-0.045, 0.045), 0);
  const glm::dvec3 upright =
      glm::normalize(shape.root_axis + 0.45 * glm::dvec3(straight.x, straight.y, 0) + 1.4 * sway);
  return {
      {start, start + 0.36 * length * upright, end - (0.32 * length) * shape.cap_axis + length * sway, end}};
}

class StemBuilder {
 public:
  StemBuilder(Mesh& mesh, const MushroomBuild& build)
      : mesh_(mesh),
        build_(build),
        tube_(build),
        part_(build.part(mesh, "stem", PatternKind::stem, static_cast<float>(build.shape.stem_radius))) {
    const MushroomShape& shape = build.shape;
    if (shape.pores) mesh.parts[part_].pattern.lines = 1;
    const int least = std::max(8, static_cast<int>(18 / shape.spacing));
    columns_ = std::clamp(static_cast<int>(2 * pi * shape.stem_radius / (0.55 * shape.spacing)), least, 72);
    rows_ = std::clamp(static_cast<int>(shape.stem_length / (1.1 * shape.spacing)), least, 64);
  }

  void build() {
    add_end(0.0);
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    for (int row = 0; row < rows_; ++row) {
      const double s = static_cast<double>(row) / (rows_ - 1);
      for (int column = 0; column < columns_; ++column) {
        const double angle = 2 * pi * column / columns_;
        add(tube_.place(s, angle, tube_.radius(s, angle)), s, angle);
      }
    }
    add_grid_triangles(mesh_, {first, rows_, columns_, true}, part_);
    add_fan(mesh_, first - 1, first, columns_, part_, true);
    add_end(1.0);
    const auto top = static_cast<std::uint32_t>(mesh_.position.size() - 1);
    add_fan(mesh_, top, top - static_cast<std::uint32_t>(columns_), columns_, part_);
  }

 private:
  void add_end(double s) { add(tube_.place(s, 0, 0), s, 0); }

  void add(const glm::dvec3& place, double s, double angle) {
    mesh_.position.emplace_back(place);
    mesh_.tint.emplace_back(colour(s, angle));
    mesh_.uv.emplace_back(angle / (2 * pi), s);
  }

  // Soil, splashed and rubbed on the foot, ragged above: the pattern does not know where the ground is.
  glm::dvec3 colour(double s, double angle) const {
    const MushroomShape& shape = build_.shape;
    const double h = tube_.height(s) / shape.stem_radius;
    const glm::dvec3 place = build_.warp.offset() + glm::dvec3(std::cos(angle), std::sin(angle), 0.35 * h);
    const double reach = std::min(2.3, 0.22 * shape.stem_length / shape.stem_radius);
    const double soil = ramp(reach, -0.2, h + reach * fbm(2.2 * place, 3, shape.seed + 48));
    return mix(glm::dvec3(1), glm::dvec3(0.22, 0.17, 0.13), 0.86 * soil) * (1 - 0.12 * shape.youth);
  }

  Mesh& mesh_;
  const MushroomBuild& build_;
  StemTube tube_;
  std::uint32_t part_;
  int columns_ = 0, rows_ = 0;
};

}  // namespace

double sunk_depth(const MushroomShape& shape) { return std::clamp(0.09 * shape.stem_length, 2.0, 6.0); }

StemTube::StemTube(const MushroomBuild& build) : build_(build) {
  const StemCurve curve = stem_curve(build);
  length_ = glm::distance(curve.p[0], curve.p[3]);
  sunk_share_ = sunk_depth(build.shape) / length_;
  glm::dvec3 x(1, 0, 0);
  for (int i = 0; i < frames; ++i) {
    const double s = static_cast<double>(i) / (frames - 1);
    const glm::dvec3 along = curve.along(s);
    // Carried along without twist: only what leans into the new direction is taken away.
    x = glm::normalize(x - glm::dot(x, along) * along);
    const auto here = static_cast<std::size_t>(i);
    middle_[here] = curve.at(s);
    x_[here] = x;
    y_[here] = glm::cross(along, x);
  }
}

glm::dvec3 StemTube::place(double s, double angle, double radius) const {
  const double at = std::clamp(s, 0.0, 1.0) * (frames - 1);
  const auto i = std::min<std::size_t>(static_cast<std::size_t>(at), frames - 2);
  const double share = at - static_cast<double>(i);
  const glm::dvec3 out =
      std::cos(angle) * mix(x_[i], x_[i + 1], share) + std::sin(angle) * mix(y_[i], y_[i + 1], share);
  return mix(middle_[i], middle_[i + 1], share) + radius * out;
}

// In stem radii above and below: the trade's outlines of a stem.
double StemTube::smooth_radius(double s) const {
  const MushroomShape& shape = build_.shape;
  const double h = height(s) / shape.stem_radius;  // above the ground, in radii
  const double low = ramp(0.45, 0.0, s), high = ramp(0.4, 0.95, s);
  double r = 1, bulb = std::exp(-std::pow((h - 0.3) / 2.2, 2.0));
  switch (shape.stem_form) {
    case StemForm::usual:
      r += 0.16 * low - 0.14 * high;
      break;
    case StemForm::equal:
      r += 0.04 * low - 0.03 * high;
      break;
    case StemForm::tapering:
      r += 0.28 * ramp(0.6, 0.0, s) - 0.30 * ramp(0.35, 1.0, s);
      break;
    case StemForm::clavate:
      r += 0.65 * std::pow(ramp(0.85, 0.0, s), 1.2) - 0.16 * high;
      break;
    case StemForm::bulbous:
      r += 0.7 * std::exp(-std::pow((h - 0.5) / 1.35, 2.0)) - 0.12 * high;
      break;
    case StemForm::rooting:
      r += 0.12 * ramp(0.75, 0.25, s) - 0.55 * ramp(0.22, 0.0, s) - 0.10 * high;
      break;
  }
  // A skirted foot ends below the ground; the top flares into the flesh.
  r *= 1 + 0.16 * ramp(0.88, 1.0, s) * (shape.one_sheet ? 0.3 : 1.0);
  return r * shape.stem_radius + shape.bulb * bulb;
}

double StemTube::radius(double s, double angle) const {
  const MushroomShape& shape = build_.shape;
  const double h = height(s) / shape.stem_radius;
  const glm::dvec3 ring(std::cos(angle), std::sin(angle), 0);
  const glm::dvec3 place = build_.warp.offset() + glm::dvec3(0.9 * ring.x, 0.9 * ring.y, 0.5 * h);
  const double foot = std::exp(-std::max(h + 0.5, 0.0) / 1.1);
  const double lumps =
      0.07 * fbm(place, 3, shape.seed + 41) + 0.16 * foot * fbm(1.7 * place, 2, shape.seed + 42);
  const double ribs = 0.030 * fibre(angle, h, 4.6, 43) + 0.022 * fibre(angle, h, 9.5, 44);
  return smooth_radius(s) * (1 + lumps + ribs);
}

// Noise drawn out along the stem: fibres, which turn a little about it.
double StemTube::fibre(double angle, double h, double fineness, std::uint32_t salt) const {
  const double turned = angle + 0.035 * h;
  const glm::dvec3 place(fineness * std::cos(turned), fineness * std::sin(turned), 0.11 * h);
  return fbm(build_.warp.offset() + place, 2, build_.shape.seed + salt);
}

void add_stem(Mesh& mesh, const MushroomBuild& build) {
  Mesh tube;
  StemBuilder(tube, build).build();
  smooth_normals(tube);
  mesh.append(tube);
}

}  // namespace undercap
