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

// Pleats over the gills: shallow lines at a striate margin, deep ones at a sulcate one. 0 between the gills,
// 1 above them.
double pleat(const MushroomShape& shape, double way, double angle) {
  const bool sulcate = shape.margin_form == MarginForm::sulcate;
  const double from = sulcate ? 0.45 : shape.margin_form == MarginForm::striate ? 0.74 : 0.3;
  return (0.5 + 0.5 * std::cos(shape.gill_count * angle)) * ramp(from, from + 0.45, way);
}

// How far the skin stands off the smooth profile, mm: fine fibres, and pleats between the gills.
double skin_relief(const MushroomBuild& build, const SectionPoint& point, double angle) {
  const double way = point.way;
  const MushroomShape& shape = build.shape;
  const glm::dvec3 fibre(9 * std::cos(angle), 9 * std::sin(angle), 1.6 * way);
  const double fibres = 0.007 * fbm(build.warp.offset() + fibre, 2, shape.seed + 22) * ramp(0.05, 0.3, way);
  double depth = shape.one_sheet ? 0.035 * shape.striae : 0.0;
  if (shape.margin_form == MarginForm::striate) depth = std::max(depth, 0.012);
  if (shape.margin_form == MarginForm::sulcate) depth = 0.05;
  // Pleats are as deep as they are wide at most.
  depth = std::min(depth, 2.2 / shape.gill_count);
  if (!shape.one_sheet) depth = std::min(depth, 0.6 * build.profile.thickness(point.q) / shape.cap_radius);
  return shape.cap_radius * (fibres - depth * (1 - pleat(shape, way, angle)) * ramp(0.3, 0.6, way));
}

// Slow changes of the skin's colour that its pattern does not know; only their ratios count, since tints are
// balanced.
glm::dvec3 skin_colour(const MushroomBuild& build, double way) {
  const MushroomShape& shape = build.shape;
  // The margin is thin and pale, youngest at its very edge.
  const double edge = (shape.one_sheet ? 0.10 : 0.22) * ramp(0.95, 0.995, way);
  const double individual = 0.90 + 0.20 * unit_from_bits(hash_bits(shape.seed, 5));
  return glm::dvec3(1 + edge, 1 + 1.25 * edge, 1 + 1.5 * edge) * (1 - 0.34 * shape.youth) * individual;
}

int columns_of(const MushroomShape& shape) {
  const int least = std::max(20, static_cast<int>(64 / shape.spacing));
  int columns = std::clamp(static_cast<int>(2 * pi * shape.cap_radius / (0.9 * shape.spacing)), least, 176);
  // A pleat needs four columns to be seen as one.
  const bool pleated = shape.margin_form == MarginForm::sulcate || (shape.one_sheet && shape.striae > 0);
  if (pleated && shape.spacing < 2.5) columns = std::clamp(4 * shape.gill_count, columns, 240);
  return columns;
}
int rows_of(const MushroomShape& shape) {
  const int least = std::max(9, static_cast<int>(24 / shape.spacing));
  return std::clamp(static_cast<int>((shape.cap_radius + 0.7 * shape.cap_height) / (0.9 * shape.spacing)),
                    least, 48);
}

class CapBuilder {
 public:
  CapBuilder(Mesh& mesh, const MushroomBuild& build)
      : mesh_(mesh), build_(build), columns_(columns_of(build.shape)), rows_(rows_of(build.shape)) {}

  void build() {
    const MushroomShape& shape = build_.shape;
    const std::uint32_t cap =
        build_.part(mesh_, "cap", PatternKind::cap, static_cast<float>(shape.cap_radius));
    const std::uint32_t crown = add_pole(build_.profile.top(0), skin_colour(build_, 0), 0);
    const std::uint32_t top = first();
    for (int row = 1; row <= rows_; ++row) {
      // The curl of the margin gets its share of the rows.
      const double share = static_cast<double>(row) / rows_;
      add_skin_ring(build_.profile.top(share * (1.28 - 0.28 * share)));
    }
    int top_rows = rows_;
    if (!shape.one_sheet) {
      for (const SectionPoint& point : build_.profile.margin(shape.spacing < 2 ? 5 : 2))
        add_skin_ring(point), ++top_rows;
    }
    add_fan(mesh_, crown, top, columns_, cap);
    add_outward_grid(top, top_rows, cap);
    if (!shape.one_sheet) add_under_side(first() - static_cast<std::uint32_t>(columns_));
  }

 private:
  std::uint32_t first() const { return static_cast<std::uint32_t>(mesh_.position.size()); }

  // The under side shares the last ring of the skin and runs inwards: a thin sheet at the margin, which light
  // passes, solid flesh within.
  void add_under_side(std::uint32_t edge) {
    const MushroomShape& shape = build_.shape;
    const float size = static_cast<float>(shape.cap_radius);
    const int rows = std::max(6, rows_ / 2);
    if (shape.pores) {
      const std::uint32_t pores = build_.part(mesh_, "pores", PatternKind::pores, size);
      add_under_rings(1.0, 0.03, rows);
      close_under(edge, rows + 1, pores);
      return;
    }
    const std::uint32_t gills = build_.part(mesh_, "gills", PatternKind::gills, size);
    const std::uint32_t flesh = build_.part(mesh_, "flesh", PatternKind::gills, size);
    const double thin = std::clamp(build_.profile.way_at_thin_flesh(), 0.5, 0.97);
    const int outer = std::max(3, rows / 3), inner = rows - outer;
    add_under_rings(1.0, thin, outer);
    add_outward_grid(edge, outer + 1, gills);
    const std::uint32_t border = first() - static_cast<std::uint32_t>(columns_);
    add_under_rings(thin - (thin - 0.03) / inner, 0.03, inner);
    close_under(border, inner + 1, flesh);
  }

  void close_under(std::uint32_t from, int rows, std::uint32_t part) {
    const std::uint32_t last = first() - static_cast<std::uint32_t>(columns_);
    const std::uint32_t centre = add_pole(build_.profile.under(0), glm::dvec3(1), 0);
    add_outward_grid(from, rows, part);
    add_fan(mesh_, centre, last, columns_, part, true);
  }

  std::uint32_t add_pole(const SectionPoint& point, const glm::dvec3& colour, double along) {
    mesh_.position.emplace_back(build_.place(0, 0, point.place));
    mesh_.tint.emplace_back(colour);
    mesh_.uv.emplace_back(0.f, along);
    return first() - 1;
  }

  void add_skin_ring(const SectionPoint& point) {
    const glm::vec3 colour(skin_colour(build_, point.way));
    for (int column = 0; column < columns_; ++column) {
      const double angle = 2 * pi * column / columns_;
      const glm::dvec2 section = point.place + skin_relief(build_, point, angle) * point.normal;
      mesh_.position.emplace_back(build_.place(point.q, angle, section));
      mesh_.tint.push_back(colour);
      mesh_.uv.emplace_back(static_cast<double>(column) / columns_, point.way);
    }
  }

  void add_under_rings(double from, double to, int count) {
    const double inner = build_.gills_begin();
    for (int i = 0; i < count; ++i) {
      const double way = mix(from, to, count > 1 ? static_cast<double>(i) / (count - 1) : 0.0);
      const SectionPoint point = build_.profile.under(way);
      const double along = std::clamp((way - inner) / (1 - inner), 0.0, 1.0);
      for (int column = 0; column < columns_; ++column) {
        const double angle = 2 * pi * column / columns_;
        mesh_.position.emplace_back(build_.place(point.q, angle, point.place));
        mesh_.tint.emplace_back(1.f);
        mesh_.uv.emplace_back(along, 0.f);
      }
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
