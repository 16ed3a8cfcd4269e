// The colour of each light on the subject, against the white of the picture and against the sky.
#include <fmt/format.h>

#include "engine/colour/spaces.h"
#include "engine/colour/temperature.h"
#include "engine/colour/whites.h"
#include "engine/measure/reading_rows.h"

namespace undercap {
namespace {

std::optional<CorrelatedTemperature> temperature_of(const glm::dvec3& rgb) {
  if (luminance_y(rgb) <= 0) return std::nullopt;
  return correlated_temperature(chromaticity_from_xyz(xyz_from_rgb(rgb)));
}

std::optional<double> mired_of(const glm::dvec3& rgb) {
  const auto found = temperature_of(rgb);
  return found ? std::optional(mired(found->temperature)) : std::nullopt;
}

std::string word_of(const glm::dvec3& rgb) {
  const auto found = temperature_of(rgb);
  return fmt::format("{}; from the Planck locus, green positive",
                     found ? tint_word(found->duv) : "no tint can be told");
}

class SubjectColours {
 public:
  SubjectColours(const Evidence& evidence, Readings& into)
      : light_(evidence.exposure.subject_light), into_(into), white_(mired_of(evidence.exposure.white)) {}

  void add(const std::string& name, const Mix& mix, const Mix* sky) {
    const std::string base = "subject." + name + ".";
    const std::string why = why_missing(light_, mix);
    const auto figure = [&](const std::string& what, const std::string& unit, const auto& of,
                            const std::string& note) {
      const auto value = why.empty() ? colour_figure(light_, mix, of) : std::nullopt;
      into_.push_back(measured(Under::light_of_the_day, base + what, value, unit,
                               why.empty() ? "too far from white light to have a colour temperature" : why,
                               note));
    };
    figure(
        "cct_k", "K",
        [](const glm::dvec3& rgb) {
          const auto found = temperature_of(rgb);
          return found ? std::optional(found->temperature.value()) : std::nullopt;
        },
        "of its light on the camera-facing subject");
    figure(
        "tint_duv", "",
        [](const glm::dvec3& rgb) {
          const auto found = temperature_of(rgb);
          return found ? std::optional(found->duv) : std::nullopt;
        },
        why.empty() ? word_of(mean_colour(light_, mix)) : "");
    const auto against = [&](const std::optional<double>& other) {
      return [other](const glm::dvec3& rgb) {
        const auto own = mired_of(rgb);
        return own && other ? std::optional(*own - *other) : std::nullopt;
      };
    };
    figure("vs_white_mired", "mired", against(white_), "positive: warmer than the white balance");
    if (sky) {
      const auto other =
          why_missing(light_, *sky).empty() ? mired_of(mean_colour(light_, *sky)) : std::nullopt;
      figure("vs_sky_mired", "mired", against(other), "positive: warmer than the sky's light there");
    }
  }

 private:
  const RegionSums& light_;
  Readings& into_;
  std::optional<double> white_;
};

}  // namespace

void add_subject_light(const Evidence& e, Readings& into) {
  const Mix mix = mix_over(e.world, e.exposure.development.shutter);
  const auto only = [&](std::size_t g) {
    Mix alone(mix.size(), glm::dvec3(0));
    alone[g] = mix[g];
    return alone;
  };
  const int sky_index = e.world.group_index("sky");
  std::optional<Mix> sky;
  if (sky_index >= 0) sky = only(static_cast<std::size_t>(sky_index));
  SubjectColours colours(e, into);
  for (std::size_t g = 0; g < mix.size(); ++g) {
    if (mix[g] == glm::dvec3(0) || e.world.groups[g].kind == LightGroup::Kind::glow) continue;
    const bool is_sky = static_cast<int>(g) == sky_index;
    colours.add(e.world.groups[g].name, only(g), sky && !is_sky ? &*sky : nullptr);
  }
}

}  // namespace undercap
