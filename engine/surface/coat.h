// The dielectric coat of a glossy part: how much of the light it sends back by itself.
#pragma once

#include <glm/vec2.hpp>
#include <vector>

namespace undercap {

inline constexpr double coat_index = 1.5;  // F0 = 0.04

// Unpolarised Fresnel reflectance of a dielectric of relative index n > 1 from outside, cosine of incidence
// in (0, 1]. Source: Fresnel's equations in the form of Cook & Torrance 1982.
double fresnel_dielectric(double cosine, double index);

// Directional albedo of a single-scattering GGX coat of index 1.5 (Smith, height-correlated masking): the
// share of light from an angle of incidence that leaves by the coat alone. alpha > 0. Error of the quadrature
// below 1e-4.
double coat_albedo(double cosine, double alpha);

// 32 x 32 nodes, row j = roughness sqrt(alpha) = j / 31, column i = cosine (i / 31)^2: E(cosine) and its mean
// 2 Int E(c) c dc, as the kernel reads them. Computed once.
const std::vector<glm::vec2>& coat_table();

}  // namespace undercap
