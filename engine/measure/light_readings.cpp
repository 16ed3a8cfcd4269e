// Light of the day, meters, parts, and what each source adds.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>

#include "engine/measure/reading_rows.h"
#include "engine/measure/sides.h"
#include "engine/optics/exposure.h"
#include "engine/world/level_light.h"

namespace undercap {

namespace {

// How far a fleck of sun goes in a minute over level ground.
Reading fleck(const World& world) {
  const std::string name = "sun.fleck_m_per_min", unit = "m/min";
  if (world.scene.sun.elevation_deg)
    return nothing(Under::light_of_the_day, name, unit,
                   "the sun's place is given by angles; how it moves needs place and time alone");
  const auto drift = fleck_drift_m_per_min(world);
  if (!drift) return nothing(Under::light_of_the_day, name, unit, "the sun is down");
  const double azimuth = std::atan2(drift->x, drift->y) * degrees;
  return exact(Under::light_of_the_day, name, glm::length(*drift), unit,
               fmt::format("of a gap {:g} m up, toward {:.0f} deg from north", world.scene.canopy.height_m,
                           azimuth < 0 ? azimuth + 360 : azimuth));
}

}  // namespace

void add_light(const Evidence& e, Readings& into) {
  into.push_back(exact(Under::light_of_the_day, "sun.elevation_deg", e.world.sun_elevation.value() * degrees,
                       "deg", "true, without refraction"));
  into.push_back(exact(Under::light_of_the_day, "sun.apparent_elevation_deg",
                       e.world.sun_apparent_elevation.value() * degrees, "deg"));
  into.push_back(exact(Under::light_of_the_day, "sun.azimuth_deg", e.world.sun_azimuth.value() * degrees,
                       "deg", "from north, clockwise"));
  const int sky = e.world.group_index("sky");
  into.push_back(exact(Under::light_of_the_day, "sky.horizontal_lx",
                       sky < 0 ? 0 : e.world.groups[static_cast<std::size_t>(sky)].power, "lx",
                       "above the leaves"));
  if (!e.world.scene.canopy.any()) return;
  into.push_back(exact(Under::light_of_the_day, "sky.below_leaves_lx", e.world.sky_below_lx, "lx",
                       "of the sky on level ground, by the map's own sum"));
  into.push_back(fleck(e.world));
}

void add_meters(const Evidence& e, Readings& into) {
  const Mix mix = mix_of(e.world), flashes = mix_of_flashes(e.world);
  const auto is_flash = [](const LightGroup& group) { return group.flash; };
  const auto flash_count = std::count_if(e.world.groups.begin(), e.world.groups.end(), is_flash);
  for (const MeterSums& meter : e.meters) {
    const bool incident = meter.meter.kind == Meter::Kind::incident;
    const std::string base = "meter." + meter.meter.name + ".", unit = incident ? "lx" : "cd/m2";
    const auto add = [&](const std::string& name, const Mix& of, const std::string& in,
                         const std::string& note) {
      into.push_back(
          measured(Under::light_of_the_day, base + name, mean_luminance(meter.sums, of), in, {}, note));
    };
    add(incident ? "illuminance_lx" : "luminance_cd_m2", mix, unit,
        flash_count > 0 ? "without flash" : std::string());
    if (flash_count > 0)
      add(incident ? "flash_lx_s" : "flash_cd_s_m2", flashes, incident ? "lx s" : "cd s/m2", {});
    if (!incident) continue;
    for (std::size_t g = 0; g < e.world.groups.size(); ++g) {
      const LightGroup& group = e.world.groups[g];
      if (group.flash && flash_count == 1) continue;
      add(group.name + (group.flash ? "_flash_lx_s" : "_lx"), mix_of_one(group.flash ? flashes : mix, g),
          group.flash ? "lx s" : "lx",
          group.on_s ? fmt::format("while it shines, {:g} s", *group.on_s) : std::string());
    }
  }
}

void add_parts(const Evidence& e, Readings& into) {
  const Duration shutter = e.exposure.development.shutter;
  const Mix steady = mix_of(e.world), flashes = mix_of_flashes(e.world), mix = mix_over(e.world, shutter);
  const bool flash = flashes != Mix(flashes.size(), glm::dvec3(0));
  for (const Address& address : reported_addresses(e.world)) {
    const RegionSums sums = region_of(e.world, e.survey, address);
    const std::string base = "part." + address.text() + ".";
    const auto luminance = [&](const std::string& name, const Mix& of, const std::string& unit,
                               const std::string& note) {
      const auto mean = mean_luminance(sums, of);
      const bool told = mean && mean->freedom >= least_freedom;
      into.push_back(measured(Under::take_away, base + name, told ? mean : std::nullopt, unit,
                              why_missing(sums, of), note));
    };
    luminance("luminance_cd_m2", steady, "cd/m2", flash ? "without flash" : "");
    if (flash) luminance("flash_cd_s_m2", flashes, "cd s/m2", "");
    const std::string why = why_missing(sums, mix);
    const auto image = mean_luminance(sums, mix, true);
    std::optional<Estimate> stops;
    if (why.empty() && image) stops = in_stops(*image);
    if (stops)
      stops->value = stops_above_mid_grey(
                         LuminousExposure(image->value * exposure_per_luminance(e.world, shutter).value()),
                         e.exposure.development.iso)
                         .value();
    into.push_back(measured(Under::take_away, base + "stops", stops, "stops", why));
  }
}

void add_rises(const Evidence& e, Readings& into) {
  for (std::size_t g = 0; g < e.world.groups.size(); ++g) {
    if (e.world.groups[g].kind != LightGroup::Kind::lamp) continue;
    const std::string& source = e.world.groups[g].name;
    const Duration shutter = e.exposure.development.shutter;
    const Mix with = mix_with(e.world, shutter, g, true), without = mix_with(e.world, shutter, g, false);
    const Mix alone = mix_of_one(with, g);
    const LightGroup& group = e.world.groups[g];
    const std::string note =
        group.flash || group.on_s ? fmt::format("in the exposure of {}", shutter_text(shutter.value())) : "";
    const auto rise = [&](std::string name, const RegionSums& sums, const std::string& region) {
      const std::string dark = why_missing(sums, without, region);
      auto stops = dark.empty() ? stops_between(sums, with, sums, without) : std::nullopt;
      // A rise is as sure as the light that makes it, however steady the rest is.
      if (stops) stops->doubtful = stops->doubtful || mean_luminance(sums, alone)->doubtful;
      into.push_back(
          measured(Under::fill, std::move(name), stops, "stops",
                   dark.empty() || sums.empty() ? dark : fmt::format("without this light {}", dark), note));
    };
    for (const Address& address : reported_addresses(e.world))
      rise(fmt::format("rise.{}.{}_stops", source, address.text()), region_of(e.world, e.survey, address),
           {});
    rise(fmt::format("spill.{}_stops", source), e.survey.backdrop, "backdrop");
  }
}

void add_sides(const Evidence& e, Readings& into) {
  const Duration shutter = e.exposure.development.shutter;
  const RegionSums& light = e.exposure.subject_light;
  const Mix mix = mix_over(e.world, shutter);
  std::string why = "not measured yet";
  std::optional<Sides> sides;
  if (e.white) why = e.white->subject.empty() ? "the subject is not seen" : why_missing(light, mix);
  if (why.empty()) {
    sides = sides_of(*e.white, mix);
    why = fmt::format("the subject fills {} cells of 1/{} frame height, fewer than {}",
                      subject_cells(*e.white), e.white->height, least_side_cells);
  }
  const bool varies = std::any_of(e.world.groups.begin(), e.world.groups.end(), [](const LightGroup& group) {
    return group.on && (group.flash || group.on_s);
  });
  const std::string over =
      varies ? fmt::format("; a mean over the exposure of {}", shutter_text(shutter.value())) : "";
  const auto side = [&](const char* name, const std::optional<Figure>& lx, const char* third) {
    into.push_back(
        measured(Under::fill, name, lx, "lx", why, fmt::format("{} third of the subject{}", third, over)));
  };
  side("light.lit_side_lx", sides ? std::optional(sides->lit_lx) : std::nullopt, "the most lit");
  side("light.shadow_side_lx", sides ? std::optional(sides->shadow_lx) : std::nullopt, "the least lit");
  into.push_back(measured(
      Under::fill, "light.sides_stops", sides ? sides->stops : std::nullopt, "stops",
      sides ? fmt::format("the shadow side is too dark to tell from black (under 5 standard errors): {}",
                          take_more)
            : why,
      fmt::format("lit side over shadow side, by the light that arrives{}", over)));
}

}  // namespace undercap
