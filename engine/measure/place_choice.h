// Which places to offer of many: those that nothing beats, by a column, spread apart; and what to give up
// first where none will do. No score: columns are physical.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/measure/placement.h"

namespace undercap {

enum class PlaceColumn { evenness, power, spill, softness, angle, distance };
inline constexpr PlaceColumn place_columns[] = {PlaceColumn::evenness, PlaceColumn::power,
                                                PlaceColumn::spill,    PlaceColumn::softness,
                                                PlaceColumn::angle,    PlaceColumn::distance};
std::string_view column_name(PlaceColumn column);
// Ascending: a smaller value comes first. Softness and distance count from the large end, the angle from 90
// degrees (the side), so that what comes first is what one would ask for.
double column_rank(const PlaceFields& place, PlaceColumn column);

// Values in stops are compared in whole steps of this. Another device gives the same answer as long as its
// values fall in the same steps; where one crosses a step's edge, what is offered is as good to a step.
inline constexpr double equal_stops = 0.02;

// Of the places without a limit, those that no other one beats in power, spill and evenness together: is at
// least as good in all, by equal_stops, and better in one. In the order of their positions.
std::vector<PlaceFields> unbeaten(const std::vector<PlaceFields>& places);

// How far places of the offers lie from one another, as seen from the target.
inline constexpr double offers_apart_deg = 30;
bool lie_apart(const glm::dvec3& target_m, const glm::dvec3& a_m, const glm::dvec3& b_m, double apart_deg);

// Of the places without a limit, the first by the column that lie so far apart as seen from the target, at
// most so many. Equal ones by position.
std::vector<PlaceFields> best_apart(const std::vector<PlaceFields>& places, const glm::dvec3& target_m,
                                    PlaceColumn column, std::size_t count,
                                    double apart_deg = offers_apart_deg);

// Those that lie so far from one of them, as seen from the target.
std::vector<PlaceFields> apart_from(const std::vector<PlaceFields>& places, const glm::dvec3& target_m,
                                    const PlaceFields& one, double apart_deg);

// What keeps the least hindered place from being offered: which limits to relax, and to what.
struct Relaxing {
  struct Step {
    PlaceLimit limit;
    double from = 0, to = 0;  // stops, per cent, m or degrees, as the wish has it
  };
  std::vector<Step> steps;  // the smallest first
  PlaceFields place;        // that would then be offered
};
// The places with the limits as relaxed.
std::vector<PlaceFields> relaxed(const std::vector<PlaceFields>& places, const PlaceWish& wish,
                                 const World& world, const Relaxing& relaxing);
// Steps count in stops, for distances as the light falls with them, for angles by 15 degrees, for reach by 10
// cm (common practice, no source). Nothing is given up about what cannot be: a lamp in the picture, in a
// prop, in the photographer, without light. None where every place is so.
std::optional<Relaxing> relax_first(const std::vector<PlaceFields>& places, const PlaceWish& wish,
                                    const World& world);

}  // namespace undercap
