#include "engine/optics/equivalence.h"

#include <fmt/format.h>

#include <cmath>

namespace undercap {

namespace {

constexpr NamedFormat formats[] = {
    {"6.17 x 4.55 mm, pocket camera", {6.17_mm, 4.55_mm}},
    {"9.8 x 7.3 mm, large phone sensor", {9.8_mm, 7.3_mm}},
    {"13.2 x 8.8 mm, one inch", {13.2_mm, 8.8_mm}},
    {"17.3 x 13 mm, four thirds", {17.3_mm, 13_mm}},
    {"22.3 x 14.9 mm, smaller APS-C", {22.3_mm, 14.9_mm}},
    {"23.5 x 15.6 mm, APS-C", {23.5_mm, 15.6_mm}},
    {"36 x 24 mm, full frame", {36_mm, 24_mm}},
    {"43.8 x 32.9 mm, small medium format", {43.8_mm, 32.9_mm}},
    {"53.4 x 40 mm, medium format", {53.4_mm, 40_mm}},
    {"56 x 56 mm, square roll film", {56_mm, 56_mm}},
    {"120 x 96 mm, sheet film 4 x 5 in", {120_mm, 96_mm}},
};

bool is_about(const SensorFormat& a, Length width, Length height) {
  constexpr double most = 0.3e-3;
  return std::abs((a.width - width).value()) <= most && std::abs((a.height - height).value()) <= most;
}

}  // namespace

std::span<const NamedFormat> common_formats() { return formats; }

std::string nickname(const SensorFormat& format) {
  for (const NamedFormat& known : formats)
    if (is_about(known.size, format.width, format.height) ||
        is_about(known.size, format.height, format.width))
      return known.nickname;
  return fmt::format("{:.3g} x {:.3g} mm", format.width / 1_mm, format.height / 1_mm);
}

double crop_factor(const SensorFormat& from, const SensorFormat& to, Match match) {
  switch (match) {
    case Match::diagonal:
      return to.diagonal() / from.diagonal();
    case Match::width:
      return to.width / from.width;
    case Match::height:
      break;
  }
  return to.height / from.height;
}

// The same field means m_B = k m; a = f (1/m + 1/P) kept gives f_B = k f (1 + m/P) / (1 + k m/P), and d = f/N
// kept gives N_B = N f_B / f. Then N_w,B = N_B (1 + k m/P) = k N_w.
Partner exact_partner(const GaussianLens& lens, double magnification, double k) {
  const double stretch = k / rule_depth_ratio(magnification, lens.pupil_magnification, k);
  Partner partner{lens, k * magnification, k * k};
  partner.lens.focal_length = lens.focal_length * stretch;
  partner.lens.f_number *= stretch;
  partner.lens.principal_separation = lens.principal_separation * stretch;
  return partner;
}

Partner rule_partner(const GaussianLens& lens, double magnification, double k) {
  Partner partner{lens, k * magnification, k * k};
  partner.lens.focal_length = lens.focal_length * k;
  partner.lens.f_number *= k;
  partner.lens.principal_separation = lens.principal_separation * k;
  return partner;
}

// 2 N c (1 + m/P) / (m^2 - (N c / f)^2) with f, N, c and m times k.
double rule_depth_ratio(double magnification, double pupil_magnification, double k) {
  const double near = magnification / pupil_magnification;
  return (1 + k * near) / (1 + near);
}

double light_ratio(const SensorFormat& from, const SensorFormat& to, double f_number_ratio) {
  const double area_ratio = (to.width / from.width) * (to.height / from.height);
  return area_ratio / (f_number_ratio * f_number_ratio);
}

}  // namespace undercap
