// The sources of a world at unit power, each with a way to draw a direction toward it.
//
// Unit power: the sky gives 1 lx on level ground, the sun 1 lx at normal incidence, a lamp 1 cd at its peak;
// emissive parts are at their own level.
#pragma once

#include <array>
#include <glm/vec3.hpp>
#include <vector>

#include "engine/world/world.h"
#include "tests/reference/random.h"

namespace undercap::reference {

struct LightSample {
  glm::dvec3 direction{0, 0, 1};  // unit
  double distance = 1e30;         // m
  glm::dvec3 value{0};            // luminance over the density of the draw per solid angle; 0 = nothing
};

class Lights {
 public:
  explicit Lights(const World& world);
  // A draw from one of World::groups, as seen from a place.
  LightSample sample(std::size_t group, const glm::dvec3& from, Random& random) const;

  // cd/m2 of what a ray meets.
  glm::dvec3 sky(const SkyMap& map, const glm::dvec3& direction) const;
  double sun(const glm::dvec3& from, const glm::dvec3& direction) const;
  // A lamp's disc along a ray between two distances, m.
  double lamp(std::size_t lamp, const glm::dvec3& origin, const glm::dvec3& direction, double from,
              double to) const;

 private:
  LightSample sample_sky(const SkyMap& map, const std::vector<double>& chance, Random& random) const;
  LightSample sample_sun(const glm::dvec3& from, Random& random) const;
  bool open_to_sun(const glm::dvec3& from, const glm::dvec3& direction) const;
  double beam(const Lamp& lamp, const glm::dvec3& direction) const;
  LightSample sample_lamp(const Lamp& lamp, const glm::dvec3& from, Random& random) const;
  LightSample sample_glow(const glm::dvec3& from, Random& random) const;
  struct Glowing {
    glm::dvec3 a, b, c;
    double emission = 0;
  };
  const World& world_;
  std::size_t first_lamp_ = 0;
  std::vector<double> cell_chance_, leaf_chance_;  // cumulative, by row and column of both maps
  std::vector<Glowing> glowing_;
  std::vector<double> glow_chance_;  // cumulative
};

}  // namespace undercap::reference
