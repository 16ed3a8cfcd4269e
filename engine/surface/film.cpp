#include "engine/surface/film.h"

#include <cmath>

#include "engine/surface/coat.h"

namespace undercap {
namespace {

// 2 Int F(c) c dc over the cosines from 'least' to 1, on midpoints that close up as t^2 toward the least
// cosine: from within, Fresnel's reflectance leaves the critical angle with a vertical tangent.
double diffuse_mean(double index, double least) {
  constexpr int steps = 4000;
  double sum = 0;
  for (int i = 0; i < steps; ++i) {
    const double t = (i + 0.5) / steps, cosine = least + (1 - least) * t * t;
    sum += 2 * fresnel_dielectric(cosine, index) * cosine * (1 - least) * 2 * t / steps;
  }
  return sum;
}

}  // namespace

double diffuse_fresnel_external(double index) { return diffuse_mean(index, 0); }

double diffuse_fresnel_internal(double index) {
  const double critical = std::sqrt(1 - 1 / (index * index));
  return critical * critical + diffuse_mean(1 / index, critical);
}

SheetAlbedo wet_body(const SheetAlbedo& dry) {
  static const double inner = diffuse_fresnel_internal(water_index);
  return with_boundary(dry, 0, inner);
}

double wet_albedo_normal(double dry_reflectance) {
  return (1 - fresnel_dielectric(1, water_index)) * wet_body({dry_reflectance, 0}).reflectance;
}

double wet_albedo_diffuse(double dry_reflectance) {
  static const double outer = diffuse_fresnel_external(water_index);
  return (1 - outer) * wet_body({dry_reflectance, 0}).reflectance;
}

double wet_albedo_angstrom(double dry_reflectance) {
  return dry_reflectance / (water_index * water_index * (1 - dry_reflectance) + dry_reflectance);
}

}  // namespace undercap
