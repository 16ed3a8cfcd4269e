// The rim: how the subject stands off from what lies behind it, along its outline.
//
// A rim point is a pixel of the subject with backdrop among its eight neighbours. Around it the pixels of the
// subject within 2 % of the frame's height stand against those of the backdrop within as much: the widths
// that an eye takes for the two sides of an edge are common practice, no source. Pixels that the outline cuts
// mix both sides and have no say, unless a side has no others, where the outline itself is out of focus. No
// published formula says how well a subject stands off; these are measurements, each for itself.
#pragma once

#include <optional>
#include <vector>

#include "engine/measure/separation.h"

namespace undercap {

class Rim {
 public:
  explicit Rim(const SeparationPicture& picture);
  std::size_t points() const { return points_.size(); }

  // log2 of the mean luminance of the subject's side over that of the backdrop's, a point: above 0 where the
  // subject is the lighter. Infinite where one side is black, 0 where both are.
  std::vector<double> steps_stops(const Use& use) const;

  // The sides as a display shows them, each its mean, compared by CIEDE2000; and what of that is lightness
  // and what colour, as differences of L* and in the plane of a* and b*.
  struct ColourSteps {
    std::vector<double> delta_e, lightness, chroma;  // a point, all 0 or more
  };
  ColourSteps colour_steps(const Display& display, const Use& use) const;

 private:
  struct Point {
    std::vector<std::uint32_t> subject, backdrop;  // pixels around it
  };
  std::vector<std::uint32_t> side(const std::vector<std::uint8_t>& shares, int x, int y, double reach) const;
  const SeparationPicture& picture_;
  std::vector<Point> points_;
};

// The median of the signed steps. Nothing without rim points, or where half of them have a black side.
std::optional<Figure> rim_step(const Rim& rim);

// Where the rim is lost: the tenth percentile of the steps' magnitude, so that a tenth of the outline stands
// off by no more. It has no sign. The tenth percentile of the signed steps would be another question: of an
// outline that is light on one side and dark on the other it is far from 0, whatever melts away between.
std::optional<Figure> rim_step_low(const Rim& rim);

// Medians over the rim points.
struct RimColour {
  Figure delta_e;
  double lightness = 0, chroma = 0;  // |L*| and a*b* differences
};
std::optional<RimColour> rim_colour(const Rim& rim, const Display& display);

}  // namespace undercap
