#include "engine/measure/readings.h"

#include <algorithm>
#include <cmath>

#include "engine/core/errors.h"
#include "engine/measure/guesses.h"
#include "engine/measure/reading_groups.h"

namespace undercap {

double percentile(std::vector<double> values, double per_cent) { return percentile_in(values, per_cent); }

double percentile_in(std::vector<double>& values, double per_cent) {
  UNDERCAP_CHECK(!values.empty(), "a percentile is taken of at least one value");
  const auto rank =
      static_cast<std::size_t>(std::clamp(std::ceil(per_cent / 100 * static_cast<double>(values.size())) - 1,
                                          0.0, static_cast<double>(values.size() - 1)));
  std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(rank), values.end());
  return values[rank];
}

std::vector<Reading> all_readings(const Evidence& evidence) {
  Readings readings;
  add_contrasts(evidence, readings);
  add_parts(evidence, readings);
  add_rises(evidence, readings);
  add_sides(evidence, readings);
  add_lens(evidence, readings);
  add_depth(evidence, readings);
  add_backdrop(evidence, readings);
  add_exposure(evidence, readings);
  add_ladder(evidence, readings);
  add_light(evidence, readings);
  add_subject_light(evidence, readings);
  add_meters(evidence, readings);
  add_taken(evidence, readings);
  note_guesses(evidence, readings);
  std::stable_sort(readings.begin(), readings.end(),
                   [](const Reading& a, const Reading& b) { return a.under < b.under; });
  return readings;
}

}  // namespace undercap
