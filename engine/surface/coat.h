// The dielectric coat of a glossy part and the film of water on a wet one: how much of the light they send
// back by themselves.
#pragma once

#include <glm/vec2.hpp>
#include <vector>

namespace undercap {

inline constexpr double coat_index = 1.5;     // F0 = 0.04
inline constexpr double water_index = 1.333;  // at 589 nm and 20 degrees Celsius
// Of a film of water: still smooth enough for glints, uneven as what it lies on. Common practice, no source.
inline constexpr double wet_roughness = 0.2;

// Unpolarised Fresnel reflectance of a dielectric, cosine of incidence in (0, 1]. The index is relative, of
// the far side to the near one; below 1 light comes from inside, and past the critical angle all returns.
// Source: Fresnel's equations in the form of Cook & Torrance 1982.
double fresnel_dielectric(double cosine, double index);

// Directional albedo of a single-scattering GGX coat (Smith, height-correlated masking): the share of light
// from an angle of incidence that leaves by the coat alone. alpha > 0. Error of the quadrature below 1e-4.
double coat_albedo(double cosine, double alpha, double index = coat_index);

// 32 x 32 nodes, row j = roughness sqrt(alpha) = j / 31, column i = cosine (i / 31)^2: E(cosine) and its mean
// 2 Int E(c) c dc, as the kernel reads them. Each is computed once, when first asked for.
const std::vector<glm::vec2>& coat_table();   // index 1.5
const std::vector<glm::vec2>& water_table();  // index 1.333

}  // namespace undercap
