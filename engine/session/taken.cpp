#include "engine/session/taken.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/core/errors.h"
#include "engine/measure/reading_text.h"
#include "engine/optics/third_stops.h"
#include "engine/report/pocket_words.h"

namespace undercap {
namespace {

constexpr const char* origin = "[taken]";

// Which lamp stood elsewhere than planned.
std::optional<std::size_t> other_lamp(const Scene& scene) {
  if (!scene.taken.lamp_distance_m) return std::nullopt;
  for (std::size_t i = 0; i < scene.sources.size(); ++i)
    if (!scene.taken.lamp || scene.sources[i].name == *scene.taken.lamp) return i;
  return std::nullopt;
}

// On the lamp's own axis, so far from what it is aimed at as it really was.
Source moved_lamp(const World& world, std::size_t lamp, double distance_m) {
  Source source = world.scene.sources[lamp];
  const glm::dvec3& direction = world.lamps[lamp].direction;
  source.position_m += (lamp_distance_m(world, lamp) - distance_m) * direction;
  return source;
}

double power_of(const World& world, LightGroup::Kind kind) {
  for (const LightGroup& group : world.groups)
    if (group.kind == kind) return group.power;
  return 0;
}

void scale_day(SceneFile& file, const World& world, double factor) {
  file.set("sky.horizontal_lx", fmt::format("{:.5g}", factor * power_of(world, LightGroup::Kind::sky)),
           origin);
  if (world.scene.sun.on)
    file.set("sun.normal_lx", fmt::format("{:.5g}", factor * power_of(world, LightGroup::Kind::sun)), origin);
}

std::string settings_of(double f_number, Duration shutter, double iso) {
  return fmt::format("{}, {}, {}", f_number_label(f_number), nearest_shutter(shutter).label, iso_label(iso));
}

std::string lux(double lx) { return fmt::format("{} lx", reading_number(lx)); }

}  // namespace

std::string corrected_words(const Taken& taken) {
  return taken.time ? fmt::format("corrected by what was taken on {:04}-{:02}-{:02}", taken.time->year,
                                  taken.time->month, taken.time->day)
                    : std::string("corrected by what was taken");
}

std::optional<CorrectedScene> corrected_by_taken(Session& session, const SceneFile& file, Quality quality,
                                                 const Progress& progress) {
  const World& world = session.world();
  const Scene& scene = world.scene;
  const Taken& taken = scene.taken;
  const Development& plan = session.exposure().development;
  const auto light = taken_light(world, plan);
  if (!light)
    throw Refusal(
        "a corrected scene rests on what was used: give the scene [taken] with f_number, shutter_s and iso");
  const Duration taken_shutter(*taken.shutter_s);
  CorrectedScene corrected{.file = file, .light = *light, .rows = {}};
  const double power = power_of(world, LightGroup::Kind::sky);
  corrected.rows.push_back({"settings", settings_of(world.camera.lens.f_number, plan.shutter, plan.iso),
                            settings_of(*taken.f_number, taken_shutter, *taken.iso), ""});
  corrected.rows.push_back({"light off a grey card", lux(light->planned_card.value()),
                            lux(light->card.value()), fmt::format("{:+.2f} stops", light->difference_stops)});
  const double close = light->close / light->card;
  corrected.rows.push_back({"with closeness and filters", lux(close * light->planned_card.value()),
                            lux(light->close.value()), ""});

  const MeteredLight planned = metered_light(world, session.surveyed(), plan.shutter);
  double lamps_taken = metered_light(world, session.surveyed(), taken_shutter).lamps;
  if (const auto lamp = other_lamp(scene)) {
    const Source moved = moved_lamp(world, *lamp, *taken.lamp_distance_m);
    corrected.rows.push_back({fmt::format("{} at", moved.name),
                              fmt::format("{:.0f} cm", 100 * lamp_distance_m(world, *lamp)),
                              fmt::format("{:.0f} cm", 100 * *taken.lamp_distance_m), ""});
    if (moved.snoot_mm)
      throw Refusal("taken.lamp has a snoot, which is part of the set: move it in the scene");
    const glm::dvec3& to = moved.position_m;
    corrected.file.set(fmt::format("source.{}.position_m", moved.name),
                       fmt::format("[{:.5f}, {:.5f}, {:.5f}]", to.x, to.y, to.z), origin);
    session.use_source(moved);
    // The scrambles of the first survey: what did not move keeps its very samples.
    const unsigned passes = survey_passes(quality);
    const Survey there = session.another_survey(passes, scene.seed, progress);
    if (there.passes < passes) return std::nullopt;
    lamps_taken = metered_light(world, there, taken_shutter).lamps;
  }
  const auto factor = day_factor(*light, planned.day, planned.lamps, lamps_taken);
  if (!factor)
    throw Refusal(fmt::format(
        "[taken] tells {} off a grey card, and the lamps alone give more than that: was a lamp further off, "
        "weaker or off? say taken.lamp and taken.lamp_distance_m",
        lux(light->card.value())));
  corrected.day_factor = *factor;
  corrected.rows.push_back({"sky above the leaves", lux(power), lux(*factor * power),
                            fmt::format("{:+.2f} stops", std::log2(*factor))});
  scale_day(corrected.file, world, *factor);
  if (scene.exposure.shutter_s) {
    const double time =
        std::clamp(plan.shutter.value() / std::exp2(light->difference_stops), 1.0 / 32000, 3600.0);
    corrected.file.set("exposure.shutter_s", fmt::format("{:.5g}", time), origin);
  }
  return corrected;
}

}  // namespace undercap
