// Physical quantities as nominal types.
//
// Each quantity is one double in SI (metres, radians, lux ...) that converts to nothing else: illuminance is
// not exitance, a focal length is not a luminance. A number enters through a literal (90_mm, 27.5_deg,
// 120_lm) or an explicit constructor in SI, and leaves through value(). Products of different quantities are
// written as named functions where the law is, so that a factor such as 4 pi has one home.
//
//   const Length focal_length = 90_mm;
//   const double in_mm = focal_length / 1_mm;
#pragma once

#include <compare>
#include <numbers>

namespace undercap {

template <class Tag>
class Quantity {
 public:
  constexpr Quantity() = default;
  constexpr explicit Quantity(double in_si_units) : value_(in_si_units) {}
  constexpr double value() const { return value_; }

  constexpr Quantity operator-() const { return Quantity(-value_); }
  constexpr Quantity operator+(Quantity other) const { return Quantity(value_ + other.value_); }
  constexpr Quantity operator-(Quantity other) const { return Quantity(value_ - other.value_); }
  constexpr Quantity operator*(double factor) const { return Quantity(value_ * factor); }
  constexpr Quantity operator/(double divisor) const { return Quantity(value_ / divisor); }
  constexpr double operator/(Quantity other) const { return value_ / other.value_; }
  constexpr auto operator<=>(const Quantity&) const = default;

 private:
  double value_ = 0;
};

template <class Tag>
constexpr Quantity<Tag> operator*(double factor, Quantity<Tag> quantity) {
  return quantity * factor;
}

using Length = Quantity<struct LengthTag>;                        // m
using Angle = Quantity<struct AngleTag>;                          // rad
using Duration = Quantity<struct DurationTag>;                    // s
using Flux = Quantity<struct FluxTag>;                            // lm
using Intensity = Quantity<struct IntensityTag>;                  // cd
using Illuminance = Quantity<struct IlluminanceTag>;              // lx, arriving
using Luminance = Quantity<struct LuminanceTag>;                  // cd/m2
using LuminousExposure = Quantity<struct LuminousExposureTag>;    // lx s
using ColourTemperature = Quantity<struct ColourTemperatureTag>;  // K
using Stops = Quantity<struct StopsTag>;                          // log2 of a ratio

inline namespace literals {
#define UNDERCAP_LITERAL(suffix, type, scale)                     \
  consteval type operator""_##suffix(long double number) {        \
    return type(static_cast<double>(number) * (scale));           \
  }                                                               \
  consteval type operator""_##suffix(unsigned long long number) { \
    return type(static_cast<double>(number) * (scale));           \
  }
UNDERCAP_LITERAL(m, Length, 1.0)
UNDERCAP_LITERAL(mm, Length, 1e-3)
UNDERCAP_LITERAL(um, Length, 1e-6)
UNDERCAP_LITERAL(rad, Angle, 1.0)
UNDERCAP_LITERAL(deg, Angle, std::numbers::pi / 180.0)
UNDERCAP_LITERAL(s, Duration, 1.0)
UNDERCAP_LITERAL(lm, Flux, 1.0)
UNDERCAP_LITERAL(cd, Intensity, 1.0)
UNDERCAP_LITERAL(lx, Illuminance, 1.0)
UNDERCAP_LITERAL(cd_m2, Luminance, 1.0)
UNDERCAP_LITERAL(lxs, LuminousExposure, 1.0)
UNDERCAP_LITERAL(K, ColourTemperature, 1.0)
UNDERCAP_LITERAL(stops, Stops, 1.0)
#undef UNDERCAP_LITERAL
}  // namespace literals

}  // namespace undercap
