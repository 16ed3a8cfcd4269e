// The lights that people bring, as lamps with a light group each.
#include <fmt/format.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <glm/trigonometric.hpp>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/colour/temperature.h"
#include "engine/light/photometry.h"
#include "engine/world/assemble.h"

namespace undercap {
namespace {

std::vector<float> cosine_beam(Angle beam) {
  std::vector<float> nodes;
  for (int i = 0; i < beam_nodes; ++i) {
    const double root = static_cast<double>(i) / (beam_nodes - 1);
    nodes.push_back(static_cast<float>(beam_falloff(beam, Angle(std::numbers::pi / 2 * root * root))));
  }
  return nodes;
}

// Level, square to a direction, to the right of someone who looks along it; east when it is upright.
glm::dvec3 level_across(const glm::dvec3& direction) {
  const glm::dvec3 across = glm::cross(direction, glm::dvec3(0, 0, 1));
  return glm::length(across) > 1e-6 ? glm::normalize(across) : glm::dvec3(1, 0, 0);
}

}  // namespace

void add_source(World& world, const Source& source) {
  if (source.kind != Source::Kind::torch)
    throw Refusal(
        world.scene.place_of(fmt::format("source.{}.kind", source.name)),
        fmt::format("source '{}': panels and flashes are not yet served by this version", source.name));
  Lamp lamp{.position_m = source.position_m,
            .half_width_m = source.diameter_mm * 0.5e-3,
            .half_height_m = source.diameter_mm * 0.5e-3,
            .beam = cosine_beam(glm::radians(source.beam_deg) * 1_rad)};
  const glm::dvec3 line =
      point_of(world, source.aim, fmt::format("source.{}.aim", source.name)) - source.position_m;
  if (glm::length(line) < 1e-6)
    throw Refusal(world.scene.place_of(fmt::format("source.{}.aim", source.name)),
                  fmt::format("source '{}': its aim is where it stands; move one of them", source.name));
  lamp.direction = glm::normalize(line);
  lamp.right = level_across(lamp.direction);
  world.lamps.push_back(lamp);
  // A room around the camera too is meant.
  const std::set<std::string> around_camera = closed_props_around(world, world.camera.pupil_m);
  for (const std::string& prop : closed_props_around(world, source.position_m))
    if (!around_camera.contains(prop))
      world.notes.push_back(fmt::format(
          "source '{}' stands inside '{}'; its light gets out only where that lets it", source.name, prop));
  LightGroup group{.kind = LightGroup::Kind::lamp, .name = source.name, .on = source.on};
  const Intensity peak =
      source.flux_lm        ? peak_intensity(Flux(*source.flux_lm), glm::radians(source.beam_deg) * 1_rad)
      : source.intensity_cd ? Intensity(*source.intensity_cd)
                            : intensity_from_beam_distance(Length(source.beam_distance_m.value_or(0)));
  group.power = peak.value() * source.power_pct / 100;
  group.colour = rgb_with_unit_luminance(planckian_xy(ColourTemperature(source.cct_k), source.duv));
  world.groups.push_back(group);
}

}  // namespace undercap
