#include "engine/measure/place_choice.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <glm/geometric.hpp>
#include <limits>
#include <numbers>
#include <tuple>

namespace undercap {
namespace {

double spill_of(const PlaceFields& place) { return std::max(place.backdrop_stops, place.foreground_stops); }

// In whole steps of equal_stops, so that order is the same whatever the last digits are.
double in_steps(double stops) { return std::round(stops / equal_stops); }

auto position_key(const PlaceFields& place) {
  const auto mm = [](double m) { return std::llround(m * 1e3); };
  return std::make_tuple(mm(place.position_m.x), mm(place.position_m.y), mm(place.position_m.z));
}

std::array<double, 3> qualities(const PlaceFields& place) {
  return {in_steps(std::log2(place.power_pct)), in_steps(spill_of(place)), in_steps(place.evenness_stops)};
}

bool beats(const std::array<double, 3>& a, const std::array<double, 3>& b) {
  bool better = false;
  for (std::size_t i = 0; i < 3; ++i) {
    if (a[i] > b[i]) return false;
    better = better || a[i] < b[i];
  }
  return better;
}

}  // namespace

std::string_view column_name(PlaceColumn column) {
  constexpr std::string_view names[] = {"evenness", "power", "spill", "softness", "angle", "distance"};
  static_assert(std::size(names) == std::size(place_columns));
  return names[static_cast<std::size_t>(column)];
}

double column_rank(const PlaceFields& place, PlaceColumn column) {
  switch (column) {
    case PlaceColumn::evenness:
      return in_steps(place.evenness_stops);
    case PlaceColumn::power:
      return in_steps(std::log2(place.power_pct));
    case PlaceColumn::spill:
      return in_steps(spill_of(place));
    case PlaceColumn::softness:
      return -std::round(place.size_deg * 10);
    case PlaceColumn::angle:
      return std::round(std::abs(place.angle_deg - 90));
    case PlaceColumn::distance:
      return -std::round(place.distance_m * 1e3);
  }
  return 0;
}

std::vector<PlaceFields> unbeaten(const std::vector<PlaceFields>& places) {
  std::vector<const PlaceFields*> free;
  for (const PlaceFields& place : places)
    if (place.limits == 0) free.push_back(&place);
  std::vector<std::array<double, 3>> quality;
  for (const PlaceFields* place : free) quality.push_back(qualities(*place));
  std::vector<PlaceFields> best;
  for (std::size_t i = 0; i < free.size(); ++i)
    if (std::none_of(quality.begin(), quality.end(),
                     [&](const auto& other) { return beats(other, quality[i]); }))
      best.push_back(*free[i]);
  std::sort(best.begin(), best.end(),
            [](const PlaceFields& a, const PlaceFields& b) { return position_key(a) < position_key(b); });
  return best;
}

bool lie_apart(const glm::dvec3& target_m, const glm::dvec3& a_m, const glm::dvec3& b_m, double apart_deg) {
  return glm::dot(glm::normalize(a_m - target_m), glm::normalize(b_m - target_m)) <=
         std::cos(apart_deg * std::numbers::pi / 180);
}

std::vector<PlaceFields> best_apart(const std::vector<PlaceFields>& places, const glm::dvec3& target_m,
                                    PlaceColumn column, std::size_t count, double apart_deg) {
  std::vector<PlaceFields> sorted;
  std::copy_if(places.begin(), places.end(), std::back_inserter(sorted),
               [](const PlaceFields& place) { return place.limits == 0; });
  std::sort(sorted.begin(), sorted.end(), [&](const PlaceFields& a, const PlaceFields& b) {
    return std::make_tuple(column_rank(a, column), position_key(a)) <
           std::make_tuple(column_rank(b, column), position_key(b));
  });
  std::vector<PlaceFields> chosen;
  while (chosen.size() < count && !sorted.empty()) {
    chosen.push_back(sorted.front());
    sorted = apart_from(sorted, target_m, chosen.back(), apart_deg);
  }
  return chosen;
}

std::vector<PlaceFields> apart_from(const std::vector<PlaceFields>& places, const glm::dvec3& target_m,
                                    const PlaceFields& one, double apart_deg) {
  std::vector<PlaceFields> apart;
  std::copy_if(places.begin(), places.end(), std::back_inserter(apart), [&](const PlaceFields& other) {
    return lie_apart(target_m, one.position_m, other.position_m, apart_deg);
  });
  return apart;
}

namespace {

constexpr PlaceLimit relaxable[] = {
    PlaceLimit::spill,     PlaceLimit::power,        PlaceLimit::flat,          PlaceLimit::near_subject,
    PlaceLimit::near_axis, PlaceLimit::out_of_reach, PlaceLimit::arm_in_picture};

// What the limit would have to be, and how large a step that is.
struct Excess {
  double from, to, step;
};
Excess excess_of(const PlaceFields& place, PlaceLimit limit, const PlaceWish& wish, const World& world) {
  switch (limit) {
    case PlaceLimit::spill: {
      // Whole tenths, with half a one at least for what the map leaves out.
      const double spill = std::ceil(10 * spill_of(place) + 0.5) / 10;
      return {wish.spill_stops, spill, spill - wish.spill_stops};
    }
    case PlaceLimit::power:
      return {100, place.power_pct, std::log2(place.power_pct / 100)};
    case PlaceLimit::flat:
      return {wish.least_angle_deg, place.angle_deg, (wish.least_angle_deg - place.angle_deg) / 15};
    case PlaceLimit::near_subject:
      return {wish.nearest_m, place.nearest_m, 2 * std::log2(wish.nearest_m / place.nearest_m)};
    case PlaceLimit::near_axis:
      return {wish.off_axis_m, 0, 1};
    case PlaceLimit::out_of_reach: {
      const double away = glm::distance(place.position_m, world.camera.pupil_m);
      return {hand_reach_m, away, (away - hand_reach_m) / 0.1};
    }
    default:
      return {0, 0, 1};
  }
}

}  // namespace

std::optional<Relaxing> relax_first(const std::vector<PlaceFields>& places, const PlaceWish& wish,
                                    const World& world) {
  PlaceLimits can = 0;
  for (const PlaceLimit limit : relaxable) can = can | limit;
  std::optional<Relaxing> best;
  double least = std::numeric_limits<double>::infinity();
  for (const PlaceFields& place : places) {
    if ((place.limits & ~can) != 0) continue;
    double sum = 0;
    std::vector<std::pair<double, Relaxing::Step>> steps;
    for (const PlaceLimit limit : relaxable)
      if (has(place.limits, limit)) {
        const Excess excess = excess_of(place, limit, wish, world);
        sum += std::max(excess.step, 0.0);
        steps.push_back({excess.step, {limit, excess.from, excess.to}});
      }
    const double rank = in_steps(sum);
    if (rank > least || (rank == least && best && !(position_key(place) < position_key(best->place))))
      continue;
    least = rank;
    std::sort(steps.begin(), steps.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    best.emplace();
    for (const auto& [size, step] : steps) best->steps.push_back(step);
    best->place = place;
  }
  return best;
}

std::vector<PlaceFields> relaxed(const std::vector<PlaceFields>& places, const PlaceWish& wish,
                                 const World& world, const Relaxing& relaxing) {
  std::vector<PlaceFields> all = places;
  for (PlaceFields& place : all)
    for (const Relaxing::Step& step : relaxing.steps) {
      const double own = excess_of(place, step.limit, wish, world).step,
                   given = excess_of(relaxing.place, step.limit, wish, world).step;
      if (own <= given + 1e-9)
        place.limits &= static_cast<PlaceLimits>(~static_cast<PlaceLimits>(step.limit));
    }
  return all;
}

}  // namespace undercap
