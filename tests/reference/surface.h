// What a surface does with light, written from its definition alone.
//
// A body sends back R and lets through T, both evenly over a hemisphere (Lambert), under an optional
// dielectric coat of index 1.5: GGX facets that reflect once (Walter et al. 2007), masked and shadowed
// together (Smith; Heitz 2014, eq. 99). What the coat does not send back reaches the body and leaves it by
// the same share:
//   f = f_coat + (1 - E(v)) (1 - E(l)) / (1 - mean E) x (R or T) / pi      (Kelemen & Szirmay-Kalos 2001)
// E is the coat's directional albedo. A film of water is a coat of index 1.333 and roughness .2; from inside
// it sends a share of the body's light back down, so the body becomes another one (wetted). A rough metal is
// the same facets with Schlick's reflectance (1994), in colour, and no body.
// All angles are those to the interpolated normal. Light that this sends through the real face to its wrong
// side is mirrored at the face back to the right one; so is f x cosine.
#pragma once

#include <glm/vec3.hpp>
#include <optional>
#include <vector>

#include "tests/reference/random.h"

namespace undercap::reference {

inline constexpr double index_of_gloss = 1.5, index_of_water = 1.333, roughness_of_water = 0.2;

// The coat's directional albedo at one roughness, integrated over its facets.
class CoatAlbedo {
 public:
  explicit CoatAlbedo(double alpha, double index = index_of_gloss);
  double at(double cosine) const;
  double mean() const { return mean_; }  // 2 Int E(c) c dc
  double index() const { return index_; }

 private:
  double index_;
  std::vector<double> node_;  // at equal steps of the root of the cosine
  double mean_ = 0;
};

struct Surface {
  glm::dvec3 position{0};
  glm::dvec3 face{0, 0, 1};    // unit, towards the viewer
  glm::dvec3 normal{0, 0, 1};  // unit, interpolated, towards the viewer
  glm::dvec3 reflectance{0}, transmittance{0};
  double alpha = 0;  // of the facets
  const CoatAlbedo* coat = nullptr;
  glm::dvec3 mirror{0};    // of a metal's facets at normal incidence; 0 = no metal
  double view_albedo = 0;  // E(v)
  double emission = 0;     // cd/m2 toward the viewer
};

// The body of a sheet under a film of water on both sides.
void wet_sheet(glm::dvec3& reflectance, glm::dvec3& transmittance);

// f x cosine toward l, unit, on either side.
glm::dvec3 body_toward(const Surface& s, const glm::dvec3& l);
glm::dvec3 coat_toward(const Surface& s, const glm::dvec3& view, const glm::dvec3& l);

// Where light that arrives along 'view' may have come from, and what part of it is sent on.
struct Scatter {
  glm::dvec3 direction{0};
  glm::dvec3 weight{0};
  bool by_coat = false;
};
std::optional<Scatter> scatter(const Surface& s, const glm::dvec3& view, Random& random);

}  // namespace undercap::reference
