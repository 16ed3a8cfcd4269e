#include "engine/light/sun_colour.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/colour/observer.h"
#include "engine/core/errors.h"
#include "engine/light/daylight.h"
#include "engine/light/light_tables.h"

namespace undercap {

namespace {

constexpr double ozone_cm = 0.35, water_cm = 2;  // overhead, as in the paper
constexpr std::string_view table_name = "sun_spectrum.csv";

using Curve = std::map<double, double>;  // by wavelength in nm

double number(std::string_view text) {
  double value = 0;
  const auto result = std::from_chars(text.data(), text.data() + text.size(), value);
  UNDERCAP_CHECK(result.ec == std::errc() && result.ptr == text.data() + text.size(),
                 fmt::format("{} holds numbers, got {}", table_name, text));
  return value;
}

// Rows 'curve,wavelength,value'; '#' begins a comment; one row of headings.
std::map<std::string, Curve, std::less<>> read_curves(std::string_view text) {
  std::map<std::string, Curve, std::less<>> curves;
  bool heading = true;
  while (!text.empty()) {
    const std::string_view line = text.substr(0, text.find('\n'));
    text.remove_prefix(std::min(line.size() + 1, text.size()));
    if (line.empty() || line[0] == '#' || std::exchange(heading, false)) continue;
    const std::size_t first = line.find(','), second = line.find(',', first + 1);
    UNDERCAP_CHECK(second != std::string_view::npos, "a row of a curve has three fields");
    curves[std::string(line.substr(0, first))][number(line.substr(first + 1, second - first - 1))] =
        number(line.substr(second + 1));
  }
  return curves;
}

double at(const Curve& curve, double nm) {
  const auto above = curve.lower_bound(nm);
  if (above == curve.end()) return 0;
  if (above->first == nm) return above->second;
  if (above == curve.begin()) return 0;
  const auto below = std::prev(above);
  return std::lerp(below->second, above->second, (nm - below->first) / (above->first - below->first));
}

struct Band {
  double micrometres;
  glm::dvec3 sun;  // of the sun above the air, as the standard observer sees it
  double ozone, water;
};

std::vector<Band> make_bands() {
  const auto curves = read_curves(light_tables().at(std::string(table_name)));
  std::vector<Band> bands;
  for (const ObserverRow& row : observer_1931()) {
    const double nm = std::round(row.wavelength.value() * 1e9);
    const double sun = at(curves.at("solar"), nm);
    if (sun > 0)
      bands.push_back({nm / 1000, sun * row.response, at(curves.at("k_o"), nm), at(curves.at("k_w"), nm)});
  }
  return bands;
}

const std::vector<Band>& bands() {
  static const std::vector<Band> all = make_bands();
  return all;
}

// A. J. Preetham, P. Shirley & B. Smits, SIGGRAPH 1999, appendix (after Iqbal 1983): what comes through by
// molecules, haze, ozone and water vapour along m air masses. Oxygen's band begins at 760 nm, beyond the
// table.
double passed(const Band& band, double turbidity, double mass) {
  const double haze = 0.04608365822050 * turbidity - 0.04586025928522;
  const double molecules = 0.008735 * std::pow(band.micrometres, -4.08);
  const double particles = haze * std::pow(band.micrometres, -1.3);
  const double vapour = band.water * water_cm * mass;
  return std::exp(-mass * (molecules + particles + band.ozone * ozone_cm) -
                  0.2385 * vapour / std::pow(1 + 20.07 * vapour, 0.45));
}

}  // namespace

Chromaticity sun_xy(double turbidity, Angle apparent_elevation) {
  const double mass = air_mass(std::clamp(apparent_elevation, 0_deg, 90_deg));
  glm::dvec3 xyz(0);
  for (const Band& band : bands()) xyz += passed(band, turbidity, mass) * band.sun;
  return chromaticity_from_xyz(xyz);
}

Chromaticity extraterrestrial_sun_xy() {
  glm::dvec3 xyz(0);
  for (const Band& band : bands()) xyz += band.sun;
  return chromaticity_from_xyz(xyz);
}

glm::dvec3 sun_rgb(double turbidity, Angle apparent_elevation) {
  return rgb_with_unit_luminance(sun_xy(turbidity, apparent_elevation));
}

}  // namespace undercap
