#include "engine/surface/kubelka_munk.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/core/errors.h"

namespace undercap {
namespace {

// m = b S = sqrt(K (K + 2 S)), the rate at which light dies out with depth.
double decay_per_mm(const KubelkaMunk& flesh) {
  const double k = flesh.absorption_per_mm, s = flesh.scattering_per_mm;
  return std::sqrt(k * (k + 2 * s));
}

}  // namespace

// The closed form is R = sinh x / (a sinh x + b cosh x), T = b / (a sinh x + b cosh x) with a = 1 + K/S,
// b = sqrt(a^2 - 1), x = b S d. Multiplied by 2 S exp(-x) it has no division by S and overflows nowhere:
// R = S (1 - e) / D, T = 2 m exp(-x) / D, D = 2 m + (1 - e)(K + S - m), e = exp(-2 x).
SheetAlbedo kubelka_munk(const KubelkaMunk& flesh, Length thickness) {
  const double d = thickness / 1_mm;
  const double k = flesh.absorption_per_mm, s = flesh.scattering_per_mm, m = decay_per_mm(flesh);
  UNDERCAP_CHECK(k >= 0 && s >= 0 && d >= 0,
                 fmt::format("K {}, S {} and the thickness {} mm are not negative", k, s, d));
  if (m <= 0) return {s * d / (1 + s * d), 1 / (1 + s * d)};  // no absorption
  const double x = m * d, lost = -std::expm1(-2 * x);
  const double below = 2 * m + lost * s * s / (k + s + m);  // K + S - m = S^2 / (K + S + m)
  return {s * lost / below, 2 * m * std::exp(-x) / below};
}

double reflectance_at_infinity(const KubelkaMunk& flesh) {
  const double k = flesh.absorption_per_mm, s = flesh.scattering_per_mm;
  UNDERCAP_CHECK(s > 0, fmt::format("S {} is above 0", s));
  return s / (k + s + decay_per_mm(flesh));  // a - b
}

// From the closed form: a = (1 + R^2 - T^2) / (2 R), and R / T = sinh(b S d) / b.
KubelkaMunk kubelka_munk_from(const SheetAlbedo& layer, Length thickness) {
  const double r = layer.reflectance, t = layer.transmittance, d = thickness / 1_mm;
  constexpr double rounding = 1e-9;
  if (!(r >= 0 && t > 0 && r + t <= 1 + rounding))
    throw Refusal(
        fmt::format("reflectance {:.4g} with transmittance {:.4g} tells no absorption and scattering; "
                    "allowed: reflectance 0 or more, transmittance above 0, 1 at most together",
                    r, t));
  if (!(d > 0)) throw Refusal(fmt::format("thickness {:.4g} mm; allowed: above 0", d));
  constexpr double no_scattering = 1e-9;
  if (r < no_scattering) return {-std::log(std::min(t, 1.0)) / d, 0};
  const double over = std::max(((1 - r) * (1 - r) - t * t) / (2 * r), 0.0);  // a - 1 = K / S
  const double b = std::sqrt(over * (over + 2));
  const double s = b > 1e-6 ? std::asinh(b * r / t) / (b * d) : r / (t * d);
  return {over * s, s};
}

}  // namespace undercap
