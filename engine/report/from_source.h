// What a lamp sees is lit: the set seen from the middle of its shining surface, along its direction.
//
// A picture in perspective, the lamp's 'right' to the right, its up upward. Grey is the light that falls on a
// surface there from that lamp alone, on a scale on which nearly all of the subject stays below white; coded
// for the screen over the upper two thirds of its range. What stands between lamp and subject takes its light
// away and hides it here.
#pragma once

#include <cstdint>
#include <glm/vec2.hpp>
#include <vector>

#include "engine/draw/drawing.h"
#include "engine/world/world.h"

namespace undercap {

struct SourceView {
  int side_px = 0;
  double half_field_tan = 1;            // tangent of half the field, across and up alike
  std::vector<std::uint8_t> grey{};     // rows from the top
  std::vector<std::uint8_t> subject{};  // 1 where the subject is seen
  // Around the subject, closed rings in 0..1 of the picture from the upper left.
  std::vector<std::vector<glm::dvec2>> contour{};
  double subject_share = 0;  // of all light of the lamp, what meets the subject in this view, 0..1
};

// 'lamp' is an index into World::lamps. The field is what the beam lights above a tenth of its peak, 10 to 90
// degrees. About 0.1 s of one core for 1.4 million triangles.
SourceView source_view(const World& world, int lamp, int side_px);

// The view as large as it fits, with the lamp's name and what share of its light meets the subject.
Drawing from_source_drawing(const World& world, int lamp, double width_mm, double height_mm);

}  // namespace undercap
