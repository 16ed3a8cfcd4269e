#include "engine/surface/sheet.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/core/errors.h"

namespace undercap {
namespace {

// Lit alike from both sides a symmetrical layer returns its share s = R + T to each; lit with opposite signs,
// R - T. Either share passes the boundary by itself: s -> outer + (1 - outer)(1 - inner) s / (1 - inner s).
double outward(double share, double outer, double inner) {
  return outer + (1 - outer) * (1 - inner) * share / (1 - inner * share);
}

double inward(double share, double outer, double inner) {
  const double entered = (share - outer) / ((1 - outer) * (1 - inner));
  return entered / (1 + inner * entered);
}

}  // namespace

SheetAlbedo stacked(const SheetAlbedo& upper, const SheetAlbedo& lower) {
  const double bounces = 1 / (1 - upper.reflectance * lower.reflectance);
  return {upper.reflectance + upper.transmittance * upper.transmittance * lower.reflectance * bounces,
          upper.transmittance * lower.transmittance * bounces};
}

SheetAlbedo with_boundary(const SheetAlbedo& layer, double outer, double inner) {
  const double even = outward(layer.reflectance + layer.transmittance, outer, inner);
  const double odd = outward(layer.reflectance - layer.transmittance, outer, inner);
  return {(even + odd) / 2, (even - odd) / 2};
}

SheetAlbedo without_boundary(const SheetAlbedo& seen, double outer, double inner) {
  const double even = inward(seen.reflectance + seen.transmittance, outer, inner);
  const double odd = inward(seen.reflectance - seen.transmittance, outer, inner);
  const SheetAlbedo layer{(even + odd) / 2, (even - odd) / 2};
  constexpr double rounding = 1e-9;
  if (layer.reflectance < -rounding || layer.transmittance < -rounding || even > 1 + rounding)
    throw Refusal(
        fmt::format("reflectance {:.4g} with transmittance {:.4g} is of no layer whose boundary "
                    "sends back {:.4g} of the light outside and {:.4g} inside",
                    seen.reflectance, seen.transmittance, outer, inner));
  return {std::max(layer.reflectance, 0.0), std::max(layer.transmittance, 0.0)};
}

}  // namespace undercap
