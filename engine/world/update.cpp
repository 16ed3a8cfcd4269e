#include "engine/world/update.h"

#include <algorithm>
#include <utility>

#include "engine/core/errors.h"
#include "engine/world/assemble.h"
#include "engine/world/placing.h"

namespace undercap {

void update_mix(World& world, const Scene& scene, bool daylight) {
  world.scene = scene;
  if (daylight) update_daylight(world);
  for (const Source& source : scene.sources) update_source(world, source, nullptr);
}

void update_lamps(World& world, const Scene& scene, const std::vector<std::string>& sources,
                  AimPoints& known) {
  world.scene = scene;
  for (const Source& source : scene.sources)
    if (std::find(sources.begin(), sources.end(), source.name) != sources.end())
      update_source(world, source, &known);
}

void update_light(World& world, const Scene& scene) {
  world.scene = scene;
  const std::vector<std::string> notes = world.notes;
  world.groups.clear();
  world.lamps.clear();
  world.sky = world.leaves = {};
  world.gaps = {};
  world.sky_below_lx = world.sky_by_height_lx = 0;
  add_lights(world);
  world.notes = notes;
}

bool update_camera(World& world, const Scene& scene) {
  const CameraRig before = world.camera;
  const std::vector<std::string> notes = world.notes;
  Scene old = std::exchange(world.scene, scene);
  world.backdrop.reset();
  try {
    set_camera(world);
  } catch (...) {
    world.scene = std::move(old);
    world.camera = before;
    world.notes = notes;
    set_camera(world);
    world.notes = notes;
    throw;
  }
  world.notes = notes;
  const Camera &a = old.camera, &b = scene.camera;
  const bool shades = a.barrel_mm > 0 || b.barrel_mm > 0 || a.body_shade || b.body_shade;
  const CameraRig& now = world.camera;
  const bool moved =
      before.pupil_m != now.pupil_m || before.forward != now.forward || before.right != now.right;
  return (shades && moved) || a.barrel_mm != b.barrel_mm || a.front_diameter_mm != b.front_diameter_mm ||
         a.front_ahead_mm != b.front_ahead_mm || a.body_shade != b.body_shade;
}

void move_card(World& world, const Scene& scene, const std::string& card) {
  world.scene = scene;
  const auto prop =
      std::find_if(scene.props.begin(), scene.props.end(), [&](const Prop& p) { return p.name == card; });
  UNDERCAP_CHECK(prop != scene.props.end() && prop->at_z_m, "a card that moves has a place of its own");
  const Stand stand = stands_of(scene, *prop, nullptr, world.notes).front();
  const Mesh mesh = prop->kind->build(stand.values, setting_of(scene, stand, nominal_view(scene, false)));
  std::size_t next = 0;
  for (const WorldTriangle& t : world.triangle) {
    if (world.parts[t.part].prop != card) continue;
    const MeshTriangle& own = mesh.triangle.at(next++);
    const std::pair<std::uint32_t, std::uint32_t> corners[] = {{t.a, own.a}, {t.b, own.b}, {t.c, own.c}};
    for (const auto& [to, from] : corners) {
      world.position[to] = stand.placement.turn * (glm::dvec3(mesh.position[from]) * stand.placement.scale) +
                           stand.placement.origin_m;
      world.normal[to] = stand.placement.turn * glm::dvec3(mesh.normal[from]);
    }
  }
  UNDERCAP_CHECK(next == mesh.triangle.size(), "a card keeps its triangles");
}

bool same_view(const Scene& a, const Scene& b) {
  const View first = nominal_view(a, false), second = nominal_view(b, false);
  return first.eye_m == second.eye_m && first.pixel_per_m == second.pixel_per_m;
}

bool same_geometry(const World& a, const World& b) {
  const auto same_triangle = [](const WorldTriangle& s, const WorldTriangle& t) {
    return s.a == t.a && s.b == t.b && s.c == t.c && s.part == t.part;
  };
  return a.parts.size() == b.parts.size() && a.position == b.position && a.normal == b.normal &&
         a.tint == b.tint && a.uv == b.uv &&
         std::equal(a.triangle.begin(), a.triangle.end(), b.triangle.begin(), b.triangle.end(),
                    same_triangle);
}

std::size_t first_kit_triangle(const World& world) {
  std::size_t first = world.triangle.size();
  while (first > 0 && world.parts[world.triangle[first - 1].part].prop.empty()) --first;
  return first;
}

}  // namespace undercap
