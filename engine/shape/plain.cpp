// The plain kinds: plane, card, disc, sphere and box, each one part 'surface', centred on the origin.
//
// The disc and the sphere are polygons grown until their mesh area is the area of the true figure, so that
// what they emit and reflect in all directions together is that of the figure.
#include <cmath>
#include <glm/geometric.hpp>
#include <map>
#include <numbers>
#include <utility>

#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"

namespace undercap {
namespace {

constexpr int disc_segments = 256;
constexpr int sphere_subdivisions = 5;  // 20 * 4^5 = 20480 triangles

// Right-handed axes of a sheet seen from its normal's side: u to the right, v up. A sheet that stands has u
// level; one that lies has u along x.
struct Axes {
  glm::dvec3 u, v, normal;
};

Axes sheet_axes(const glm::dvec3& normal) {
  const double level = std::hypot(normal.x, normal.y);
  const glm::dvec3 u =
      level > 1e-6 ? glm::dvec3(-normal.y / level, normal.x / level, 0) : glm::dvec3(1, 0, 0);
  return {u, glm::cross(normal, u), normal};
}

Mesh rectangle(double width_m, double height_m, const glm::dvec3& normal) {
  const Axes axes = sheet_axes(normal);
  Mesh mesh;
  const std::uint32_t part = mesh.part_index("surface");
  for (const auto& [right, up] : {std::pair{-.5, -.5}, {.5, -.5}, {.5, .5}, {-.5, .5}}) {
    mesh.position.emplace_back(right * width_m * axes.u + up * height_m * axes.v);
    mesh.normal.emplace_back(normal);
  }
  mesh.triangle = {{0, 1, 2, part}, {0, 2, 3, part}};
  return mesh;
}

Mesh disc(double diameter_m, const glm::dvec3& normal) {
  const Axes axes = sheet_axes(normal);
  // A regular polygon of circumradius r has the area (n/2) r^2 sin(2 pi/n); it equals pi R^2 for this r.
  const double step = 2 * std::numbers::pi / disc_segments;
  const double radius = 0.5 * diameter_m * std::sqrt(step / std::sin(step));
  Mesh mesh;
  const std::uint32_t part = mesh.part_index("surface");
  mesh.position.emplace_back(0.0f);
  for (int i = 0; i < disc_segments; ++i) {
    mesh.position.emplace_back(radius * (std::cos(i * step) * axes.u + std::sin(i * step) * axes.v));
  }
  mesh.normal.assign(mesh.position.size(), glm::vec3(normal));
  add_fan(mesh, 0, 1, disc_segments, part);
  return mesh;
}

// The icosahedron, corners on the unit sphere, faces counter-clockwise from outside.
Mesh icosahedron() {
  const double phi = std::numbers::phi;
  Mesh mesh;
  for (const glm::dvec3& corner : {glm::dvec3(-1, phi, 0),
                                   {1, phi, 0},
                                   {-1, -phi, 0},
                                   {1, -phi, 0},
                                   {0, -1, phi},
                                   {0, 1, phi},
                                   {0, -1, -phi},
                                   {0, 1, -phi},
                                   {phi, 0, -1},
                                   {phi, 0, 1},
                                   {-phi, 0, -1},
                                   {-phi, 0, 1}}) {
    mesh.position.emplace_back(glm::normalize(corner));
  }
  constexpr std::uint32_t faces[20][3] = {{0, 11, 5}, {0, 5, 1},  {0, 1, 7},   {0, 7, 10}, {0, 10, 11},
                                          {1, 5, 9},  {5, 11, 4}, {11, 10, 2}, {10, 7, 6}, {7, 1, 8},
                                          {3, 9, 4},  {3, 4, 2},  {3, 2, 6},   {3, 6, 8},  {3, 8, 9},
                                          {4, 9, 5},  {2, 4, 11}, {6, 2, 10},  {8, 6, 7},  {9, 8, 1}};
  const std::uint32_t part = mesh.part_index("surface");
  for (const auto& face : faces) mesh.triangle.push_back({face[0], face[1], face[2], part});
  return mesh;
}

// Every triangle in four, the new corners pushed out to the unit sphere.
void subdivide(Mesh& mesh) {
  std::map<std::pair<std::uint32_t, std::uint32_t>, std::uint32_t> middles;
  const auto middle = [&](std::uint32_t a, std::uint32_t b) {
    const auto [found, added] =
        middles.try_emplace(std::minmax(a, b), static_cast<std::uint32_t>(mesh.position.size()));
    if (added) {
      mesh.position.emplace_back(glm::normalize(glm::dvec3(mesh.position[a]) + glm::dvec3(mesh.position[b])));
    }
    return found->second;
  };
  std::vector<MeshTriangle> finer;
  finer.reserve(mesh.triangle.size() * 4);
  for (const MeshTriangle& one : mesh.triangle) {
    const std::uint32_t ab = middle(one.a, one.b), bc = middle(one.b, one.c), ca = middle(one.c, one.a);
    finer.push_back({one.a, ab, ca, one.part});
    finer.push_back({ab, one.b, bc, one.part});
    finer.push_back({ca, bc, one.c, one.part});
    finer.push_back({ab, bc, ca, one.part});
  }
  mesh.triangle = std::move(finer);
}

Mesh sphere(double diameter_m) {
  Mesh mesh = icosahedron();
  for (int i = 0; i < sphere_subdivisions; ++i) subdivide(mesh);
  mesh.normal = mesh.position;
  const double growth = std::sqrt(4 * std::numbers::pi / surface_area(mesh));
  scale_mesh(mesh, static_cast<float>(0.5 * diameter_m * growth));
  return mesh;
}

// Faceted: without normals each face shades flat.
Mesh box(const glm::dvec3& size_m) {
  Mesh mesh;
  const std::uint32_t part = mesh.part_index("surface");
  for (int corner = 0; corner < 8; ++corner) {
    const glm::dvec3 sign((corner & 1) != 0 ? .5 : -.5, (corner & 2) != 0 ? .5 : -.5,
                          (corner & 4) != 0 ? .5 : -.5);
    mesh.position.emplace_back(sign * size_m);
  }
  constexpr std::uint32_t faces[6][4] = {{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4},
                                         {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}};
  for (const auto& face : faces) {
    mesh.triangle.push_back({face[0], face[1], face[2], part});
    mesh.triangle.push_back({face[0], face[2], face[3], part});
  }
  return mesh;
}

KindKey normal_key(std::string fallback) {
  return triple_key("normal", std::move(fallback), -1, 1, "where the front looks; any length but 0");
}

KindKey diameter_key() { return number_key("diameter_mm", "100", 0.01, 100000, "diameter"); }

}  // namespace

Kind plane_kind() {
  return {"plane",
          "a flat rectangle, centred on its place",
          {pair_key("size_m", "[1, 1]", 0.0001, 10000, "width (level, or along x where it lies) and depth"),
           normal_key("[0, 0, 1]")},
          {{"surface", {}, true}},
          [](const KeyValues& values, const Setting&) {
            const glm::dvec2 size = pair(values, "size_m");
            return rectangle(size.x, size.y, direction(values, "normal"));
          }};
}

Kind card_kind() {
  return {
      "card",
      "a flat card held in: white, or of the card or foil that its material says, centred on its place",
      {pair_key("size_mm", "[200, 300]", 0.1, 10000, "width (level) and height"), normal_key("[0, -1, 0]")},
      {part_of("surface", "pale_card", true)},
      [](const KeyValues& values, const Setting&) {
        const glm::dvec2 size = pair(values, "size_mm") * 1e-3;
        return rectangle(size.x, size.y, direction(values, "normal"));
      }};
}

Kind disc_kind() {
  return {"disc",
          "a flat disc, centred on its place: 256 sides, of the true circle's area",
          {diameter_key(), normal_key("[0, 0, 1]")},
          {{"surface", {}, true}},
          [](const KeyValues& values, const Setting&) {
            return disc(number(values, "diameter_mm") * 1e-3, direction(values, "normal"));
          }};
}

Kind sphere_kind() {
  return {
      "sphere",
      "a ball, centred on its place: 20480 triangles, of the true sphere's area",
      {diameter_key()},
      {{"surface", {}, false}},
      [](const KeyValues& values, const Setting&) { return sphere(number(values, "diameter_mm") * 1e-3); }};
}

Kind box_kind() {
  return {"box",
          "a closed block with flat faces, centred on its place",
          {triple_key("size_mm", "[100, 100, 100]", 0.1, 100000, "width along x, depth along y, height")},
          {{"surface", {}, false}},
          [](const KeyValues& values, const Setting&) { return box(triple(values, "size_mm") * 1e-3); }};
}

}  // namespace undercap
