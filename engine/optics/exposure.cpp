#include "engine/optics/exposure.h"

#include <cmath>

namespace undercap {

namespace {

constexpr Luminance reflected_constant = 12.5_cd_m2;  // K
constexpr Illuminance incident_constant = 250_lx;     // C
constexpr double reference_iso = 100;

}  // namespace

double ev100(const ExposureSettings& settings) {
  return std::log2(settings.f_number * settings.f_number / settings.shutter.value() * reference_iso /
                   settings.iso);
}

Luminance luminance_from_ev100(double ev100) {
  return reflected_constant * (std::exp2(ev100) / reference_iso);
}

double ev100_from_luminance(Luminance luminance) {
  return std::log2(luminance / reflected_constant * reference_iso);
}

Illuminance illuminance_from_ev100(double ev100) {
  return incident_constant * (std::exp2(ev100) / reference_iso);
}

double ev100_from_illuminance(Illuminance illuminance) {
  return std::log2(illuminance / incident_constant * reference_iso);
}

Illuminance grey_card_illuminance(const ExposureSettings& settings) {
  return illuminance_from_ev100(ev100(settings));
}

Duration grey_card_time(Illuminance light, double f_number, double iso) {
  return Duration(incident_constant / light * f_number * f_number / iso);
}

double flash_candela_seconds(Length guide_number) {
  return incident_constant.value() / reference_iso * guide_number.value() * guide_number.value();
}

LuminousExposure flash_exposure(double candela_seconds, Length distance) {
  return LuminousExposure(candela_seconds / (distance.value() * distance.value()));
}

LuminousExposure mid_grey_exposure(double iso) { return LuminousExposure(10 / iso); }

LuminousExposure raw_clip_exposure(double iso) { return LuminousExposure(78 / iso); }

Stops stops_above_mid_grey(LuminousExposure exposure, double iso) {
  return Stops(std::log2(exposure / mid_grey_exposure(iso)));
}

LuminousExposure exposure_from_illuminance(Illuminance image, Duration shutter) {
  return LuminousExposure(image.value() * shutter.value());
}

Duration shutter_for_exposure(LuminousExposure wanted, Illuminance mean_image) {
  return Duration(wanted.value() / mean_image.value());
}

LuminousExposure focal_plane_exposure(Luminance object, double working_f_number, Duration shutter, double q) {
  return LuminousExposure(q * object.value() * shutter.value() / (working_f_number * working_f_number));
}

Luminance saturation_luminance(double working_f_number, Duration shutter, double iso) {
  const LuminousExposure of_one_nit = focal_plane_exposure(1_cd_m2, working_f_number, shutter);
  return Luminance(raw_clip_exposure(iso) / of_one_nit);
}

Duration hand_held_limit(double hand_rule, Length focal_length, double magnification, Stops stabiliser) {
  const double focal_length_mm = focal_length / 1_mm;
  return Duration(std::exp2(stabiliser.value()) / (hand_rule * focal_length_mm * (1 + magnification)));
}

}  // namespace undercap
