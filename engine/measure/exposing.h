// How the camera exposes: the shutter that the meter gives, and the white that the balance is set to.
#pragma once

#include "engine/measure/survey.h"
#include "engine/render/develop.h"

namespace undercap {

struct ExposureChoice {
  Development development;
  std::optional<Estimate>
      metered;  // cd/m2 of what was metered, cos^4 included; none when nothing of it is seen or lit
  std::string metered_name;            // "picture" or the address
  std::optional<double> shutter_se_s;  // of a metered shutter
  std::vector<std::string> notes;
};

// The spot meter that the scene exposes on; null when it exposes on the picture or on parts.
const Meter* exposing_spot(const Scene& scene);

// An exposure time as photographers write it: "1/30 s", "2.5 s".
std::string shutter_text(double seconds);

// The sums of all parts of an address.
RegionSums region_of(const World& world, const Survey& survey, const Address& address);

// 'white' is a survey with white_first, for exposure.white_balance_k = "scene": the light on the
// camera-facing subject. 'spot' holds what the spot meter of exposure.meter_on reads (take_meter); null when
// the scene meters on no spot.
ExposureChoice choose_exposure(const World& world, const Survey& survey, const Survey& white,
                               const RegionSums* spot = nullptr);

}  // namespace undercap
