#include "engine/render/packed_world.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/core/errors.h"
#include "engine/render/bvh.h"
#include "engine/world/update.h"

namespace undercap {
namespace {

using Texel = glm::uvec4;

constexpr std::uint32_t flat_normal = 0xffffffffu;  // read as 'use the triangle's own'

// Octahedral map, 16 bits a coordinate (Cigolle et al. 2014, JCGT 3(2)): error below 4e-5 rad.
std::uint32_t pack_normal(const glm::vec3& n) {
  if (n == glm::vec3(0)) return flat_normal;
  const float sum = std::abs(n.x) + std::abs(n.y) + std::abs(n.z);
  glm::vec2 e(n.x / sum, n.y / sum);
  if (n.z < 0)
    e = glm::vec2((1 - std::abs(e.y)) * (e.x >= 0 ? 1.f : -1.f),
                  (1 - std::abs(e.x)) * (e.y >= 0 ? 1.f : -1.f));
  const auto unit = [](float v) {
    return static_cast<std::uint32_t>(static_cast<std::uint16_t>(
        static_cast<std::int16_t>(std::lround(std::clamp(v, -1.f, 1.f) * 32767.f))));
  };
  const std::uint32_t packed = unit(e.x) | unit(e.y) << 16;
  return packed == flat_normal ? packed ^ 1u : packed;
}

// Ten bits a channel in steps of 1/512, so that 1 is exact.
std::uint32_t pack_tint(const glm::vec3& tint) {
  std::uint32_t packed = 0;
  for (int c = 0; c < 3; ++c)
    packed |= static_cast<std::uint32_t>(std::clamp(std::lround(tint[c] * 512.f), 0l, 1023l)) << (10 * c);
  return packed;
}

glm::vec4 vec4_of(const glm::dvec3& v, double w) { return {glm::vec3(v), static_cast<float>(w)}; }

void pack_places(const World& world, PackedWorld& to) {
  to.patterns = pattern_tables(world);
  std::vector<Texel> places;
  if (to.patterns.any)
    for (const std::uint32_t index : to.order) {
      const WorldTriangle& t = world.triangle[index];
      places.push_back(undercap::pack_places(world.uv[t.a], world.uv[t.b], world.uv[t.c]));
    }
  to.places = std::move(places);
}

void pack_glow(const World& world, PackedWorld& to) {
  std::vector<glm::vec4> table;
  double total = 0;
  std::vector<double> cumulative;
  for (std::size_t slot = 0; slot < to.order.size(); ++slot) {
    const WorldTriangle& t = world.triangle[to.order[slot]];
    const float emission = world.materials[world.parts[t.part].material].emission_cd_m2;
    if (emission <= 0) continue;
    const glm::dvec3 a(world.position[t.a]), b(world.position[t.b]), c(world.position[t.c]);
    total += static_cast<double>(emission) * 0.5 * glm::length(glm::cross(b - a, c - a));
    cumulative.push_back(total);
    table.emplace_back(std::bit_cast<float>(static_cast<std::uint32_t>(slot)), 0.f, 0.f, 0.f);
  }
  for (std::size_t i = 0; i < table.size(); ++i) table[i].y = static_cast<float>(cumulative[i] / total);
  to.frame.counts.w = static_cast<int>(table.size());
  to.frame.totals.x = static_cast<float>(total);
  to.glow = std::move(table);
}

void pack_triangles(const World& world, PackedWorld& to) {
  std::vector<std::array<glm::vec3, 3>> corners(world.triangle.size());
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const WorldTriangle& t = world.triangle[i];
    corners[i] = {world.position[t.a], world.position[t.b], world.position[t.c]};
  }
  Bvh bvh = build_bvh(corners);
  // One word a level, one for the bottom, one that is written before it is wanted.
  to.stack_size = bvh.levels + 2;
  std::vector<glm::vec4> triangles;
  std::vector<Texel> surfaces;
  triangles.reserve(corners.size() * 3);
  surfaces.reserve(corners.size() * 2);
  for (const std::uint32_t index : bvh.order) {
    const auto& [a, b, c] = corners[index];
    triangles.emplace_back(a, 0.f);
    triangles.emplace_back(b - a, 0.f);
    triangles.emplace_back(c - a, 0.f);
    const WorldTriangle& t = world.triangle[index];
    const glm::vec3 &na = world.normal[t.a], &nb = world.normal[t.b], &nc = world.normal[t.c];
    const bool flat = na == glm::vec3(0) || nb == glm::vec3(0) || nc == glm::vec3(0);
    surfaces.emplace_back(flat ? flat_normal : pack_normal(na), pack_normal(nb), pack_normal(nc),
                          world.parts[t.part].material | t.part << 16);
    surfaces.emplace_back(pack_tint(world.tint[t.a]), pack_tint(world.tint[t.b]), pack_tint(world.tint[t.c]),
                          0u);
  }
  to.nodes = std::move(bvh.node);
  to.triangles = std::move(triangles);
  to.surfaces = std::move(surfaces);
  to.order = std::move(bvh.order);
  const std::size_t first_kit = first_kit_triangle(world);
  for (std::uint32_t slot = 0; slot < to.order.size(); ++slot)
    if (to.order[slot] >= first_kit) to.kit.push_back(slot);
  pack_glow(world, to);
  pack_places(world, to);
}

void pack_materials(const World& world, PackedWorld& to) {
  std::vector<glm::vec4> materials;
  for (const Material& m : world.materials) {
    // GGX alpha is the square of the roughness (common practice); below 1/1000 the highlight is narrower than
    // the sun. Roughness 1 is no coat; a metal is never without its facets.
    const bool metal = m.mirror != glm::vec3(0), bare = m.roughness >= 1.f && !metal;
    const float alpha = bare ? 0.f : std::max(m.roughness * m.roughness, 1e-3f);
    materials.emplace_back(m.reflectance, alpha);
    materials.emplace_back(m.transmittance, m.emission_cd_m2);
    materials.emplace_back(m.mirror, m.wet);
  }
  to.materials = std::move(materials);
}

// The sky's map and the leaves' one behind the other; both have the same side where both exist.
void pack_skies(const World& world, PackedWorld& to) {
  const int side = std::max(world.sky.side, world.leaves.side);
  UNDERCAP_CHECK(world.sky.side == 0 || world.leaves.side == 0 || world.sky.side == world.leaves.side,
                 "the sky's map and the leaves' map have the same side");
  to.frame.sky.x = side;
  // Where there are leaves' light and no sky, the first map is black.
  const SkyMap black{
      side,
      std::vector<glm::vec3>(world.sky.side == side ? 0 : static_cast<std::size_t>((side + 1) * (side + 1)))};
  std::vector<glm::vec4> nodes, tree;
  for (const SkyMap* map : {&world.sky, &world.leaves}) {
    if (side == 0 || (map == &world.leaves && map->side == 0)) continue;
    const SkyMap& used = map->side > 0 ? *map : black;
    for (const glm::vec3& node : used.node) nodes.emplace_back(node, 0.f);
    const std::vector<glm::vec4> own = sky_tree(used);
    tree.insert(tree.end(), own.begin(), own.end());
    // A bilinear cell's mean is that of its corners.
    const glm::dvec4 top(own.front());
    const double sum = (top.x + top.y + top.z + top.w) / 4 * 2 * std::numbers::pi / (double(side) * side);
    to.frame.totals[map == &world.sky ? 1 : 2] = static_cast<float>(1 / std::max(sum, 1e-30));
  }
  to.sky_nodes = std::move(nodes);
  to.sky_tree = std::move(tree);
}

// 128 cells a texel, one bit each.
void pack_gaps(const GapLayer& gaps, PackedWorld& to) {
  std::vector<Texel> texels(gaps.open.size() / 128 + 1, Texel(0));
  for (std::size_t i = 0; i < gaps.open.size(); ++i)
    if (gaps.open[i]) texels[i / 128][static_cast<int>(i / 32 % 4)] |= 1u << i % 32;
  to.gaps = std::move(texels);
  to.frame.gaps = {glm::vec2(gaps.corner_m), static_cast<float>(gaps.cell_m),
                   static_cast<float>(gaps.height_m)};
  to.frame.film.y = static_cast<float>(gaps.side);
}

}  // namespace

std::vector<glm::vec4> sky_tree(const SkyMap& sky) {
  UNDERCAP_CHECK(std::has_single_bit(static_cast<unsigned>(sky.side)), "a sky map's side is a power of two");
  const auto node = [&](int row, int column) {
    return luminance_y(glm::dvec3(sky.node[static_cast<std::size_t>(row * (sky.side + 1) + column)]));
  };
  std::vector<double> sums;
  for (int row = 0; row < sky.side; ++row)
    for (int column = 0; column < sky.side; ++column)
      sums.push_back(node(row, column) + node(row, column + 1) + node(row + 1, column) +
                     node(row + 1, column + 1));
  std::vector<glm::vec4> tree((sums.size() - 1) / 3);
  std::size_t end = tree.size();
  for (int level = sky.side / 2; level >= 1; level /= 2) {
    const auto width = static_cast<std::size_t>(level);
    const std::size_t first = end - width * width;
    std::vector<double> above;
    for (std::size_t row = 0; row < width; ++row)
      for (std::size_t column = 0; column < width; ++column) {
        const std::size_t below = 2 * row * 2 * width + 2 * column;
        const glm::dvec4 quarters(sums[below], sums[below + 1], sums[below + 2 * width],
                                  sums[below + 2 * width + 1]);
        tree[first + row * width + column] = glm::vec4(quarters);
        above.push_back(quarters.x + quarters.y + quarters.z + quarters.w);
      }
    sums = std::move(above);
    end = first;
  }
  return tree;
}

void add_lamp_texels(const Lamp& lamp, std::size_t first_node, std::vector<glm::vec4>& to) {
  to.push_back(vec4_of(lamp.position_m, lamp.half_width_m));
  to.push_back(vec4_of(lamp.direction, lamp.half_height_m));
  to.push_back(vec4_of(lamp.right, lamp.area()));
  to.emplace_back(static_cast<float>(first_node), static_cast<float>(lamp.planes), lamp.rectangle ? 1.f : 0.f,
                  0.f);
}

void pack_lamps(const World& world, PackedWorld& to) {
  std::vector<glm::vec4> lamps;
  std::vector<float> beams;
  for (const Lamp& lamp : world.lamps) {
    add_lamp_texels(lamp, beams.size(), lamps);
    beams.insert(beams.end(), lamp.beam.begin(), lamp.beam.end());
  }
  to.lamps = std::move(lamps);
  to.beams = std::move(beams);
}

void pack_lights(const World& world, PackedWorld& to) {
  to.frame.counts.x = static_cast<int>(world.groups.size());
  to.frame.counts.z = static_cast<int>(world.lamps.size());
  to.frame.groups = {-1, -1, -1, static_cast<int>(world.groups.size() - world.lamps.size())};
  to.frame.sky = {0, -1, 0, 0};
  for (std::size_t i = 0; i < world.groups.size(); ++i) {
    const auto number = static_cast<int>(i);
    if (world.groups[i].kind == LightGroup::Kind::sky) to.frame.groups.x = number;
    if (world.groups[i].kind == LightGroup::Kind::sun) to.frame.groups.y = number;
    if (world.groups[i].kind == LightGroup::Kind::glow) to.frame.groups.z = number;
    if (world.groups[i].kind == LightGroup::Kind::canopy) to.frame.sky.y = number;
  }
  pack_skies(world, to);
  pack_gaps(world.gaps, to);
  to.frame.sun = vec4_of(world.sun_direction, 4 * std::pow(std::sin(sun_angular_radius.value() / 2), 2));
  pack_lamps(world, to);
}

void pack_camera(const World& world, PackedWorld& to) {
  const CameraRig& camera = world.camera;
  to.frame.pupil = vec4_of(camera.pupil_m, camera.pupil_distance.value());
  to.frame.right = vec4_of(camera.right, camera.width / camera.image_distance / 2);
  to.frame.up = vec4_of(camera.up, camera.height / camera.image_distance / 2);
  to.frame.forward = vec4_of(camera.forward, camera.clear_ahead.value());
  to.frame.window = {0, 0, 1, 1};
  to.frame.counts.y = static_cast<int>(camera.iris_m.size());
  to.frame.lens = glm::vec4(camera.rim_ahead.value(), camera.rim_diameter.value() / 2, camera.spherical_m,
                            entrance_pupil_diameter(camera.lens).value() / 2);
  const auto swing = camera.polariser.value_or(glm::dvec2(0));
  to.frame.polariser = vec4_of(swing.x * camera.right + swing.y * camera.up, 0);
  std::vector<glm::vec2> iris(camera.iris_m.begin(), camera.iris_m.end());
  to.iris = std::move(iris);
}

PackedWorld pack_world(const World& world) {
  PackedWorld packed;
  pack_triangles(world, packed);
  pack_materials(world, packed);
  pack_lights(world, packed);
  pack_camera(world, packed);
  // Both coats in one table: the dielectric's rows, then those of water.
  packed.coats = world.coat_table;
  packed.coats.insert(packed.coats.end(), world.water_table.begin(), world.water_table.end());
  packed.frame.film.x = static_cast<float>(world.film_return);
  packed.frame.film.z = static_cast<float>(world.film_alpha);
  packed.pattern_places = spread_pattern_places(world, packed.patterns, packed.order);
  return packed;
}

}  // namespace undercap
