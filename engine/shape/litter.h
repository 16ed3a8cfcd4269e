// The bits among fallen leaves: torn scraps, dead twigs, crumbs. Lengths in mm.
#pragma once

#include <functional>
#include <glm/vec2.hpp>

#include "engine/shape/mesh.h"
#include "engine/shape/noise.h"

namespace undercap {

// A turn about a body's long axis y, then a tip of that axis, then a turn about the vertical, then a lean of
// the whole with the slope it lies on (rise for each mm in x and in y).
struct Pose {
  double roll = 0, tip = 0, yaw = 0;
  glm::dvec2 slope{0};
  glm::dvec3 turned(const glm::dvec3& p) const;
};

// The body turned and set down with its own middle at a place; its height is still its own.
void turn_and_move(Mesh& body, const Pose& pose, const glm::dvec2& at);
void raise(Mesh& body, double by);

// Places of a sunflower spiral within a radius, m, so that things cover the ground without gaps or heaps:
// evenly out to the inner radius, and from there on thinning out as 1/r.
class SpiralPlaces {
 public:
  SpiralPlaces(double radius_m, double even_radius_m) : radius_m_(radius_m), even_m_(even_radius_m) {}
  double area_m2() const { return weight_within(radius_m_); }  // times the inner density: how many
  glm::dvec2 at(double share, int number, double turn) const;

 private:
  double weight_within(double radius_m) const;
  double radius_m_, even_m_;
};

// What is shared by those who strew: heights of the ground in mm, and whether something may lie there, m.
struct Floor {
  std::function<double(double x, double y)> height;
  std::function<bool(const glm::dvec2& at_m)> may_lie;
};

// Twigs number one by one ('twig'), scraps together ('scrap'), crumbs together ('crumb'); colours are still
// to be balanced. Appended to 'mesh', mm.
void strew_scraps(Mesh& mesh, const SpiralPlaces& places, const Floor& floor, int count, double leaf_length,
                  bool near, std::uint32_t seed);
void strew_twigs(Mesh& mesh, const SpiralPlaces& places, const Floor& floor, int count,
                 const std::function<double(const glm::dvec2& at_m)>& cleared, std::uint32_t seed);
void strew_crumbs(Mesh& mesh, double radius_m, double per_m2, const Floor& floor, std::uint32_t seed);

}  // namespace undercap
