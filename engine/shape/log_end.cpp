#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/log_build.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr int ring_count = 26;

class EndBuilder {
 public:
  // 'side' is -1 for the left end, +1 for the right.
  EndBuilder(Mesh& mesh, const LogTube& tube, const LogShape& shape, int side)
      : mesh_(mesh),
        tube_(tube),
        shape_(shape),
        side_(side),
        seed_(shape.seed + (side > 0 ? 7u : 0u)),
        wood_(mesh.part_index("wood")) {
    const int row = side > 0 ? tube.rows - 1 : 0;
    for (int column = 0; column < tube.columns; ++column) {
      rim_.emplace_back(mesh.position[static_cast<std::size_t>(row * tube.columns + column)]);
    }
    for (const glm::dvec3& one : rim_) middle_ += one / static_cast<double>(rim_.size());
  }

  void build() {
    // The first ring repeats the rim, so that the wood has positions, and a sharp edge, of its own.
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    for (int ring = 0; ring < ring_count; ++ring) {
      for (int column = 0; column < tube_.columns; ++column)
        add_position(ring, static_cast<std::size_t>(column));
    }
    const auto centre = static_cast<std::uint32_t>(mesh_.position.size());
    mesh_.position.emplace_back(middle_ + glm::dvec3(depth(0, 0), 0, 0));
    mesh_.tint.emplace_back(colour(0, 0, middle_));
    const std::size_t before = mesh_.triangle.size();
    add_grid_triangles(mesh_, {first, ring_count, tube_.columns, true}, wood_);
    add_fan(mesh_, centre, centre - static_cast<std::uint32_t>(tube_.columns), tube_.columns, wood_);
    if (side_ > 0) return;
    for (std::size_t i = before; i < mesh_.triangle.size(); ++i)
      std::swap(mesh_.triangle[i].b, mesh_.triangle[i].c);
  }

  // Blades of torn fibre standing out of the break.
  void add_splinters() {
    Random random(hash_bits(seed_, 0x59u));
    const double size = std::clamp(shape_.radius / 60, 0.35, 2.0);
    for (int i = 0; i < 38; ++i) {
      const double angle = random.between(0, 2 * pi), q = std::sqrt(random.between(0.02, 0.86));
      const glm::dvec3 out = log_outward(angle);
      const glm::dvec3 turn = glm::dvec3(0, -std::cos(angle), -std::sin(angle));
      const double reach = q * shape_.radius * 0.9;
      const glm::dvec3 root = middle_ + reach * out + glm::dvec3(depth(q, angle) - side_ * 3.0 * size, 0, 0);
      const double length = size * random.between(4, 9) * random.between(0.7, 2.1);
      const double width = size * random.between(0.8, 3.4), thick = size * random.between(0.25, 0.6);
      const glm::dvec3 lean(side_, random.between(-0.22, 0.22), random.between(-0.22, 0.22));
      add_splinter(root, length * glm::normalize(lean), width * turn, thick * out, random.between(0.8, 1.3));
    }
  }

 private:
  void add_position(int ring, std::size_t column) {
    const double q = 1 - static_cast<double>(ring) / ring_count;
    const double angle = tube_.angle[column];
    const glm::dvec3 from_middle = rim_[column] - middle_;
    glm::dvec3 place = middle_ + q * from_middle;
    // Level with the rim at the rim, the break's own relief inside.
    const double inside = ramp(1.0, 0.84, q);
    place.x = middle_.x + mix(from_middle.x * q, depth(q, angle), inside);
    // The outermost ring coincides with the rim to the last bit, so that the log is closed.
    mesh_.position.emplace_back(ring == 0 ? rim_[column] : place);
    mesh_.tint.emplace_back(colour(q, angle, place));
  }

  // How far the break stands out along x from the rim's middle: torn in steps along the grain.
  double depth(double q, double angle) const {
    if (!shape_.broken)
      return side_ * 0.35 *
             fbm(glm::dvec2(6 * q * std::cos(angle), 40 * q * std::sin(angle)), 2, seed_ + 101);
    const glm::dvec2 place(q * std::cos(angle), q * std::sin(angle));
    const glm::dvec2 bent =
        place + 0.16 * glm::dvec2(fbm(3.0 * place, 2, seed_ + 102), fbm(3.0 * place, 2, seed_ + 103));
    const Cell block = cells(glm::dvec2(3.2 * bent.x, 6.0 * bent.y), seed_ + 104);
    const Cell sliver = cells(glm::dvec2(8 * bent.x, 15 * bent.y), seed_ + 105);
    const double torn = 0.20 * fbm(1.6 * place, 2, seed_ + 106) + 0.20 * (unit_from_bits(block.id) - 0.5) +
                        0.10 * (unit_from_bits(sliver.id) - 0.5) + 0.04 * fbm(14.0 * place, 2, seed_ + 107);
    return side_ * shape_.radius * (torn - 0.03);
  }

  glm::dvec3 colour(double q, double angle, const glm::dvec3& place) const {
    const glm::dvec2 flat(q * std::cos(angle), q * std::sin(angle));
    const double wander = fbm(2.2 * flat, 3, seed_ + 108);
    const double ring = std::sin(2 * pi * (q * shape_.radius / 3.4 + 1.3 * wander));
    const double check = ridged(glm::dvec2(3.4 * angle, 0.9 * q), 2, seed_ + 109);
    const double rot = fbm(1.5 * flat + 9.0, 3, seed_ + 110);
    glm::dvec3 made =
        mix(glm::dvec3(0.165, 0.098, 0.052), glm::dvec3(0.31, 0.21, 0.118), 0.62 + 0.30 * ring * ring * ring);
    made = mix(made, glm::dvec3(0.20, 0.185, 0.155), ramp(0.0, 0.6, rot));
    made *= 1 - 0.55 * ramp(0.80, 0.97, check) * ramp(0.1, 0.5, q);
    // Deep places keep dirt and wet.
    const double deep =
        shape_.broken ? ramp(0.05, -0.28, side_ * (place.x - middle_.x) / shape_.radius) : 0.0;
    made = mix(made, made * glm::dvec3(0.40, 0.34, 0.30), deep);
    return made * (1 + 0.35 * fbm(glm::dvec2(7 * flat.x, 40 * flat.y), 2, seed_ + 111)) *
           (1 - 0.5 * ramp(0.93, 1.0, q));
  }

  // A closed four-sided spike.
  void add_splinter(const glm::dvec3& root, const glm::dvec3& reach, const glm::dvec3& wide,
                    const glm::dvec3& thick, double shade) {
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    const glm::dvec3 corners[4] = {root - wide - thick, root + wide - thick, root + wide + thick,
                                   root - wide + thick};
    for (const glm::dvec3& corner : corners) mesh_.position.emplace_back(corner);
    mesh_.position.emplace_back(root + reach);
    mesh_.tint.insert(mesh_.tint.end(), 5, glm::vec3(shade * glm::dvec3(0.29, 0.205, 0.125)));
    const bool turned = glm::dot(glm::cross(wide, thick), reach) < 0;
    const std::size_t before = mesh_.triangle.size();
    add_fan(mesh_, first + 4, first, 4, wood_);
    mesh_.triangle.push_back({first, first + 2, first + 1, wood_});
    mesh_.triangle.push_back({first, first + 3, first + 2, wood_});
    if (!turned) return;
    for (std::size_t i = before; i < mesh_.triangle.size(); ++i)
      std::swap(mesh_.triangle[i].b, mesh_.triangle[i].c);
  }

  Mesh& mesh_;
  const LogTube& tube_;
  const LogShape& shape_;
  double side_;
  std::uint32_t seed_;
  std::uint32_t wood_;
  std::vector<glm::dvec3> rim_;
  glm::dvec3 middle_{0};
};

}  // namespace

void add_log_ends(Mesh& mesh, const LogTube& tube, const LogShape& shape) {
  for (const int side : {-1, 1}) {
    EndBuilder end(mesh, tube, shape, side);
    end.build();
    if (shape.broken) end.add_splinters();
  }
}

}  // namespace undercap
