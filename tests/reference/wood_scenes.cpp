// The light of the wood: water, leaves and flecks, foil, a panel close by, a measured beam.
#include <fmt/format.h>

#include <cmath>
#include <glm/geometric.hpp>

#include "tests/reference/scenes.h"

namespace undercap::reference {
namespace {

// The camera looks over a floor of a metre.
std::string over_floor(double camera_height_m, double look_at_height_m, const std::string& material) {
  return fmt::format(R"(
[camera]
position_m = [0.0, -0.34, {}]
look_at = [0, 0, {}]
focal_length_mm = 60
f_number = 8
[ground]
kind = "none"
[[prop]]
name = "floor"
kind = "plane"
at_m = [0, 0, 0]
size_m = [1, 1]
material.surface = {{ {} }}
)",
                     camera_height_m, look_at_height_m, material);
}

// Wet wood and a wet cap; sky, leaves' light and sun flecks are made by 'wood_light'.
constexpr const char* wet_wood = R"(
[sky]
model = "uniform"
horizontal_lx = 3000
[sun]
on = true
normal_lx = 6000
azimuth_deg = 105
elevation_deg = 40
[[prop]]
name = "log"
kind = "log"
at_m = [0.02, 0.09]
length_mm = 200
diameter_mm = 60
detail = 0.2
material.bark = { reflectance = [0.3, 0.2, 0.1], roughness = 0.6 }
material.wood = { reflectance = [0.5, 0.4, 0.3], roughness = 1 }
[[prop]]
name = "one"
kind = "mushroom"
at_m = [-0.02, 0]
gill_count = 24
gill_tiers = 0
material.cap = { reflectance = [0.6, 0.3, 0.1], roughness = 1 }
material.gills = { reflectance = [0.6, 0.5, 0.3], transmittance = [0.2, 0.15, 0.05], roughness = 1 }
material.stem = { reflectance = [0.8, 0.75, 0.65], roughness = 1 }
[[prop]]
name = "leaf"
kind = "card"
at_m = [0.05, -0.05, 0.03]
size_mm = [40, 50]
normal = [-0.3, -0.6, 1]
material.surface = { reflectance = [0.3, 0.25, 0.05], transmittance = [0.3, 0.25, 0.02], roughness = 1 }
)";

// A coloured sky that differs from place to place, light from leaves that comes from another side, and gaps
// of 3 cm, some 60 cm up, so that the sun's edge is as wide as a cap's stripes. Log, cap and leaf are
// wet all over: spots of some millimetres would differ from their mean in a block.
void wood_light(World& world) {
  const auto map = [](auto&& at) {
    SkyMap made{.side = 16, .node = {}};
    for (int row = 0; row <= 16; ++row)
      for (int column = 0; column <= 16; ++column) made.node.push_back(at(row, column));
    return made;
  };
  world.sky = map([](int row, int column) {
    return (row * 7 + column * 5) % 3 == 0 ? glm::vec3(0.4f, 0.7f, 1.1f) : glm::vec3(0.05f, 0.06f, 0.04f);
  });
  world.leaves =
      map([](int row, int) { return 0.02f * static_cast<float>(row) / 16 * glm::vec3(0.5f, 0.8f, 0.1f); });
  world.gaps = {.height_m = 0.6, .corner_m = {-0.17, 0.05}, .cell_m = 0.03, .side = 11, .open = {}};
  for (int i = 0; i < 121; ++i) world.gaps.open.push_back(i * i % 7 < 3 ? 1 : 0);
  for (std::size_t g = 0; g < world.groups.size(); ++g)
    if (world.groups[g].kind == LightGroup::Kind::sun) {
      LightGroup leaves{.kind = LightGroup::Kind::canopy, .name = "canopy"};
      leaves.power = world.groups[g].power;
      leaves.colour = world.groups[g].colour;
      world.groups.insert(world.groups.begin() + static_cast<long>(g) + 1, leaves);
      break;
    }
  for (const WorldPart& part : world.parts)
    if (part.prop == "log" || part.prop == "leaf" || part.part == "cap")
      world.materials[part.material].wet = 1;
}

// Silver and gold cards throw the sun and the sky back at a mushroom.
constexpr const char* foils = R"(
[sky]
model = "overcast"
horizontal_lx = 4000
[sun]
on = true
normal_lx = 40000
azimuth_deg = 200
elevation_deg = 35
[[prop]]
name = "one"
kind = "mushroom"
at_m = [0, 0]
gill_count = 24
gill_tiers = 0
material.cap = { reflectance = [0.6, 0.3, 0.1], roughness = 0.6 }
[[prop]]
name = "silver"
kind = "card"
at_m = [-0.07, 0.03, 0.04]
size_mm = [60, 80]
normal = [0.8, -0.5, 0.1]
material.surface = { mirror = [0.92, 0.92, 0.90], roughness = 0.5 }
[[prop]]
name = "gold"
kind = "card"
at_m = [0.07, 0.04, 0.04]
size_mm = [60, 80]
normal = [-0.7, -0.7, 0.1]
material.surface = { mirror = [0.95, 0.70, 0.30], roughness = 0.7 }
[[prop]]
name = "crumpled"
kind = "mesh"
file = "stone.obj"
unit = "cm"
up = "z"
at_m = [0.03, -0.06, 0.012]
scale = 1.2
turn_deg = 20
material.surface = { mirror = [0.8, 0.8, 0.8], roughness = 1 }
)";

// A panel close by and a lamp whose beam differs from side to side, both as 'panel_and_beam' makes them, with
// a wet stone and a silver card to show them.
constexpr const char* near_lamps = R"(
[sky]
model = "overcast"
horizontal_lx = 20
[[prop]]
name = "one"
kind = "mushroom"
at_m = [0, 0]
gill_count = 24
gill_tiers = 0
material.cap = { reflectance = [0.5, 0.3, 0.2], roughness = 0.5 }
[[prop]]
name = "stone"
kind = "mesh"
file = "stone.obj"
unit = "cm"
up = "z"
at_m = [0.05, -0.03, 0.02]
scale = 2
turn_deg = 20
material.surface = { reflectance = [0.5, 0.5, 0.4], roughness = 0.4 }
[[prop]]
name = "silver"
kind = "card"
at_m = [0.06, 0.04, 0.04]
size_mm = [60, 80]
normal = [-0.8, -0.6, 0.1]
material.surface = { mirror = [0.92, 0.92, 0.90], roughness = 0.4 }
[[source]]
name = "panel"
kind = "torch"
position_m = [-0.07, -0.05, 0.05]
aim = [0, 0, 0.03]
intensity_cd = 30
beam_deg = 120
diameter_mm = 30
cct_k = 5600
[[source]]
name = "beam"
kind = "torch"
position_m = [0.2, 0.25, 0.3]
aim = [0, 0, 0.02]
intensity_cd = 400
beam_deg = 40
diameter_mm = 20
cct_k = 3200
)";

// The first lamp becomes a rectangle of 80 x 50 mm, turned about its axis. The second one's beam has two
// planes, narrow and wide, and is turned too.
void panel_and_beam(World& world) {
  const auto turned = [](Lamp& lamp, double angle) {
    const glm::dvec3 up = glm::cross(lamp.right, lamp.direction);
    lamp.right = std::cos(angle) * lamp.right + std::sin(angle) * up;
  };
  Lamp& panel = world.lamps[0];
  panel.rectangle = true;
  panel.half_width_m = 0.04;
  panel.half_height_m = 0.025;
  turned(panel, 0.4);
  Lamp& beam = world.lamps[1];
  beam.planes = 2;
  beam.beam.clear();
  for (const double width : {0.15, 0.6})
    for (int i = 0; i < beam_table_nodes; ++i) {
      const double root = static_cast<double>(i) / (beam_table_nodes - 1), theta = 1.5707963 * root * root;
      beam.beam.push_back(static_cast<float>(std::exp(-theta * theta / (width * width))));
    }
  turned(beam, 1.1);
}

}  // namespace

std::vector<NamedScene> wood_scenes() {
  // Glints of the sun in water that are seen by way of other things are rare and bright.
  const std::string dark = "reflectance = [0.10, 0.07, 0.04], roughness = 1",
                    glossy = "reflectance = [0.2, 0.15, 0.1], roughness = 0.6";
  return {
      {"wet log and cap under leaves and flecks", over_floor(0.10, 0.03, dark) + wet_wood, wood_light, 0.4},
      {"silver and gold in the sun", over_floor(0.08, 0.04, dark) + foils},
      {"panel close by and a measured beam", over_floor(0.08, 0.03, glossy) + near_lamps, panel_and_beam}};
}

}  // namespace undercap::reference
