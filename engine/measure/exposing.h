// How the camera exposes: the shutter that the meter gives, and the white that the balance is set to.
#pragma once

#include "engine/measure/survey.h"
#include "engine/render/develop.h"
#include "engine/world/mix.h"

namespace undercap {

struct ExposureChoice {
  Development development;
  // cd/m2 of what was metered, cos^4 included, a mean over the exposure without flashes; none when nothing of
  // it is seen or lit.
  std::optional<Estimate> metered;
  std::string metered_name;            // "picture" or the address
  std::optional<double> shutter_se_s;  // of a metered shutter
  RegionSums subject_light;            // on the camera-facing subject: luminance x pi is the illuminance
  glm::dvec3 white{1};                 // linear RGB of the light that the balance makes neutral
  std::vector<std::string> notes;
};

// The spot meter that the scene exposes on; null when it exposes on the picture or on parts.
const Meter* exposing_spot(const Scene& scene);

// An exposure time as photographers write it: "1/30 s", "2.5 s".
std::string shutter_text(double seconds);

// The sums of all parts of an address.
RegionSums region_of(const World& world, const Survey& survey, const Address& address);

// The shutter "meter" is the one at which what is metered comes to the wanted exposure, lamps that go out
// before its end included and flashes not. 'white' is a survey with white_first: the light on the
// camera-facing subject, which exposure.white_balance_k = "scene" goes by. 'spot' holds what the spot meter
// of exposure.meter_on reads (take_meter); null when the scene meters on no spot.
ExposureChoice choose_exposure(const World& world, const Survey& survey, const Survey& white,
                               const RegionSums* spot = nullptr);

}  // namespace undercap
