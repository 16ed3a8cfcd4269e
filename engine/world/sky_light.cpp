// The light of the day as groups: sky, sun, what props emit.
#include <fmt/format.h>

#include <cmath>
#include <functional>
#include <glm/trigonometric.hpp>

#include "engine/colour/spaces.h"
#include "engine/colour/temperature.h"
#include "engine/light/daylight.h"
#include "engine/light/general_sky.h"
#include "engine/light/photometry.h"
#include "engine/light/sky.h"
#include "engine/light/sun.h"
#include "engine/light/sun_colour.h"
#include "engine/optics/exposure.h"
#include "engine/surface/coat.h"
#include "engine/surface/film.h"
#include "engine/world/assemble.h"
#include "engine/world/canopy.h"
#include "engine/world/sky_map.h"

namespace undercap {
namespace {

// Nodes of a sky map: an open sky is smooth; sprays of leaves are some 5 cells wide overhead.
constexpr int open_side = 128, hole_side = 256, leaves_side = 512;

// Where the sun stands: as the scene's angles say, or from place and time.
SunPosition scene_sun(const Scene& scene) {
  if (scene.sun.azimuth_deg && scene.sun.elevation_deg) {
    // Angles as they are seen: no refraction is added.
    const Angle elevation = glm::radians(*scene.sun.elevation_deg) * 1_rad;
    return {elevation, elevation, glm::radians(*scene.sun.azimuth_deg) * 1_rad};
  }
  return sun_position(julian_date_of(scene.place.time), glm::radians(scene.place.latitude_deg) * 1_rad,
                      glm::radians(scene.place.longitude_deg) * 1_rad);
}

// Luminance of the open sky by direction, on any scale.
std::function<double(const glm::dvec3&)> open_sky(const World& world) {
  const Sky& sky = world.scene.sky;
  if (sky.model == Sky::Model::general) {
    // A sun that has set lights the sky from where it went down.
    const glm::dvec3 sun =
        direction_towards(world.sun_azimuth, std::max(world.sun_apparent_elevation, 0_rad));
    return [type = sky.type, sun](const glm::dvec3& d) { return general_sky_ratio(type, d, sun); };
  }
  const SkyShape shape = sky.model == Sky::Model::overcast ? SkyShape::overcast : SkyShape::uniform;
  return [shape](const glm::dvec3& d) {
    return sky_luminance_ratio(shape, Angle(std::asin(std::min(d.z, 1.0))));
  };
}

ColourTemperature sky_temperature(const Sky& sky) {
  if (sky.cct_k) return ColourTemperature(*sky.cct_k);
  return sky.model == Sky::Model::general ? general_sky_temperature(sky.type) : 6500_K;
}

// Of the whole sky, at unit luminance.
glm::dvec3 sky_white(const Sky& sky) { return rgb_with_unit_luminance(daylight_xy(sky_temperature(sky))); }

// The map of the sky, as the leaves leave it, for 1 lx of every channel on level ground above them.
SkyMap sky_through(const World& world, const std::optional<LeafLayer>& leaves) {
  const Sky& sky = world.scene.sky;
  const auto shape = open_sky(world);
  const double level =
      sky_illuminance(sky_map(open_side, 1, [&](const glm::dvec3& d) { return glm::dvec3(shape(d)); })).x;
  const auto luminance = [&](const glm::dvec3& d) { return shape(d) / level; };
  const auto colour = [&](double of_luminance) {
    return sky.model == Sky::Model::general
               ? general_sky_colour(sky.type, of_luminance * std::numbers::pi, sky_temperature(sky))
               : glm::dvec3(1);
  };
  // The group's colour is that of the whole sky, so here the whole sky is white; and each place keeps the
  // luminance that the standard gives it, whatever its colour.
  const glm::dvec3 whole = sky_illuminance(sky_map(open_side, 1, [&](const glm::dvec3& d) {
    const double value = luminance(d);
    return value * colour(value);
  }));
  const glm::dvec3 white = sky_white(sky);
  const int side = !leaves ? open_side : leaves->one_hole() ? hole_side : leaves_side;
  return sky_map(side, leaves && leaves->one_hole() ? 4 : 1, [&](const glm::dvec3& d) {
    const double value = luminance(d);
    const glm::dvec3 tint = colour(value) / whole, above = value / luminance_y(tint * white) * tint;
    return !leaves || leaves->open(d) ? above : above * leaves->passed_on(d);
  });
}

SkyCondition condition_of(const Sky& sky) {
  if (sky.model != Sky::Model::general || sky.type <= 5) return SkyCondition::cloudy;
  return sky.type <= 10 ? SkyCondition::partly_cloudy : SkyCondition::clear;
}

// The sky's power and colour over the map that the world has.
LightGroup sky_group(World& world) {
  const Sky& sky = world.scene.sky;
  LightGroup group{.kind = LightGroup::Kind::sky, .name = "sky"};
  group.colour = sky_white(sky);
  const double below = luminance_y(sky_illuminance(world.sky) * group.colour);
  if (sky.horizontal_lx)
    group.power = *sky.horizontal_lx;
  else if (sky.grey_card)
    group.power = grey_card_illuminance({.f_number = sky.grey_card->f_number,
                                         .shutter = Duration(sky.grey_card->shutter_s),
                                         .iso = sky.grey_card->iso})
                      .value() /
                  below;
  else
    group.power = world.sky_by_height_lx;
  world.sky_below_lx = group.power * below;
  return group;
}

void add_sky(World& world, const std::optional<LeafLayer>& leaves) {
  const Sky& sky = world.scene.sky;
  if (sky.model == Sky::Model::off) return;
  world.sky = sky_through(world, leaves);
  world.sky_by_height_lx = ies_diffuse_horizontal(condition_of(sky), world.sun_elevation).value();
  const LightGroup group = sky_group(world);
  if (!sky.horizontal_lx && !sky.grey_card && group.power <= 0)
    world.notes.push_back(
        "sky: the sun is below the horizon, so the sky is black; give sky.horizontal_lx for twilight");
  world.groups.push_back(group);
}

LightGroup sun_group(const World& world) {
  const Sun& sun = world.scene.sun;
  LightGroup group{.kind = LightGroup::Kind::sun, .name = "sun"};
  const UtcTime& time = world.scene.place.time;
  const int day = day_of_year(time.year, time.month, time.day);
  if (sun.normal_lx)
    group.power = *sun.normal_lx;
  else if (sun.availability == Sun::Availability::ies1984)
    group.power = ies_direct_normal(SkyCondition::clear, world.sun_elevation, day).value();
  else
    group.power = turbidity_direct_normal(sun.turbidity, world.sun_apparent_elevation, day).value();
  if (world.sun_apparent_elevation < -sun_angular_radius) group.power = 0;
  group.colour = sun_rgb(sun.turbidity, world.sun_apparent_elevation);
  return group;
}

void add_sun(World& world) {
  if (!world.scene.sun.on) return;
  if (world.sun_apparent_elevation < -sun_angular_radius)
    world.notes.push_back("sun: it is below the horizon and gives no light");
  world.groups.push_back(sun_group(world));
}

// The sun in the leaves: where it comes through, and what they scatter down of it, which looks even from
// below.
void add_sun_through(World& world, const LeafLayer& leaves) {
  world.gaps = leaves.gaps(world.sun_direction);
  const glm::dvec3 down = leaves.scattered(world.sun_direction.z);
  if (down == glm::dvec3(0)) return;
  const auto leaf = [&](const glm::dvec3& d) { return glm::dvec3(leaves.open(d) ? 0 : 1); };
  world.leaves = sky_map(leaves_side, 1, leaf);
  const double seen = sky_illuminance(world.leaves).x;
  for (glm::vec3& node : world.leaves.node) node *= glm::vec3(down / seen);
  LightGroup group = world.groups.back();
  group.kind = LightGroup::Kind::canopy;
  group.name = "canopy";
  world.groups.push_back(group);
}

void add_glow(World& world) {
  bool any = false;
  for (const WorldPart& part : world.parts) any = any || world.materials[part.material].emission_cd_m2 > 0;
  // A world without any light still has one film, and it stays black.
  if (any || (world.groups.empty() && world.scene.sources.empty()))
    world.groups.push_back({.kind = LightGroup::Kind::glow, .name = "glow"});
}

}  // namespace

double julian_date_of(const UtcTime& t) {
  return julian_date(t.year, t.month, t.day, t.hour, t.minute, t.second);
}

void add_lights(World& world) {
  const SunPosition sun = scene_sun(world.scene);
  world.sun_elevation = sun.elevation;
  world.sun_apparent_elevation = sun.apparent_elevation;
  world.sun_azimuth = sun.azimuth;
  world.sun_direction = direction_towards(sun.azimuth, sun.apparent_elevation);
  world.coat_table = coat_table();
  world.water_table = water_table();
  world.film_alpha = wet_roughness * wet_roughness;
  world.film_return = diffuse_fresnel_internal(water_index);
  const std::optional<LeafLayer> leaves = LeafLayer::of(world.scene.canopy);
  add_sky(world, leaves);
  add_sun(world);
  if (leaves && world.scene.sun.on) add_sun_through(world, *leaves);
  add_glow(world);
  for (const Source& source : world.scene.sources) add_source(world, source);
}

void update_daylight(World& world) {
  for (LightGroup& group : world.groups) {
    if (group.kind == LightGroup::Kind::sky) group = sky_group(world);
    if (group.kind != LightGroup::Kind::sun && group.kind != LightGroup::Kind::canopy) continue;
    LightGroup sun = sun_group(world);
    sun.kind = group.kind;
    sun.name = group.name;
    group = sun;
  }
}

}  // namespace undercap
