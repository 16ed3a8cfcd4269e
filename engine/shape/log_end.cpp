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

class EndBuilder {
 public:
  // 'side' is -1 for the left end, +1 for the right.
  EndBuilder(Mesh& mesh, const LogTube& tube, const LogShape& shape, int side)
      : mesh_(mesh),
        tube_(tube),
        shape_(shape),
        side_(side),
        broken_(side > 0 ? shape.right_broken : shape.left_broken),
        seed_(shape.seed + (side > 0 ? 7u : 0u)),
        wood_(mesh.part_index("wood")),
        rings_(std::clamp(static_cast<int>(shape.detail * shape.radius /
                                           std::max({1.6, 0.022 * shape.radius, 3 * shape.pixel})),
                          6, broken_ ? 32 : 14)) {
    Random random(hash_bits(seed_, 0x5eu));
    const double towards = random.between(0, 2 * pi);
    slope_ = random.between(0.1, 0.45) * glm::dvec2(std::cos(towards), std::sin(towards));
    const int row = side > 0 ? tube.rows - 1 : 0;
    for (int column = 0; column < tube.columns; ++column) {
      rim_.emplace_back(mesh.position[static_cast<std::size_t>(row * tube.columns + column)]);
    }
    for (const glm::dvec3& one : rim_) middle_ += one / static_cast<double>(rim_.size());
  }

  void build() {
    // The first ring repeats the rim, so that the wood has positions, and a sharp edge, of its own.
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    for (int ring = 0; ring < rings_; ++ring) {
      for (int column = 0; column < tube_.columns; ++column)
        add_position(ring, static_cast<std::size_t>(column));
    }
    const auto centre = static_cast<std::uint32_t>(mesh_.position.size());
    mesh_.position.emplace_back(middle_ + glm::dvec3(depth(0, 0), 0, 0));
    mesh_.tint.emplace_back(tint(0, 0, middle_));
    mesh_.uv.emplace_back(0, 0);
    const std::size_t before = mesh_.triangle.size();
    add_grid_triangles(mesh_, {first, rings_, tube_.columns, true}, wood_);
    add_fan(mesh_, centre, centre - static_cast<std::uint32_t>(tube_.columns), tube_.columns, wood_);
    if (side_ > 0) return;
    for (std::size_t i = before; i < mesh_.triangle.size(); ++i)
      std::swap(mesh_.triangle[i].b, mesh_.triangle[i].c);
  }

  // Blades of torn fibre standing out of the break.
  void add_splinters() {
    Random random(hash_bits(seed_, 0x59u));
    const double size = std::clamp(shape_.radius / 60, 0.35, 2.0);
    const int count = shape_.pixel > 2 ? 16 : 64;
    for (int i = 0; i < count; ++i) {
      const double angle = random.between(0, 2 * pi), q = std::sqrt(random.between(0.02, 0.72));
      const glm::dvec3 out = log_outward(angle);
      const glm::dvec3 turn = glm::dvec3(0, -std::cos(angle), -std::sin(angle));
      const double reach = q * shape_.radius * 0.92;
      const glm::dvec3 root = middle_ + reach * out + glm::dvec3(depth(q, angle) - side_ * 4.0 * size, 0, 0);
      const double length = size * random.between(6, 12) * random.between(0.7, 2.6);
      const double width = size * random.between(0.5, 3.0), thick = size * random.between(0.2, 0.6);
      const glm::dvec3 lean(side_, random.between(-0.16, 0.16), random.between(-0.16, 0.16));
      add_splinter(root, length * glm::normalize(lean), width * turn, thick * out, random.between(0.7, 1.35));
      mesh_.uv.insert(mesh_.uv.end(), 5, glm::vec2(angle / (2 * pi), q));
    }
  }

 private:
  void add_position(int ring, std::size_t column) {
    const double q = 1 - static_cast<double>(ring) / rings_;
    const double angle = tube_.angle[column];
    const glm::dvec3 from_middle = rim_[column] - middle_;
    glm::dvec3 place = middle_ + q * from_middle;
    // Level with the rim at the rim, the break's own relief inside.
    const double inside = ramp(1.0, 0.84, q);
    place.x = middle_.x + mix(from_middle.x * q, depth(q, angle), inside);
    // The outermost ring coincides with the rim to the last bit, so that the log is closed.
    mesh_.position.emplace_back(ring == 0 ? rim_[column] : place);
    mesh_.tint.emplace_back(tint(q, angle, place));
    mesh_.uv.emplace_back(angle / (2 * pi) - std::floor(angle / (2 * pi)), q);
  }

  // How far the break stands out along x from the rim's middle: torn in steps along the grain.
  double depth(double q, double angle) const {
    if (!broken_)
      return side_ * 0.35 *
             fbm(glm::dvec2(6 * q * std::cos(angle), 40 * q * std::sin(angle)), 2, seed_ + 101);
    const glm::dvec2 place(q * std::cos(angle), q * std::sin(angle));
    const glm::dvec2 bent =
        place + 0.16 * glm::dvec2(fbm(3.0 * place, 2, seed_ + 102), fbm(3.0 * place, 2, seed_ + 103));
    // Fibres part in steps: blocks, shards along the rings, slivers; each stands at its own height.
    const Cell block = cells(glm::dvec2(2.6 * bent.x, 4.0 * bent.y), seed_ + 104);
    const Cell shard = cells(glm::dvec2(9 * bent.x + 2 * bent.y, 22 * bent.y), seed_ + 105);
    const Cell sliver = cells(glm::dvec2(26 * bent.x, 60 * bent.y), seed_ + 107);
    const double torn = 0.16 * fbm(1.6 * place, 2, seed_ + 106) + 0.30 * (unit_from_bits(block.id) - 0.5) +
                        0.22 * (unit_from_bits(shard.id) - 0.5) + 0.07 * (unit_from_bits(sliver.id) - 0.5) +
                        slope_.x * place.x + slope_.y * place.y;
    return side_ * shape_.radius * (0.8 * torn - 0.03);
  }

  // Rot and dirt, which change slowly over the end; the rings are the pattern's.
  glm::dvec3 tint(double q, double angle, const glm::dvec3& place) const {
    const glm::dvec2 flat(q * std::cos(angle), q * std::sin(angle));
    const double rot = fbm(1.5 * flat + 9.0, 3, seed_ + 110);
    glm::dvec3 made = mix(glm::dvec3(1.1, 1.04, 0.98), glm::dvec3(0.80, 0.86, 0.95),
                          ramp(0.0, 0.6, rot + 0.6 * (shape_.age - 0.5)));
    // Deep places keep dirt and wet.
    const double deep = broken_ ? ramp(0.05, -0.28, side_ * (place.x - middle_.x) / shape_.radius) : 0.0;
    made = mix(made, made * glm::dvec3(0.40, 0.34, 0.30), deep);
    return made * (1 - 0.35 * ramp(0.93, 1.0, q));
  }

  // A closed four-sided spike.
  void add_splinter(const glm::dvec3& root, const glm::dvec3& reach, const glm::dvec3& wide,
                    const glm::dvec3& thick, double shade) {
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    const glm::dvec3 corners[4] = {root - wide - thick, root + wide - thick, root + wide + thick,
                                   root - wide + thick};
    for (const glm::dvec3& corner : corners) mesh_.position.emplace_back(corner);
    mesh_.position.emplace_back(root + reach);
    mesh_.tint.insert(mesh_.tint.end(), 5, glm::vec3(shade * glm::dvec3(1.15, 1.08, 1.0)));
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
  bool broken_;
  std::uint32_t seed_;
  std::uint32_t wood_;
  int rings_;
  glm::dvec2 slope_{0};  // of the whole break, rise over radius
  std::vector<glm::dvec3> rim_;
  glm::dvec3 middle_{0};
};

}  // namespace

void add_log_ends(Mesh& mesh, const LogTube& tube, const LogShape& shape) {
  for (const int side : {-1, 1}) {
    EndBuilder end(mesh, tube, shape, side);
    end.build();
    if (side > 0 ? shape.right_broken : shape.left_broken) end.add_splinters();
  }
}

}  // namespace undercap
