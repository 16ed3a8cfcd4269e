// In the bundled scenes nothing floats, and nothing is cut by what it stands on but where it should be.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <limits>
#include <map>
#include <optional>

#include "engine/scene/load.h"
#include "engine/world/assemble.h"
#include "engine/world/host_surface.h"

namespace undercap {
namespace {

struct Body {
  std::vector<glm::dvec3> corners;
  double height() const {
    const auto [low, high] = std::minmax_element(corners.begin(), corners.end(),
                                                 [](const auto& a, const auto& b) { return a.z < b.z; });
    return high->z - low->z;
  }
};

// By prop and by number.
std::map<std::string, std::map<int, Body>> individuals_of(const World& world) {
  std::map<std::string, std::map<int, Body>> bodies;
  for (const WorldTriangle& t : world.triangle) {
    const WorldPart& part = world.parts[t.part];
    Body& body = bodies[part.prop][part.individual];
    for (const std::uint32_t corner : {t.a, t.b, t.c}) body.corners.emplace_back(world.position[corner]);
  }
  return bodies;
}

HostSurface surface_of(const World& world, const std::string& prop) {
  std::vector<HostSurface::Corners> triangles;
  for (const WorldTriangle& t : world.triangle)
    if (world.parts[t.part].prop == prop)
      triangles.push_back({world.position[t.a], world.position[t.b], world.position[t.c]});
  return HostSurface(std::move(triangles));
}

// How far the nearest corner is above what the body stands on: negative where it is sunk in.
double gap_to_ground(const Scene& scene, const Body& body) {
  double least = std::numeric_limits<double>::infinity();
  for (const glm::dvec3& p : body.corners)
    least = std::min(least, p.z - floor_height_m(scene.ground, p.x, p.y));
  return least;
}

double gap_to_host(const HostSurface& host, const Body& body) {
  double least = std::numeric_limits<double>::infinity();
  // One in eight will do to find a foot, which has some hundred corners.
  for (std::size_t i = 0; i < body.corners.size(); i += 8) {
    const HostPlace place = host.nearest(body.corners[i]);
    const double out = glm::dot(body.corners[i] - place.point_m, place.normal);
    least = std::min(least, out < 0 ? 0.0 : glm::distance(body.corners[i], place.point_m));
  }
  return least;
}

constexpr double touches_m = 0.5e-3;  // what the eye takes for a shadow
constexpr double share_sunk = 0.4;    // of its height: a stump's roots, a ball among leaves, a log in litter

// Leaves that hang into the view from crowns above: their twigs end in the air, out of the picture.
bool hangs_from_above(const Prop& prop) { return prop.kind->name == "leaf_cards"; }

TEST(Standing, NothingFloatsOrIsCutInTheBundledScenes) {
  int held = 0;
  for (const auto& entry : std::filesystem::directory_iterator(UNDERCAP_SOURCE_DIR "/scenes")) {
    if (entry.path().extension() != ".toml") continue;
    const World world = build_world(SceneFile::open(entry.path()).scene(), {.draft = true});
    const auto bodies = individuals_of(world);
    for (const Prop& prop : world.scene.props) {
      if (!prop.visible || prop.kind->spreads || (prop.at_z_m && prop.on.empty())) continue;
      std::optional<HostSurface> host;
      if (!prop.on.empty()) host.emplace(surface_of(world, prop.on));
      for (const auto& [number, body] : bodies.at(prop.name)) {
        SCOPED_TRACE(fmt::format("{}: {}.{}", entry.path().filename().string(), prop.name, number));
        ++held;
        if (host) {
          EXPECT_LE(gap_to_host(*host, body), touches_m);
          continue;
        }
        const double gap = gap_to_ground(world.scene, body);
        if (hangs_from_above(prop)) {
          EXPECT_GT(gap, touches_m);
          continue;
        }
        EXPECT_LE(gap, touches_m);
        EXPECT_GE(gap, -share_sunk * body.height());
      }
    }
  }
  EXPECT_GT(held, 8);
}

}  // namespace
}  // namespace undercap
