#include "engine/session/sweep_scenes.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <limits>

#include "engine/core/errors.h"
#include "engine/measure/stack_task.h"
#include "engine/optics/depth.h"
#include "engine/world/update.h"

namespace undercap {
namespace {

struct Weather {
  std::string_view word;
  const char* label;
  int sky_type;  // of the CIE's general skies (ISO 15469:2004)
  bool sun, wet;
  double turbidity;
};
// Type 1: overcast, three times as bright overhead, which rain clouds would dim by what nobody knows; 12:
// clear, low turbidity; 15: white-blue, with a wide corona, as in haze.
constexpr Weather weathers[] = {{"overcast", "overcast", 1, false, false, 3},
                                {"rain", "after rain, all wet", 1, false, true, 3},
                                {"haze", "hazy sun", 15, true, false, 5},
                                {"sun", "clear sun", 12, true, false, 3}};

const Weather* find_weather(const std::string& word) {
  for (const Weather& weather : weathers)
    if (weather.word == word) return &weather;
  return nullptr;
}

glm::dvec3 aim_point(World& world, const Source& source) {
  if (const auto* point = std::get_if<glm::dvec3>(&source.aim)) return *point;
  AimPoints known;
  update_lamps(world, Scene(world.scene), {source.name}, known);
  const auto found = known.find(std::get<Address>(source.aim).text());
  UNDERCAP_CHECK(found != known.end(), "a lamp's aim is known once it is placed");
  return found->second;
}

// The f-number of a rig's lens at which depth of field is 'wanted'; it grows with the f-number.
double f_number_for(const CameraRig& rig, Length circle, Length wanted, const std::string& asker) {
  const auto depth_at = [&](double f_number) {
    GaussianLens lens = rig.lens;
    lens.f_number = f_number;
    const auto total = depth_of_field(lens, rig.magnification, circle).total();
    return total ? total->value() : std::numeric_limits<double>::infinity();
  };
  double low = lowest_f_number, high = highest_f_number;
  if (depth_at(low) > wanted.value() || depth_at(high) < wanted.value())
    throw Refusal(
        fmt::format("--hold depth: {}: no f-number from {:g} to {:g} gives a depth of field of {:.3g} mm "
                    "there, but {:.3g} "
                    "to {:.3g} mm; vary less",
                    asker, low, high, wanted / 1_mm, depth_at(low) * 1e3, depth_at(high) * 1e3));
  for (int i = 0; i < 200 && high - low > 1e-13 * high; ++i) {
    const double middle = std::sqrt(low * high);
    (depth_at(middle) < wanted.value() ? low : high) = middle;
  }
  return std::sqrt(low * high);
}

}  // namespace

std::string weather_words(const std::string& vary, const std::string& word) {
  if (const Weather* weather = find_weather(word)) return weather->label;
  throw Refusal(fmt::format("--vary {}: '{}' is no weather; allowed: overcast, rain, haze, sun", vary, word));
}

std::vector<Edit> weather_edits(const Scene& scene, const std::string& word) {
  const Weather* weather = find_weather(word);
  UNDERCAP_CHECK(weather, "a sweep's weather is known");
  std::vector<Edit> edits{{"sky.model", "\"general\""},
                          {"sky.type", fmt::format("{}", weather->sky_type)},
                          {"sun.on", weather->sun ? "true" : "false"},
                          {"sun.turbidity", fmt::format("{:g}", weather->turbidity)}};
  if (!weather->wet) return edits;
  edits.push_back({"ground.wet", "1"});
  for (const Prop& prop : scene.props) edits.push_back({fmt::format("prop.{}.wet", prop.name), "1"});
  return edits;
}

std::vector<Edit> hour_edits(const Scene& scene, double hour) {
  if (scene.sun.azimuth_deg || scene.sun.elevation_deg)
    throw Refusal(
        "--vary hour: the scene gives the sun's place by hand, so that the hour would change nothing; take "
        "sun.azimuth_deg and sun.elevation_deg out");
  const UtcTime& time = scene.place.time;
  return {
      {"place.time", fmt::format("{:04}-{:02}-{:02}T{:02.0f}:{:02.0f}:00Z", time.year, time.month, time.day,
                                 std::floor(hour), std::round(60 * (hour - std::floor(hour))))}};
}

void free_sky_level(SceneFile& file) {
  file.unset("sky.horizontal_lx", "--vary");
  file.unset("sky.grey_card", "--vary");
}

std::vector<Edit> distance_edits(World& world, const std::string& source, double distance_m) {
  const std::vector<Source>& sources = world.scene.sources;
  const auto found =
      std::find_if(sources.begin(), sources.end(), [&](const Source& one) { return one.name == source; });
  UNDERCAP_CHECK(found != sources.end(), "a sweep's source is there");
  const Source lamp = *found;
  const glm::dvec3 aim = aim_point(world, lamp), away = lamp.position_m - aim,
                   place = aim + away * (distance_m / glm::length(away));
  return {{fmt::format("source.{}.position_m", source),
           fmt::format("[{:.9g}, {:.9g}, {:.9g}]", place.x, place.y, place.z)}};
}

HeldCamera held_camera(const World& base) {
  const CameraRig& rig = base.camera;
  return {rig.pupil_m, rig.forward, rig.pupil_m + rig.forward * rig.pupil_distance.value(), rig.magnification,
          depth_of_field(rig.lens, rig.magnification, circle_of(base)).total()};
}

void hold_framing(Scene& scene, const HeldCamera& held) {
  Camera& camera = scene.camera;
  camera.focus.reset();
  camera.focus_distance_m.reset();
  camera.magnification = held.magnification;
  camera.look_at = held.middle_m;
  camera.position_m = held.middle_m - held.forward;  // the scale moves it along this line
}

void hold_viewpoint(Scene& scene, const HeldCamera& held) {
  Camera& camera = scene.camera;
  camera.focus.reset();
  camera.focus_distance_m.reset();
  camera.magnification.reset();
  camera.position_m = held.pupil_m;
  camera.look_at = held.middle_m;
}

void set_axis_height(Scene& scene, World& world, const HeldCamera& held, double height_m,
                     const std::string& asker) {
  hold_framing(scene, held);
  const glm::dvec3 level = glm::normalize(glm::dvec3(held.forward.x, held.forward.y, 0));
  double pupil_z = held.pupil_m.z + height_m;  // until the ground under it is known
  for (int round = 0; round < 12; ++round) {
    update_camera(world, scene);
    const double distance = world.camera.pupil_distance.value(),
                 rise = (held.middle_m.z - pupil_z) / distance;
    if (std::abs(rise) > 0.999)
      throw Refusal(
          fmt::format("{}: the pupil is {:.0f} cm from what is in focus and cannot look at it from {:g} cm "
                      "above the ground",
                      asker, 100 * distance, 100 * height_m));
    const glm::dvec3 forward = level * std::sqrt(1 - rise * rise) + glm::dvec3(0, 0, rise);
    scene.camera.position_m = held.middle_m - forward;
    update_camera(world, scene);
    const double off = height_m - world.camera.axis_height.value();
    if (std::abs(off) < 1e-9) return;
    pupil_z = world.camera.pupil_m.z + off;
  }
}

void hold_depth(Scene& scene, const World& world, const HeldCamera& held, const std::string& asker) {
  if (!held.depth)
    throw Refusal(
        "--hold depth: the scene's depth of field reaches to infinity; there is no depth to hold. Focus "
        "nearer, or open the aperture");
  scene.camera.f_number =
      f_number_for(world.camera, circle_of(world), *held.depth, asker) / scene.camera.converter;
}

}  // namespace undercap
