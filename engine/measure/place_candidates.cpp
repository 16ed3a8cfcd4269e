#include "engine/measure/place_candidates.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

namespace undercap {
namespace {

double step(double from, double to, int i, int count) { return from + (to - from) * (i + 0.5) / count; }

}  // namespace

LevelAxes level_axes(const CameraRig& rig) {
  glm::dvec3 ahead(rig.forward.x, rig.forward.y, 0);
  // Straight down or up within a degree or so.
  if (glm::length(ahead) < 0.02) ahead = glm::dvec3(rig.up.x, rig.up.y, 0) * (rig.forward.z < 0 ? 1.0 : -1.0);
  ahead = glm::normalize(ahead);
  return {{ahead.y, -ahead.x, 0}, ahead};
}

CandidateSpace space_for(const Source& source) {
  const double width_m =
      1e-3 * (source.kind == Source::Kind::torch ? source.diameter_mm
                                                 : std::max(source.size_mm[0], source.size_mm[1]));
  CandidateSpace space;
  space.near_m = std::max(space.near_m, 1.5 * width_m);
  space.far_m = std::max(space.far_m, 5 * width_m);
  space.high_m = std::max(space.high_m, 5 * width_m);
  return space;
}

std::vector<glm::dvec3> candidate_places(const World& world, const glm::dvec3& target_m,
                                         const CandidateSpace& space) {
  const LevelAxes axes = level_axes(world.camera);
  std::vector<glm::dvec3> places;
  const auto add = [&](double right, double ahead, double up) {
    places.push_back(target_m + right * axes.right + ahead * axes.ahead + glm::dvec3(0, 0, up));
  };
  switch (space.over) {
    case CandidateSpace::Over::shell: {
      constexpr int distances = 8, heights = 16, turns = 32;
      constexpr double lowest = -20, highest = 80, degree = std::numbers::pi / 180;
      for (int d = 0; d < distances; ++d)
        for (int h = 0; h < heights; ++h)
          for (int t = 0; t < turns; ++t) {
            const double distance =
                space.near_m * std::pow(space.far_m / space.near_m, d / double{distances - 1});
            const double elevation = step(lowest, highest, h, heights) * degree;
            const double turn = 2 * std::numbers::pi * (t + 0.5) / turns;
            add(distance * std::cos(elevation) * std::sin(turn),
                distance * std::cos(elevation) * std::cos(turn), distance * std::sin(elevation));
          }
      break;
    }
    case CandidateSpace::Over::plane: {
      constexpr int side = 64;
      for (int v = 0; v < side; ++v)
        for (int u = 0; u < side; ++u)
          add(step(-space.far_m, space.far_m, u, side), step(-space.far_m, space.far_m, v, side),
              space.height_m);
      break;
    }
    case CandidateSpace::Over::box: {
      constexpr int side = 16;
      for (int w = 0; w < side; ++w)
        for (int v = 0; v < side; ++v)
          for (int u = 0; u < side; ++u)
            add(step(-space.far_m, space.far_m, u, side), step(-space.far_m, space.far_m, v, side),
                step(space.low_m, space.high_m, w, side));
      break;
    }
  }
  return places;
}

}  // namespace undercap
