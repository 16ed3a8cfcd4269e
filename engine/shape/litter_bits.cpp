#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/leaf.h"
#include "engine/shape/litter.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/twig.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double golden_angle = 2.399963229728653;  // rad, pi (3 - sqrt 5)

// Appends a body whose triangles all go to one part that is already there.
void append_as(Mesh& mesh, const Mesh& body, std::uint32_t part) {
  const auto first = static_cast<std::uint32_t>(mesh.position.size());
  mesh.position.insert(mesh.position.end(), body.position.begin(), body.position.end());
  mesh.normal.insert(mesh.normal.end(), body.normal.begin(), body.normal.end());
  mesh.tint.insert(mesh.tint.end(), body.tint.begin(), body.tint.end());
  mesh.uv.insert(mesh.uv.end(), body.uv.begin(), body.uv.end());
  mesh.uv.resize(mesh.position.size(), glm::vec2(0));
  for (const MeshTriangle& one : body.triangle)
    mesh.triangle.push_back({first + one.a, first + one.b, first + one.c, part});
}

}  // namespace

glm::dvec3 Pose::turned(const glm::dvec3& p) const {
  const double cr = std::cos(roll), sr = std::sin(roll), ct = std::cos(tip), st = std::sin(tip);
  const glm::dvec3 a(cr * p.x + sr * p.z, p.y, -sr * p.x + cr * p.z);
  const glm::dvec3 b(a.x, ct * a.y - st * a.z, st * a.y + ct * a.z);
  const glm::dvec3 c(std::cos(yaw) * b.x - std::sin(yaw) * b.y, std::sin(yaw) * b.x + std::cos(yaw) * b.y,
                     b.z);
  if (slope == glm::dvec2(0)) return c;
  // The shortest turn that brings z to the slope's normal (Rodrigues' formula, from memory).
  const glm::dvec3 normal = glm::normalize(glm::dvec3(-slope, 1));
  const glm::dvec3 axis(-normal.y, normal.x, 0);
  return c * normal.z + glm::cross(axis, c) + axis * (glm::dot(axis, c) / (1 + normal.z));
}

void turn_and_move(Mesh& body, const Pose& pose, const glm::dvec2& at) {
  glm::vec3 low(1e9f), high(-1e9f);
  for (const glm::vec3& p : body.position) low = glm::min(low, p), high = glm::max(high, p);
  const glm::dvec3 middle = 0.5 * (glm::dvec3(low) + glm::dvec3(high));
  for (glm::vec3& p : body.position) p = glm::vec3(pose.turned(glm::dvec3(p) - middle) + glm::dvec3(at, 0.0));
  for (glm::vec3& n : body.normal) n = glm::vec3(pose.turned(glm::dvec3(n)));
}

void raise(Mesh& body, double by) {
  for (glm::vec3& p : body.position) p.z = static_cast<float>(static_cast<double>(p.z) + by);
}

double SpiralPlaces::weight_within(double r) const {
  const double inner = std::min(r, even_m_);
  return pi * inner * inner + 2 * pi * even_m_ * std::max(r - even_m_, 0.0);
}

glm::dvec2 SpiralPlaces::at(double share, int number, double turn) const {
  const double weight = share * area_m2(), even = pi * even_m_ * even_m_;
  const double r = weight <= even ? std::sqrt(weight / pi) : even_m_ + (weight - even) / (2 * pi * even_m_);
  const double angle = number * golden_angle + turn;
  return {r * std::cos(angle), r * std::sin(angle)};
}

void strew_scraps(Mesh& mesh, const SpiralPlaces& places, const Floor& floor, int count, double leaf_length,
                  bool near, std::uint32_t seed) {
  const std::uint32_t part = mesh.part_index("scrap");
  mesh.parts[part].pattern = {.kind = PatternKind::leaf,
                              .seed = hash_bits(seed, 3),
                              .size_mm = static_cast<float>(0.4 * leaf_length),
                              .lines = 3,
                              .tone = {0.55f, 0.44f, 0.42f},
                              .wear = 0.8f};
  for (int i = 0; i < count; ++i) {
    Random random(hash_bits(seed, 0x5000000u + static_cast<std::uint32_t>(i)));
    const glm::dvec2 at = places.at((i + 0.5) / count, i, unit_from_bits(hash_bits(seed, 6)) * 2 * pi) +
                          0.03 * glm::dvec2(random.spread(), random.spread());
    const double r = glm::length(at);
    if (!floor.may_lie(at) || (near && r > 0.6)) continue;
    LeafShape shape = fallen_leaf(random, leaf_length, 0.2, 0.04);
    shape.form = LeafForm::scrap;
    shape.length = leaf_length * random.between(0.08, 0.36);
    shape.crinkle *= 3;
    shape.wave = random.between(0.0, 0.06);
    shape.age = 1;
    shape.colour *= random.between(0.55, 0.95);
    const bool fine = near && r < 0.2;
    Mesh body = leaf_mesh(shape, fine ? 8 : 5, fine ? 6 : 3);
    turn_and_move(body, {0.45 * random.spread(), 0.40 * random.spread(), random.between(0, 2 * pi)},
                  1e3 * at);
    double least = 1e9;
    for (const glm::vec3& p : body.position) {
      const glm::dvec3 q(p);
      least = std::min(least, q.z - floor.height(q.x, q.y));
    }
    raise(body, random.between(-1.2, 1.0) - least);
    append_as(mesh, body, part);
  }
}

void strew_twigs(Mesh& mesh, const SpiralPlaces& places, const Floor& floor, int count,
                 const std::function<double(const glm::dvec2& at_m)>& cleared, std::uint32_t seed) {
  for (int i = 0; i < count; ++i) {
    Random random(hash_bits(seed, 0x7000000u + static_cast<std::uint32_t>(i)));
    const glm::dvec2 at = places.at((i + 0.5) / count, i, unit_from_bits(hash_bits(seed, 7)) * 2 * pi) +
                          0.06 * glm::dvec2(random.spread(), random.spread());
    TwigShape shape;
    shape.length = random.between(50, 170);
    shape.radius = random.between(0.7, 2.1);
    shape.orders = random.chance(0.6) ? 2 : 1;
    shape.seed = random.bits();
    const double yaw = random.between(0, 2 * pi), rise = random.between(1, 5);
    if (!floor.may_lie(at) || (cleared(at) > 0.5 && shape.radius > 1.1)) continue;
    Mesh twig = make_twig(shape);
    for (glm::vec3& place : twig.position) {
      const glm::dvec3 p = Pose{0, 0, yaw}.turned(glm::dvec3(place));
      // The line of the ground a little inwards, so that a twig bends over a hump rather than follow it.
      place = glm::vec3(1e3 * at.x + p.x, 1e3 * at.y + p.y,
                        p.z + rise + floor.height(1e3 * at.x + 0.9 * p.x, 1e3 * at.y + 0.9 * p.y));
    }
    smooth_normals(twig);
    const auto part = static_cast<std::uint32_t>(mesh.parts.size());
    mesh.parts.push_back({"twig", i + 1, {}, twig.parts[0].pattern});
    append_as(mesh, twig, part);
  }
}

// Crumbs lie only where one is near enough to see them, half buried.
void strew_crumbs(Mesh& mesh, double radius_m, double per_m2, const Floor& floor, std::uint32_t seed) {
  const std::uint32_t part = mesh.part_index("crumb");
  const auto count = static_cast<int>(per_m2 * pi * radius_m * radius_m);
  for (int i = 0; i < count; ++i) {
    Random random(hash_bits(seed, 0x3000000u + static_cast<std::uint32_t>(i)));
    const double r = radius_m * std::sqrt((i + 0.5) / count), angle = i * golden_angle;
    const glm::dvec2 at = r * glm::dvec2(std::cos(angle), std::sin(angle)) +
                          0.006 * glm::dvec2(random.spread(), random.spread());
    const double size = random.between(0.9, 2.2) * (1 + 1.6 * std::pow(random.unit(), 4.0));
    const double stretch = random.chance(0.3) ? random.between(2.0, 7.0) : random.between(0.9, 1.6);
    if (!floor.may_lie(at)) continue;
    Mesh crumb = make_crumb(stretch > 2 ? 0.5 * size : size, stretch, random.bits());
    turn_and_move(crumb, {random.between(0, 2 * pi), 0.2 * random.spread(), random.between(0, 2 * pi)},
                  1e3 * at);
    raise(crumb, floor.height(1e3 * at.x, 1e3 * at.y) + 0.15 * size);
    smooth_normals(crumb);
    append_as(mesh, crumb, part);
  }
}

}  // namespace undercap
