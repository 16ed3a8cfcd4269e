// The light of the day as groups: sky, sun, what props emit.
#include <fmt/format.h>

#include <cmath>
#include <glm/trigonometric.hpp>

#include "engine/colour/spaces.h"
#include "engine/colour/temperature.h"
#include "engine/light/daylight.h"
#include "engine/light/sky.h"
#include "engine/light/sun.h"
#include "engine/surface/coat.h"
#include "engine/surface/film.h"
#include "engine/world/assemble.h"
#include "engine/world/sky_map.h"

namespace undercap {
namespace {

constexpr int open_sky_side = 128;

double julian_date_of(const UtcTime& t) {
  return julian_date(t.year, t.month, t.day, t.hour, t.minute, t.second);
}

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

SkyMap open_sky(SkyShape shape) {
  SkyMap map = sky_map(open_sky_side, 1, [&](const glm::dvec3& d) {
    return glm::dvec3(sky_luminance_ratio(shape, Angle(std::asin(std::min(d.z, 1.0)))));
  });
  const auto level = static_cast<float>(sky_illuminance(map).x);
  for (glm::vec3& node : map.node) node /= level;
  return map;
}

void add_sky(World& world) {
  const Sky& sky = world.scene.sky;
  if (sky.model == Sky::Model::off) return;
  world.sky = open_sky(sky.model == Sky::Model::overcast ? SkyShape::overcast : SkyShape::uniform);
  LightGroup group{.kind = LightGroup::Kind::sky, .name = "sky"};
  group.power = sky.horizontal_lx ? *sky.horizontal_lx : overcast_horizontal(world.sun_elevation).value();
  group.colour = rgb_with_unit_luminance(daylight_xy(ColourTemperature(sky.cct_k)));
  if (!sky.horizontal_lx && group.power <= 0)
    world.notes.push_back(
        "sky: the sun is below the horizon, so the sky is black; give sky.horizontal_lx for twilight");
  world.groups.push_back(group);
}

void add_sun(World& world) {
  const Sun& sun = world.scene.sun;
  if (!sun.on) return;
  LightGroup group{.kind = LightGroup::Kind::sun, .name = "sun"};
  const UtcTime& time = world.scene.place.time;
  const int day = day_of_year(time.year, time.month, time.day);
  if (sun.normal_lx)
    group.power = *sun.normal_lx;
  else if (sun.availability == Sun::Availability::ies1984)
    group.power = ies_direct_normal(SkyCondition::clear, world.sun_elevation, day).value();
  else
    group.power = turbidity_direct_normal(sun.turbidity, world.sun_apparent_elevation, day).value();
  if (world.sun_apparent_elevation < -sun_angular_radius) {
    group.power = 0;
    world.notes.push_back("sun: it is below the horizon and gives no light");
  }
  // One colour for every height so far: CIE D55.
  group.colour = rgb_with_unit_luminance(daylight_xy(5500_K));
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

void add_lights(World& world) {
  const SunPosition sun = scene_sun(world.scene);
  world.sun_elevation = sun.elevation;
  world.sun_apparent_elevation = sun.apparent_elevation;
  world.sun_azimuth = sun.azimuth;
  world.sun_direction = direction_towards(sun.azimuth, sun.apparent_elevation);
  world.coat_table = coat_table();
  world.water_table = water_table();
  world.film_return = diffuse_fresnel_internal(water_index);
  add_sky(world);
  add_sun(world);
  add_glow(world);
  for (const Source& source : world.scene.sources) add_source(world, source);
}

}  // namespace undercap
