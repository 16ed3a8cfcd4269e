// The lights that people bring, as lamps with a light group each.
#include <fmt/format.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <glm/trigonometric.hpp>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/colour/temperature.h"
#include "engine/colour/whites.h"
#include "engine/core/files.h"
#include "engine/light/beam.h"
#include "engine/light/lm63.h"
#include "engine/light/photometry.h"
#include "engine/optics/exposure.h"
#include "engine/world/assemble.h"
#include "engine/world/update.h"

namespace undercap {
namespace {

std::string key_of(const Source& source, const char* name) {
  return fmt::format("source.{}.{}", source.name, name);
}

// Level, square to a direction, to the right of someone who looks along it; east when it is upright.
glm::dvec3 level_across(const glm::dvec3& direction) {
  const glm::dvec3 across = glm::cross(direction, glm::dvec3(0, 0, 1));
  return glm::length(across) > 1e-6 ? glm::normalize(across) : glm::dvec3(1, 0, 0);
}

glm::dvec3 up_of(const Lamp& lamp) { return glm::cross(lamp.right, lamp.direction); }

Beam measured_beam(World& world, const Source& source) {
  std::string text;
  try {
    text = read_file(source.beam_file, lm63_limit_bytes);
  } catch (const Refusal& refusal) {
    const std::string key = key_of(source, "beam_file");
    throw Refusal(world.scene.place_of(key), fmt::format("{}: {}", key, refusal.what()));
  }
  const MeasuredBeam measured = beam_from_lm63(text, source.beam_file);
  constexpr double told_from = 0.01;
  if (measured.behind > told_from)
    world.notes.push_back(
        fmt::format("source '{}': {:.0f} % of the flux in its file goes backward and is left out",
                    source.name, 100 * measured.behind));
  return measured.beam;
}

// What leaves the lamp itself, before any diffuser.
Beam bare_beam(World& world, const Source& source) {
  if (!source.beam_file.empty()) return measured_beam(world, source);
  const Angle beam = glm::radians(source.beam_deg) * 1_rad;
  return source.field_deg ? field_beam(beam, glm::radians(*source.field_deg) * 1_rad) : cosine_beam(beam);
}

// Of the bare lamp at full power, in the brightest direction: cd, or cd s of a flash.
double bare_peak(const Source& source, const Beam& bare) {
  if (source.guide_number_m) return flash_candela_seconds(Length(*source.guide_number_m));
  if (source.flux_lm) return peak_intensity(Flux(*source.flux_lm), bare).value();
  if (source.intensity_cd) return *source.intensity_cd;
  return intensity_from_beam_distance(Length(source.beam_distance_m.value_or(0))).value();
}

glm::dvec3 aim_point(const World& world, const Source& source, std::map<std::string, glm::dvec3>* known) {
  const std::string key = key_of(source, "aim");
  const auto* address = std::get_if<Address>(&source.aim);
  if (!known || !address || address->of != Address::Of::prop) return point_of(world, source.aim, key);
  const auto found = known->find(address->text());
  if (found != known->end()) return found->second;
  return (*known)[address->text()] = point_of(world, source.aim, key);
}

Lamp front_of(const Source& source) {
  Lamp lamp{.position_m = source.position_m, .rectangle = source.kind != Source::Kind::torch};
  lamp.half_width_m = (lamp.rectangle ? source.size_mm[0] : source.diameter_mm) * 0.5e-3;
  lamp.half_height_m = (lamp.rectangle ? source.size_mm[1] : source.diameter_mm) * 0.5e-3;
  return lamp;
}

Lamp posed_lamp(const World& world, const Source& source, std::map<std::string, glm::dvec3>* known) {
  Lamp lamp = front_of(source);
  const std::string aim = key_of(source, "aim");
  const glm::dvec3 line = aim_point(world, source, known) - source.position_m;
  if (glm::length(line) < 1e-6)
    throw Refusal(world.scene.place_of(aim),
                  fmt::format("source '{}': its aim is where it stands; move one of them", source.name));
  turn_lamp(lamp, line, source.roll_deg);
  return lamp;
}

// A black open tube as wide as the shining surface, closed behind it. It takes all that meets it.
void add_snoot(World& world, const Lamp& lamp, double length_m) {
  constexpr double behind_m = 1e-4, play_m = 1e-5;
  const int sides = lamp.rectangle ? 4 : 96;
  // The flat sides of the tube touch the disc from outside.
  const double outward = lamp.rectangle ? std::numbers::sqrt2 : 1 / std::cos(std::numbers::pi / sides);
  const glm::dvec3 back = lamp.position_m - behind_m * lamp.direction,
                   front = lamp.position_m + length_m * lamp.direction;
  Mesh mesh;
  mesh.part_index("snoot");
  for (int i = 0; i < sides; ++i) {
    const double angle = 2 * std::numbers::pi * (i + 0.5) / sides;
    const glm::dvec3 rim = outward * (std::cos(angle) * (lamp.half_width_m + play_m) * lamp.right +
                                      std::sin(angle) * (lamp.half_height_m + play_m) * up_of(lamp));
    mesh.position.emplace_back(front + rim);
    mesh.position.emplace_back(back + rim);
  }
  mesh.position.emplace_back(back);
  for (int i = 0; i < sides; ++i) {
    const auto a = static_cast<std::uint32_t>(2 * i), b = static_cast<std::uint32_t>(2 * ((i + 1) % sides)),
               middle = static_cast<std::uint32_t>(2 * sides);
    mesh.triangle.push_back({a, b, b + 1, 0});
    mesh.triangle.push_back({a, b + 1, a + 1, 0});
    mesh.triangle.push_back({middle, a + 1, b + 1, 0});
  }
  append_mesh(world, mesh, {}, "", {Material{.reflectance = glm::vec3(0)}});
}

void note_if_inside(World& world, const Source& source) {
  // A room around the camera too is meant.
  const std::set<std::string> around_camera = closed_props_around(world, world.camera.pupil_m);
  for (const std::string& prop : closed_props_around(world, source.position_m))
    if (!around_camera.contains(prop))
      world.notes.push_back(fmt::format(
          "source '{}' stands inside '{}'; its light gets out only where that lets it", source.name, prop));
}

// A gel shifts the reciprocal of the colour temperature; what it swallows is not known and not counted.
ColourTemperature gelled(const Source& source) {
  return shifted_by_mired(ColourTemperature(source.cct_k), source.gel_mired);
}

// What leaves the lamp, and the factor on the bare lamp's peak.
struct Shining {
  Beam beam;
  double peak = 0;  // at full power: cd, or cd s of a flash
};

// A diffuser spreads a share of the flux and swallows some of all of it.
Shining shining(World& world, const Source& source) {
  const Beam bare = bare_beam(world, source);
  const bool diffused = source.diffuser > 0;
  Shining result{.beam = diffused ? diffused_beam(bare, source.diffuser) : bare};
  result.peak = bare_peak(source, bare) * (diffused ? source.diffuser_transmission : 1) *
                bare.flux_per_candela_lm / result.beam.flux_per_candela_lm;
  return result;
}

LightGroup group_of(const Source& source, double peak) {
  LightGroup group{.kind = LightGroup::Kind::lamp, .name = source.name, .on = source.on};
  group.flash = source.kind == Source::Kind::flash;
  group.on_s = source.on_s;
  group.power = peak * source.power_pct / 100;
  group.colour = rgb_with_unit_luminance(planckian_xy(gelled(source), source.duv));
  return group;
}

Lamp lamp_of(const World& world, const Source& source, const Beam& beam,
             std::map<std::string, glm::dvec3>* known = nullptr) {
  Lamp lamp = posed_lamp(world, source, known);
  lamp.planes = beam.planes;
  lamp.beam = beam.node;
  return lamp;
}

}  // namespace

void turn_lamp(Lamp& lamp, const glm::dvec3& toward, double roll_deg) {
  lamp.direction = glm::normalize(toward);
  lamp.right = level_across(lamp.direction);
  // A positive roll turns it clockwise, seen from behind it.
  const double roll = glm::radians(roll_deg);
  lamp.right = std::cos(roll) * lamp.right - std::sin(roll) * up_of(lamp);
}

CarriedLamp carried_lamp(const Scene& scene, const Source& source) {
  World place;  // for messages and notes alone
  place.scene = scene;
  const Shining light = shining(place, source);
  CarriedLamp carried{front_of(source), group_of(source, light.peak)};
  carried.lamp.planes = light.beam.planes;
  carried.lamp.beam = light.beam.node;
  return carried;
}

void add_source(World& world, const Source& source) {
  const Shining light = shining(world, source);
  Lamp lamp = lamp_of(world, source, light.beam);
  if (source.snoot_mm) add_snoot(world, lamp, *source.snoot_mm * 1e-3);
  world.lamps.push_back(std::move(lamp));
  note_if_inside(world, source);
  world.groups.push_back(group_of(source, light.peak));
}

void update_source(World& world, const Source& source, std::map<std::string, glm::dvec3>* moved_by_aims) {
  const std::vector<std::string> notes = world.notes;
  const Shining light = shining(world, source);
  world.notes = notes;
  const int index = world.group_index(source.name);
  UNDERCAP_CHECK(index >= 0, "a source that changes is in the world");
  const auto group = static_cast<std::size_t>(index);
  world.groups[group] = group_of(source, light.peak);
  if (moved_by_aims) {
    const std::size_t first = world.groups.size() - world.lamps.size();
    world.lamps[group - first] = lamp_of(world, source, light.beam, moved_by_aims);
  }
}

}  // namespace undercap
