// The same photograph on another format: the partner of a camera, and what the two are held equal in.
#pragma once

#include <array>
#include <optional>
#include <string>

#include "engine/measure/survey.h"
#include "engine/optics/equivalence.h"
#include "engine/world/world.h"

namespace undercap {

// All keep the field of view at the plane in focus, across what formats are matched by. All but the rule of
// thumb keep the place of the entrance pupil too, and with it the perspective.
enum class Same {
  f_number,  // the marked one
  pupil,     // its diameter: the same blur, diffraction and light, exactly (optics/equivalence.h)
  best,      // each has the f-number and the focus that serve the visible subject best
  rule       // focal length and f-number times the crop factor, as the rule of thumb has it
};
// "same f-number", as a sheet says it; and what that keeps, and what all of them keep.
std::string words_of(Same same);
std::string kept_by(Match match);
std::string kept_by_all(Match match);  // of pictures that are the same in different ways
std::string kept_by(Same same, Match match);

struct PartnerWish {
  std::array<double, 2> format_mm{36, 24};
  Match match = Match::diagonal;
  Same same = Same::f_number;
};

// The scene of 'base' with its partner camera; the scene's own format gives its own camera, but for 'best'.
// 'needed' is for 'best' alone, which leaves the f-number where no subject is seen. Circle of confusion and
// pixels grow with the format; ISO speed follows for the same pupil and the rule, so that one shutter serves
// both.
Scene partner_scene(const World& base, const PartnerWish& wish, const std::optional<DepthRange>& needed);

// How far the rule of thumb is off at this magnification, in a sentence.
std::string rule_error(const World& base, const std::array<double, 2>& format_mm, Match match);

}  // namespace undercap
