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

// Noise drawn out from the crown to the margin.
double radial_fibres(const MushroomBuild& build, double q, double angle) {
  const glm::dvec3 fibre(9 * std::cos(angle), 9 * std::sin(angle), 1.6 * q);
  return fbm(build.warp.offset() + fibre, 2, build.shape.seed + 22);
}

// How far the skin stands off the smooth profile, mm: fine fibres, and on a thin cap pleats between the
// gills.
double skin_relief(const MushroomBuild& build, double q, double angle) {
  const MushroomShape& shape = build.shape;
  const double fibres = 0.007 * radial_fibres(build, q, angle) * ramp(0.05, 0.3, q);
  const double pleats =
      0.035 * shape.striae * (0.5 - 0.5 * std::cos(shape.gill_count * angle)) * ramp(0.3, 0.9, q);
  return shape.cap_radius * (fibres + (shape.one_sheet ? pleats : 0.0));
}

// Colours of the skin, linear RGB; only their ratios count, since tints are balanced.
glm::dvec3 skin_colour(const MushroomBuild& build, double q, double angle) {
  const MushroomShape& shape = build.shape;
  const std::uint32_t seed = shape.seed;
  const glm::dvec3 ring(std::cos(angle), std::sin(angle), 0);
  const glm::dvec3 flat = build.warp.offset() + q * ring;  // in cap radii
  const double along = q + 0.16 * fbm(1.3 * flat, 3, seed + 21);
  glm::dvec3 colour =
      mix(glm::dvec3(0.19, 0.066, 0.018), glm::dvec3(0.46, 0.215, 0.068), ramp(0.10, 0.95, along));

  const glm::dvec3 fine(23 * ring.x, 23 * ring.y, 2.6 * q);
  const double fibrils =
      0.40 * radial_fibres(build, q, angle) + 0.34 * gradient_noise(build.warp.offset() + fine, seed + 23);
  colour *= 1 + fibrils * ramp(0.03, 0.3, q);

  const double mottle = ramp(0.0, 0.7, fbm(4.5 * flat, 3, seed + 24));
  colour = mix(colour, colour * glm::dvec3(0.66, 0.58, 0.55), 0.75 * mottle);
  // Wounds and specks of soil.
  const Cell speck = cells(glm::dvec2(flat) * (shape.cap_radius * 0.42), seed + 25);
  const double size = 0.10 + 0.16 * unit_from_bits(hash_bits(speck.id));
  if (unit_from_bits(speck.id) > 0.88) colour *= 1 - 0.55 * ramp(size, 0.4 * size, speck.nearest);

  // Dark above the full gills, which stand at whole steps of the angle.
  const double lines = 0.5 + 0.5 * std::cos(shape.gill_count * angle);
  colour *= 1 - shape.striae * lines * ramp(0.45, 1.0, q);
  // The margin is thin and pale, youngest at its very edge.
  colour = mix(colour, glm::dvec3(0.60, 0.36, 0.16), (shape.one_sheet ? 0.2 : 0.55) * ramp(0.955, 0.995, q));
  return colour * (1 - 0.38 * shape.youth) * (0.92 + 0.16 * unit_from_bits(hash_bits(seed, 5)));
}

glm::dvec3 under_colour(const MushroomBuild& build, double q) {
  const double root = 0.80 - 0.10 * ramp(0.5, 0.1, q);
  return glm::dvec3(0.56, 0.46, 0.31) * root * (1 - 0.10 * build.shape.youth);
}

// Density by size: a millimetre or less between positions.
int columns_of(const MushroomShape& shape) {
  return std::clamp(static_cast<int>(2 * pi * shape.cap_radius / (0.8 * shape.spacing)), 72, 208);
}
int rows_of(const MushroomShape& shape) {
  return std::clamp(static_cast<int>((shape.cap_radius + 0.7 * shape.cap_height) / (0.6 * shape.spacing)), 20,
                    68);
}

class CapBuilder {
 public:
  CapBuilder(Mesh& mesh, const MushroomBuild& build)
      : mesh_(mesh), build_(build), columns_(columns_of(build.shape)), rows_(rows_of(build.shape)) {}

  void build() {
    const std::uint32_t cap = mesh_.part_index("cap", build_.individual);
    const std::uint32_t crown = add_pole(build_.profile.top(0), skin_colour(build_, 0, 0));
    const std::uint32_t top = first();
    for (int row = 1; row <= rows_; ++row) {
      add_skin_ring(build_.profile.top(build_.profile.q_at_way(static_cast<double>(row) / rows_)));
    }
    int top_rows = rows_;
    if (!build_.shape.one_sheet) {
      for (const SectionPoint& point : build_.profile.margin(5)) add_skin_ring(point), ++top_rows;
    }
    add_fan(mesh_, crown, top, columns_, cap);
    add_outward_grid(top, top_rows, cap);
    if (build_.shape.one_sheet) return;

    // The under side shares the last ring of the skin and runs inwards.
    const std::uint32_t gills = mesh_.part_index("gills", build_.individual);
    const std::uint32_t edge = first() - static_cast<std::uint32_t>(columns_);
    const int under_rows = std::max(10, rows_ / 2);
    for (int i = 0; i < under_rows; ++i) {
      const double way = 1 - static_cast<double>(i) / under_rows;
      add_under_ring(build_.profile.under(build_.profile.q_at_way(way)));
    }
    const std::uint32_t centre = add_pole(build_.profile.under(0), under_colour(build_, 0));
    add_outward_grid(edge, under_rows + 1, gills);
    const auto last = static_cast<std::uint32_t>(centre - static_cast<std::uint32_t>(columns_));
    add_fan(mesh_, centre, last, columns_, gills, true);
  }

 private:
  std::uint32_t first() const { return static_cast<std::uint32_t>(mesh_.position.size()); }

  std::uint32_t add_pole(const SectionPoint& point, const glm::dvec3& colour) {
    mesh_.position.emplace_back(build_.place(0, 0, point.place));
    mesh_.tint.emplace_back(colour);
    return first() - 1;
  }

  void add_skin_ring(const SectionPoint& point) {
    for (int column = 0; column < columns_; ++column) {
      const double angle = 2 * pi * column / columns_;
      const glm::dvec2 section = point.place + skin_relief(build_, point.q, angle) * point.normal;
      mesh_.position.emplace_back(build_.place(point.q, angle, section));
      mesh_.tint.emplace_back(skin_colour(build_, point.q, angle));
    }
  }

  void add_under_ring(const SectionPoint& point) {
    const glm::vec3 colour(under_colour(build_, point.q));
    for (int column = 0; column < columns_; ++column) {
      mesh_.position.emplace_back(build_.place(point.q, 2 * pi * column / columns_, point.place));
      mesh_.tint.push_back(colour);
    }
  }

  // Rings follow one another outwards over the crown, down and back in below: rows go the other way than in a
  // grid whose columns run counter-clockwise, so each triangle is turned.
  void add_outward_grid(std::uint32_t from, int rows, std::uint32_t part) {
    const std::size_t before = mesh_.triangle.size();
    add_grid_triangles(mesh_, {from, rows, columns_, true}, part);
    for (std::size_t i = before; i < mesh_.triangle.size(); ++i)
      std::swap(mesh_.triangle[i].b, mesh_.triangle[i].c);
  }

  Mesh& mesh_;
  const MushroomBuild& build_;
  int columns_, rows_;
};

}  // namespace

void add_cap(Mesh& mesh, const MushroomBuild& build) {
  Mesh shell;
  CapBuilder(shell, build).build();
  smooth_normals(shell);
  mesh.append(shell);
}

}  // namespace undercap
