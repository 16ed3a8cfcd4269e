// The colour of each light on the subject, against the white of the picture and against the sky.
#include <fmt/format.h>

#include "engine/colour/spaces.h"
#include "engine/colour/temperature.h"
#include "engine/colour/whites.h"
#include "engine/measure/reading_rows.h"

namespace undercap {
namespace {

using Temperature = std::optional<CorrelatedTemperature>;

Temperature temperature_of(const glm::dvec3& rgb) {
  if (luminance_y(rgb) <= 0) return std::nullopt;
  return correlated_temperature(chromaticity_from_xyz(xyz_from_rgb(rgb)));
}

class SubjectColours {
 public:
  SubjectColours(const Evidence& evidence, Readings& into)
      : light_(evidence.exposure.subject_light),
        into_(into),
        white_(temperature_of(evidence.exposure.white)) {}

  // 'sky' is the sky's own temperature there, for another light than the sky; else null.
  void add(const std::string& name, const Mix& mix, const Temperature* sky) {
    why_ = why_missing(light_, mix);
    found_.clear();
    if (why_.empty())
      for (const glm::dvec3& colour : colours_left_out(light_, mix)) found_.push_back(temperature_of(colour));
    const std::string base = "subject." + name + ".";
    figure(
        base + "cct_k", "K", [](const CorrelatedTemperature& own) { return own.temperature.value(); },
        "of its light on the camera-facing subject");
    const bool tinted = !found_.empty() && found_.front();
    figure(
        base + "tint_duv", "", [](const CorrelatedTemperature& own) { return own.duv; },
        why_.empty() ? fmt::format("{}; from the Planck locus, green positive",
                                   tinted ? tint_word(found_.front()->duv) : "no tint can be told")
                     : "");
    against(base + "vs_white_mired", white_, "positive: warmer than the white balance");
    if (sky) against(base + "vs_sky_mired", *sky, "positive: warmer than the sky's light there");
  }

 private:
  // None of its colours may be too far from white for it to have a value.
  template <class Of>
  void figure(const std::string& name, const std::string& unit, const Of& of, const std::string& note,
              bool comparable = true) {
    std::vector<double> figures;
    for (const Temperature& own : found_)
      if (own && comparable) figures.push_back(of(*own));
    const bool told = !figures.empty() && figures.size() == found_.size();
    into_.push_back(
        measured(Under::light_of_the_day, name, told ? std::optional(jackknife(figures)) : std::nullopt, unit,
                 why_.empty() ? "too far from white light to have a colour temperature" : why_, note));
  }

  void against(const std::string& name, const Temperature& other, const std::string& note) {
    figure(
        name, "mired",
        [&](const CorrelatedTemperature& own) {
          return mired_difference(own.temperature, other->temperature);
        },
        note, other.has_value());
  }

  const RegionSums& light_;
  Readings& into_;
  Temperature white_;
  std::string why_;                 // there is no colour; empty: there is
  std::vector<Temperature> found_;  // of the whole, then with each batch left out
};

}  // namespace

void add_subject_light(const Evidence& e, Readings& into) {
  const Mix mix = mix_over(e.world, e.exposure.development.shutter);
  const RegionSums& light = e.exposure.subject_light;
  const int sky = e.world.group_index("sky");
  Temperature of_sky;
  if (sky >= 0) {
    const Mix alone = mix_of_one(mix, static_cast<std::size_t>(sky));
    if (why_missing(light, alone).empty()) of_sky = temperature_of(mean_colour(light, alone));
  }
  SubjectColours colours(e, into);
  for (std::size_t g = 0; g < mix.size(); ++g) {
    if (mix[g] == glm::dvec3(0) || e.world.groups[g].kind == LightGroup::Kind::glow) continue;
    const bool is_sky = static_cast<int>(g) == sky;
    colours.add(e.world.groups[g].name, mix_of_one(mix, g), is_sky || sky < 0 ? nullptr : &of_sky);
  }
}

}  // namespace undercap
