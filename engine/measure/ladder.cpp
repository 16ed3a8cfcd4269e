// The exposure ladder: from the light of the open sky down to what the settings ask for, a step at a time, in
// stops, so that light that seems too low for the hour is not taken in silence.
//
// With E the light on the subject, L the luminance of what is metered, k = 1 + m/P and T the transmission,
//   2^EV = N^2 100 / (t S)   and   H = (pi/4) T L t / (k N)^2
// give EV(settings) = EV(open) + leaves + set + lamps + lightness + magnification + glass + settings, where
//   EV(open) = log2(E_open / 2.5 lx)      leaves = log2(E_below / E_open)    set = log2(E_daylight / E_below)
//   lamps = log2(E / E_daylight)          lightness = log2(pi L / (.17778 E))
//   magnification = -2 log2 k             glass = log2(T / .9)               settings = -log2(H S / 10)
// and 40 / (250 x .9) = .17778 is the reflectance for which a light meter (C = 250) and the sensor's mid-grey
// (10 / S, through glass of .9) agree. Flashes are left out: no step of a wood leads to them.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/measure/reading_rows.h"
#include "engine/optics/exposure.h"
#include "engine/world/level_light.h"

namespace undercap {
namespace {

constexpr double agreed_reflectance = 40 / (250 * .9), metered_glass = .9;

bool is_daylight(const LightGroup& group) {
  return group.kind == LightGroup::Kind::sky || group.kind == LightGroup::Kind::sun ||
         group.kind == LightGroup::Kind::canopy;
}

std::string lx_text(double lx) { return lx < 100 ? fmt::format("{:.3g}", lx) : fmt::format("{:.0f}", lx); }

class Ladder {
 public:
  Ladder(const Evidence& evidence, Readings& into) : e_(evidence), into_(into) {}
  void climb();

 private:
  void step(const std::string& name, const std::optional<Estimate>& stops, const std::string& why_not,
            const std::string& note, const std::string& in_words) {
    into_.push_back(measured(Under::exposure, "exposure.ladder." + name, stops, "stops", why_not, note));
    if (stops) words_ += fmt::format("; {} {:+.1f}", in_words, stops->value);
  }
  void exact_step(const std::string& name, double stops, const std::string& note,
                  const std::string& in_words) {
    into_.push_back(exact(Under::exposure, "exposure.ladder." + name, stops, "stops", note));
    if (stops != 0) words_ += fmt::format("; {} {:+.1f}", in_words, stops);
  }
  void steps_on_the_set(const LevelLight& level);
  std::optional<Estimate> lightness(const Estimate& light) const;

  const Evidence& e_;
  Readings& into_;
  std::string words_;
};

// Luminance of what is metered over what a grey of .17778 would have in that light; the two come from surveys
// of their own, so that their errors add as squares.
std::optional<Estimate> Ladder::lightness(const Estimate& light) const {
  if (!e_.exposure.metered) return std::nullopt;
  const auto metered = in_stops(*e_.exposure.metered), lit = in_stops(light);
  if (!metered || !lit) return std::nullopt;
  return Estimate{metered->value - lit->value - std::log2(agreed_reflectance),
                  std::hypot(metered->se, lit->se), std::min(metered->freedom, lit->freedom),
                  metered->doubtful || lit->doubtful};
}

void Ladder::steps_on_the_set(const LevelLight& level) {
  const RegionSums& light = e_.exposure.subject_light;
  const Mix all = mix_metered(e_.world, e_.exposure.development.shutter);
  Mix day = all;
  bool lamps = false;
  for (std::size_t g = 0; g < day.size(); ++g)
    if (!is_daylight(e_.world.groups[g])) {
      lamps = lamps || (all[g] != glm::dvec3(0) && e_.world.groups[g].kind == LightGroup::Kind::lamp);
      day[g] = glm::dvec3(0);
    }
  const std::string no_day = why_missing(light, day, "light of the day on the subject");
  const auto daylight = mean_luminance(light, day);
  std::optional<Estimate> set;
  if (no_day.empty() && level.below > 0) {
    set = in_stops(*daylight);
    if (set) set->value += std::log2(std::numbers::pi / level.below);
  }
  step("set_stops", set, first_of(no_day, "no light of the day comes below the leaves"),
       "from level ground below the leaves to the camera-facing subject: its slant, neighbours, the camera",
       "set and slant");
  if (lamps)
    step("lamps_stops", no_day.empty() ? stops_between(light, all, light, day) : std::nullopt, no_day,
         "lamps, over the light of the day on the subject", "lamps");
  const auto whole = mean_luminance(light, all);
  step(
      "lightness_stops", whole ? lightness(*whole) : std::nullopt,
      "nothing of the metered part, or no light on the subject, can be told from black",
      fmt::format("the metered {} against a grey of 17.8 % in the subject's light", e_.exposure.metered_name),
      "lightness");
}

void Ladder::climb() {
  const World& world = e_.world;
  const Development& development = e_.exposure.development;
  const double settings = ev100({world.camera.lens.f_number, development.shutter, development.iso});
  const LevelLight level = level_light(world);
  const std::string dark = "no light comes from sky or sun";
  if (level.open <= 0) {
    into_.push_back(nothing(Under::exposure, "exposure.ladder.open_ev100", "EV", dark));
    return;
  }
  const Sky& sky = world.scene.sky;
  if (sky.horizontal_lx || sky.grey_card) {
    const double asked =
        luminance_y(world.groups[static_cast<std::size_t>(world.group_index("sky"))].weight());
    const bool any = world.sky_by_height_lx > 0 && asked > 0;
    const std::string name = "exposure.ladder.asked_stops",
                      note = fmt::format(
                          "the sky that the scene asks for, {} lx in the open, against the "
                          "{} lx of the sun's height; before the steps below",
                          lx_text(asked), lx_text(world.sky_by_height_lx));
    into_.push_back(
        any ? exact(Under::exposure, name, std::log2(asked / world.sky_by_height_lx), "stops", note)
            : nothing(Under::exposure, name, "stops", "the sun is down, or the sky is black"));
  }
  const double open = ev100_from_illuminance(Illuminance(level.open));
  const std::size_t first = into_.size();
  into_.push_back(exact(Under::exposure, "exposure.ladder.open_ev100", open, "EV",
                        fmt::format("level ground above the leaves, {} lx", lx_text(level.open))));
  if (!world.scene.canopy.any())
    exact_step("leaves_stops", 0, "there are none", "leaves");
  else if (level.below > 0)
    exact_step("leaves_stops", std::log2(level.below / level.open),
               fmt::format("mean below the leaves, {} lx", lx_text(level.below)), "leaves");
  else
    into_.push_back(nothing(Under::exposure, "exposure.ladder.leaves_stops", "stops",
                            "no light of the day comes below the leaves"));
  steps_on_the_set(level);
  const CameraRig& rig = world.camera;
  const double factor = 1 + rig.magnification / rig.lens.pupil_magnification;
  exact_step("magnification_stops", -2 * std::log2(factor), "the f-number works as N (1 + m/P)",
             "magnification");
  exact_step("glass_stops", std::log2(transmission_of(world.scene.camera) / metered_glass),
             "the lens and its filters against the 0.9 that meters count on", "glass");
  if (e_.exposure.metered) {
    const double exposure =
        e_.exposure.metered->value * exposure_per_luminance(world, development.shutter).value();
    const std::string name = "settings_stops", words = "settings",
                      note = "beyond what makes the metered part mid-grey; minus: a brighter picture";
    std::optional<Estimate> settings_step = in_stops(*e_.exposure.metered);
    if (settings_step)
      settings_step->value = -stops_above_mid_grey(LuminousExposure(exposure), development.iso).value();
    // A metered shutter puts it where the compensation says.
    if (e_.exposure.shutter_se_s)
      exact_step(name, 0 - world.scene.exposure.compensation_stops, note, words);
    else
      step(name, settings_step, "the metered part is too dark to tell", note, words);
  }
  into_.insert(into_.begin() + static_cast<std::ptrdiff_t>(first),
               exact(Under::exposure, "exposure.ladder.gap_stops", settings - open, "stops",
                     fmt::format("open EV {:.1f}{} -> settings EV {:.1f}", open, words_, settings)));
}

}  // namespace

void add_ladder(const Evidence& e, Readings& into) { Ladder(e, into).climb(); }

}  // namespace undercap
