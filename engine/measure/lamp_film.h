// The unit film of one lamp: the power that a rise asks for, and what that power does, without a new ray.
#pragma once

#include <optional>
#include <vector>

#include "engine/measure/sides.h"
#include "engine/measure/survey.h"

namespace undercap {

// The rise and the spills of one survey, in stops over all light but the lamp's.
class LampFilm {
 public:
  // 'group' is the lamp's, 'target' are parts. 'survey' must outlive it.
  LampFilm(const World& world, const Survey& survey, const std::vector<std::uint32_t>& target,
           std::size_t group, Duration shutter);

  // What the unit film is multiplied by for a rise of s stops: (2^s - 1) L / l (derived), with the error of
  // the ratio; in cd, for a flash and for what shines for a part of the exposure times its share of it. 0
  // where either of the two is lost in its noise.
  struct Peak {
    double value = 0, se = 0;
  };
  Peak peak_for(double rise_stops) const;
  // The least of it at which the sides of the subject stand so far apart (sides.h) in a survey with white
  // first hits; 'most' is tried last, 0 where that does not do it. A lamp on the shadow side first fills it.
  Peak peak_for_sides(const Survey& white, double stops, double most) const;
  std::optional<Sides> sides(const Survey& white, double peak) const { return sides_of(white, with(peak)); }
  std::optional<Estimate> rise(double peak) const;
  // 0 where nothing of them is seen, or they are black.
  double backdrop(double peak) const { return plain(survey_.backdrop, peak); }
  double foreground(double peak) const { return plain(survey_.foreground, peak); }

 private:
  Mix with(double peak) const;
  std::optional<Estimate> of(const RegionSums& region, double peak) const;
  double plain(const RegionSums& region, double peak) const;

  const Survey& survey_;
  std::size_t group_;
  RegionSums target_;
  Mix without_, unit_;
};

}  // namespace undercap
