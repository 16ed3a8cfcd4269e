// How a figure becomes a reading: with its error, or with the reason why there is none. Private to the
// module.
#pragma once

#include <numbers>

#include "engine/measure/reading_groups.h"

namespace undercap {

using Under = Reading::Under;

inline constexpr double degrees = 180 / std::numbers::pi;
inline const std::string take_more = "a finer --quality takes more samples";

Reading exact(Under under, std::string name, double value, std::string unit, std::string note = {});
Reading nothing(Under under, std::string name, std::string unit, std::string note);
std::string doubt_of(const Estimate& estimate);

// A sampled value. '(?)' leads the note where one batch carries so much that the error may be anything.
Reading measured(Under under, std::string name, const std::optional<Estimate>& estimate, std::string unit,
                 const std::string& why_not, const std::string& note = {});
// A percentile, or a share above a threshold.
Reading measured(Under under, const std::string& name, const std::optional<Figure>& figure,
                 const std::string& unit, const std::string& why_not, std::string note);
// Whether stops that are no mean are too uncertain to be given: five standard errors of what stands under the
// logarithm, as for every one, are 1 / (5 ln 2) stops.
bool drowns_in_noise(const Figure& stops);
// Stops between two regions or mixes, with the reason where there is none.
Reading stops_reading(Under under, std::string name, const RegionSums& a, const Mix& mix_a,
                      const RegionSums& b, const Mix& mix_b, const std::string& why_not);

// Why a region has no figure under a mix, or none that can be told; empty when it has one. 'name' is the
// region's, for a figure of two.
std::string why_missing(const RegionSums& sums, const Mix& mix, const std::string& name = {});
std::string first_of(std::string a, std::string b);

// The addresses whose parts get readings of their own: each part of each prop that the subject or a named
// backdrop is of.
std::vector<Address> reported_addresses(const World& world);
// The subject's parts of one name, whatever prop they are of.
RegionSums subject_parts_named(const Evidence& e, std::string_view name);

}  // namespace undercap
