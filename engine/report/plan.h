// The set as a drawing: from above (plan) and from the camera's right side (elevation).
//
// Drawing axes, metres: plan u to the camera's right, v level ahead of it, so that the camera stands at six
// o'clock; elevation u ahead, v up. Both begin at the world's origin. Paper: mm from the upper left corner.
// A window turns a drag into a place by world_place(axes, kind, from_paper(view, mouse), place before).
#pragma once

#include <glm/vec2.hpp>
#include <glm/vec3.hpp>
#include <string>
#include <vector>

#include "engine/draw/drawing.h"
#include "engine/report/outlines.h"
#include "engine/world/world.h"

namespace undercap {

struct PlaceMap;  // place_map.h

struct DrawingView {
  enum class Kind { plan, elevation } kind = Kind::plan;
  double width_mm = 130, height_mm = 165;
  double mm_per_m = 200;   // 200 = 1:5
  glm::dvec2 centre_m{0};  // what the middle of the paper shows, drawing axes
  bool print_key = false;  // the symbols explained, in the lower left corner
};

// Level unit vectors, world x and y. A camera that looks straight down has its picture's top ahead.
struct DrawingAxes {
  glm::dvec2 right{1, 0}, forward{0, 1};
};
DrawingAxes axes_of(const World& world);

glm::dvec2 drawing_place(const DrawingAxes& axes, DrawingView::Kind kind, const glm::dvec3& world_m);
// The place that a drawing shows there; what it does not show stays as it is in 'kept'.
glm::dvec3 world_place(const DrawingAxes& axes, DrawingView::Kind kind, const glm::dvec2& drawing_m,
                       const glm::dvec3& kept_m);

glm::dvec2 to_paper(const DrawingView& view, const glm::dvec2& drawing_m);
glm::dvec2 from_paper(const DrawingView& view, const glm::dvec2& paper_mm);

// Shows the subject, the camera and the sources, and with a map its extent and its marks, at a scale that one
// can name (1:5, 1:8 ...), at most that given.
DrawingView fitted_view(const World& world, DrawingView::Kind kind, double width_mm, double height_mm,
                        double most_mm_per_m = 1000, const PlaceMap* map = nullptr);

// Both at one scale, each on paper of its own size.
struct DrawingViews {
  DrawingView plan, elevation;
};
DrawingViews fitted_views(const World& world, const glm::dvec2& plan_mm, const glm::dvec2& elevation_mm,
                          const PlaceMap* map = nullptr);

// All that a paper can show lies within its diagonal: for outlines.
double shown_within_m(const DrawingView& view);

// 'outlines' are those of the view's kind. With a map only what is needed to find one's way about it is
// drawn: no beams, no sharp zone, no meters, no dimensions, of the names that of the subject.
Drawing set_drawing(const World& world, const std::vector<PropOutline>& outlines, const DrawingView& view,
                    const PlaceMap* map = nullptr);

// What people say of a place: "4:30, 20 cm from the middle of the subject, 9 cm up (1 hand)".
std::string place_words(const World& world, const glm::dvec3& place_m);
// Its parts: the clock about a place, seen from above with the camera at six; the height with hands.
std::string clock_place_words(const World& world, const glm::dvec3& place_m, const glm::dvec3& about_m);
std::string height_words(const World& world, const glm::dvec3& place_m);
std::string hand_words(double length_m);  // "half a hand", "2.5 hands"

}  // namespace undercap
