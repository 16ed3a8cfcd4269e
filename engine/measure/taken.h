// What was really used tells what light there was: the check of a rehearsal.
//
// Rests on one assumption, which every answer repeats: the picture came out as bright as planned. Then light
// and settings went together, E t S / N^2 = E' t' S' / N'^2 (N marked, framing as planned), and what the
// settings say is the sum of the light of the day and of the lamps.
#pragma once

#include "engine/measure/exposing.h"
#include "engine/measure/readings.h"

namespace undercap {

struct TakenLight {
  Illuminance card{};           // off a grey card: E = 250 N^2 / (t S)
  Illuminance close{};          // with what closeness and filters cost: (1 + m/P)^2 x .9 / T as much
  Illuminance planned_card{};   // the same of the plan's settings
  double difference_stops = 0;  // of the light, against the plan; minus: darker
};

// None while [taken] is not complete.
std::optional<TakenLight> taken_light(const World& world, const Development& plan);

// By how much the light of the day has to be multiplied. D and A are what the camera meters (image
// illuminance) of the day and of the lamps in the plan, over its exposure, A' of the lamps as they stood and
// over the exposure that was taken; f = 2^difference:
//   g D + A' = f (D + A)   (derived)
// None where the lamps alone gave more than the settings tell, or no light of the day is.
std::optional<double> day_factor(const TakenLight& taken, double day, double lamps, double lamps_taken);

// The two parts of a sum over the region that the scene is metered on.
struct MeteredLight {
  double day = 0, lamps = 0;
};
MeteredLight metered_light(const World& world, const Survey& survey, Duration shutter);

}  // namespace undercap
