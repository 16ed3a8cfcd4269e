// How the light groups of a world add up to a picture: what each unit film is multiplied by.
//
// A film is linear, so light that shines for part of an exposure, and a flash, are weights as well. Over an
// exposure of t seconds the mean luminance is
//   L = sum of unit film x power x share,   share = 1 for what shines all the time,
//                                                   min(on_s, t) / t for a lamp that is on for on_s,
//                                                   1 / t for a flash, whose power is cd s,
// so that L t is what the sensor collects. This is the only place that knows it.
#pragma once

#include <vector>

#include "engine/core/quantities.h"
#include "engine/world/world.h"

namespace undercap {

// A factor a group, per channel.
using Mix = std::vector<glm::dvec3>;

// The part of an exposure for which a group counts; a flash in 1/s.
double exposure_share(const LightGroup& group, Duration shutter);

Mix mix_of(const World& world);          // the light while every lamp is on, without flashes: cd/m2, lx
Mix mix_of_flashes(const World& world);  // the flashes alone: cd s/m2, lx s
Mix mix_over(const World& world, Duration shutter);     // the picture: means over the exposure, cd/m2
Mix mix_metered(const World& world, Duration shutter);  // the same without flashes, which no meter waits for
Mix mix_foreseen(const World& world);  // the picture, before its shutter is chosen: the scene's, or 1 s
Mix mix_of_one(const Mix& mix, std::size_t group);  // of a mix, one group alone
// The picture with one group on or off at its power.
Mix mix_with(const World& world, Duration shutter, std::size_t group, bool on);

// The shutter time at which sum of power x min(on_s, t) reaches a wanted exposure, where 'luminance' is what
// each group gives while it shines (cd/m2; flashes are left out) and 'wanted' is in cd s/m2: exact, since the
// sum is made of straight lines. None when the lamps go out before it is reached and nothing else shines.
std::optional<Duration> shutter_reaching(const World& world, const std::vector<double>& luminance,
                                         double wanted);

// Luminance that still shines at a time into the exposure: the slope of that sum.
double luminance_at(const World& world, const std::vector<double>& luminance, Duration time);

}  // namespace undercap
