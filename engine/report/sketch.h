// A drawing of a set while it is made: what its parts share. Private to the module.
#pragma once

#include <fmt/format.h>

#include <glm/vec2.hpp>
#include <glm/vec3.hpp>
#include <string>
#include <vector>

#include "engine/report/labels.h"
#include "engine/report/plan.h"

namespace undercap {

inline constexpr double words_mm = 2.4;  // the type of all labels
inline constexpr double small_words_mm = 2.1;

struct Sketch {
  const World& world;
  const std::vector<PropOutline>& outlines;
  const DrawingView& view;
  const PlaceMap* map;  // none: not asked for
  DrawingAxes axes;
  glm::dvec3 subject_m{0};             // its middle
  std::vector<double> lamp_floor_m{};  // the ground below each lamp, z
  double camera_floor_m = 0;
  Drawing drawing{};
  Labels labels;

  bool is_plan() const { return view.kind == DrawingView::Kind::plan; }
  glm::dvec2 paper(const glm::dvec3& place_m) const {
    return to_paper(view, drawing_place(axes, view.kind, place_m));
  }
  // Of a direction: mm on paper of a metre along it, with its sense.
  glm::dvec2 paper_way(const glm::dvec3& direction) const { return paper(direction) - paper(glm::dvec3(0)); }
  // Level, square to the drawing's plane, toward who looks at it.
  glm::dvec3 toward_viewer() const {
    return is_plan() ? glm::dvec3(0, 0, 1) : glm::dvec3(axes.right.x, axes.right.y, 0);
  }
  bool is_on_paper(const glm::dvec2& place_mm, double margin_mm = 0) const {
    return place_mm.x >= margin_mm && place_mm.y >= margin_mm && place_mm.x <= view.width_mm - margin_mm &&
           place_mm.y <= view.height_mm - margin_mm;
  }
};

// In the order of painting. Each adds its marks and asks for its labels.
void draw_clock(Sketch& sketch);  // plan
void draw_depth(Sketch& sketch);  // the sharp zone
void draw_lamp_light(Sketch& sketch);
void draw_field(Sketch& sketch);
void draw_place_map(Sketch& sketch);  // lines and hatches
void draw_props(Sketch& sketch);
void draw_ground(Sketch& sketch);  // elevation; hides what lies in the ground
void draw_camera(Sketch& sketch);
void draw_lamps(Sketch& sketch);
void draw_meters(Sketch& sketch);
void draw_place_marks(Sketch& sketch);     // letters, and where the map's slice lies
void open_numbered_lines(Sketch& sketch);  // after the labels: no line of the map runs through its number
void draw_sun(Sketch& sketch);
void draw_dimensions(Sketch& sketch);
void draw_scale(Sketch& sketch);

// A line with a bar at each end, beside from and to by 'offset_mm' to the left of the way (right when
// negative), with thin lines back to what it measures; its words on its middle.
void add_dimension(Sketch& sketch, const glm::dvec2& from_mm, const glm::dvec2& to_mm, double offset_mm,
                   const std::string& words, const std::string& handle);

// What a card does, by the letters of lighting plans: W white, S silver, G gold, B black, D a diffuser; empty
// where it is none of them.
std::string card_letter(const World& world, const std::string& prop);

// "18 cm", "3.2 cm", "1.25 m".
std::string length_words(double length_m);

}  // namespace undercap
