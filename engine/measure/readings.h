// Readings: named numbers with a unit and a standard error, as `measure` prints them.
#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "engine/measure/exposing.h"
#include "engine/measure/separation.h"
#include "engine/measure/survey.h"
#include "engine/world/world.h"

namespace undercap {

struct Reading {
  // The heading on a terminal: one of the six questions, or the headline.
  enum class Under {
    headline,
    fill,
    depth,
    backdrop,
    exposure,
    light_of_the_day,
    take_away
  } under = Under::headline;
  std::string name;
  std::variant<std::monostate, double, bool, std::string>
      value;  // monostate: infinite or undefined, the note says why
  std::string unit;
  std::optional<double> se;  // none: a closed form
  std::string note;
};

struct MeterSums {
  Meter meter;
  RegionSums sums;
};

// What the readings are computed from.
struct Evidence {
  const World& world;
  const Survey& survey;
  const ExposureChoice& exposure;
  const std::vector<MeterSums>& meters;
  const Survey* without_barrel = nullptr;  // same scene, no barrel; null when there is no barrel
  const Survey* white = nullptr;           // with white_first: the light on the subject; null when not taken
  const SeparationFilm* separation = nullptr;  // subject and backdrop side by side; null when not taken
};

// Every reading of the scene, headline first.
std::vector<Reading> all_readings(const Evidence& evidence);

// Nearest-rank percentile (0..100) of some values, whose order it changes. Not for an empty list.
double percentile_in(std::vector<double>& values, double per_cent);
double percentile(std::vector<double> values, double per_cent);

}  // namespace undercap
