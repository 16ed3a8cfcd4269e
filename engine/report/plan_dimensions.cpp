// Dimension lines: what a person measures with a tape, in cm, and may type over.
#include <cmath>
#include <glm/geometric.hpp>

#include "engine/report/places.h"
#include "engine/report/sketch.h"

namespace undercap {
namespace {

constexpr double offset_mm = 5;

// Lamp front to what it is aimed at, beside its axis, on the side away from the camera's.
void measure_lamp(Sketch& sketch, std::size_t number) {
  const Lamp& lamp = sketch.world.lamps[number];
  const std::string& name = sketch.world.scene.sources[number].name;
  const glm::dvec3 aim = aim_place(sketch.world, number);
  const double seen = glm::length(glm::cross(sketch.toward_viewer(), lamp.direction));
  const glm::dvec2 from = sketch.paper(lamp.position_m), to = sketch.paper(aim);
  const bool shown_here = sketch.is_plan() ? seen >= 0.5 : seen >= 0.5 && std::abs(lamp.direction.z) > 0.87;
  if (shown_here && glm::distance(from, to) > 6) {
    const glm::dvec2 way = to - from, camera = sketch.paper(sketch.world.camera.pupil_m) - from;
    const double side = way.x * camera.y - way.y * camera.x > 0 ? 1 : -1;
    add_dimension(sketch, from, to, side * offset_mm, length_words(glm::distance(lamp.position_m, aim)),
                  fmt::format("dimension:distance:{}", name));
  }
  if (sketch.is_plan()) return;
  glm::dvec3 foot = lamp.position_m;
  foot.z = sketch.lamp_floor_m[number];
  const double behind = from.x < sketch.paper(sketch.subject_m).x ? -1 : 1;
  add_dimension(sketch, sketch.paper(foot), from, -behind * offset_mm,
                length_words(lamp.position_m.z - foot.z), fmt::format("dimension:height:{}", name));
}

}  // namespace

void add_dimension(Sketch& sketch, const glm::dvec2& from_mm, const glm::dvec2& to_mm, double beside_mm,
                   const std::string& words, const std::string& handle) {
  const glm::dvec2 line = to_mm - from_mm;
  if (glm::length(line) < 0.5) return;
  const glm::dvec2 way = glm::normalize(line), left(way.y, -way.x);
  const glm::dvec2 from = from_mm + beside_mm * left, to = to_mm + beside_mm * left;
  const double sign = beside_mm < 0 ? -1 : 1;
  Drawing& drawing = sketch.drawing;
  for (const glm::dvec2* end : {&from_mm, &to_mm})
    drawing.add_line(Pen::dimension, *end + sign * 1.0 * left, *end + (beside_mm + sign * 1.0) * left);
  drawing.add_line(Pen::dimension, from, to, handle);
  // Strokes at a slant, as builders draw them.
  const glm::dvec2 slant = 0.9 * (way + left) / std::sqrt(2.0);
  for (const glm::dvec2& end : {from, to}) drawing.add_line(Pen::dimension, end - slant, end + slant);
  Label label{
      .words = words, .places = {}, .handle = handle, .pen = Pen::dimension, .about = {(from + to) / 2.0}};
  for (const double share : {0.5, 0.35, 0.65, 0.2, 0.8})
    label.places.push_back({.at_mm = from + share * (to - from) + glm::dvec2(0, 0.36 * words_mm),
                            .size_mm = words_mm,
                            .across = Across::middle});
  // A line shorter than its words has them beside it.
  if (glm::length(line) < std::abs(way.x) * text_width_mm(words, words_mm) + std::abs(way.y) * 2 * words_mm)
    label.places = places_around((from + to) / 2.0 + sign * 1.5 * left, 0.8, words_mm);
  else
    for (const Text& place : places_around((from + to) / 2.0, 1.5, words_mm)) label.places.push_back(place);
  sketch.labels.ask(std::move(label));
}

void draw_dimensions(Sketch& sketch) {
  const World& world = sketch.world;
  const CameraRig& rig = world.camera;
  const double ahead = world.scene.camera.barrel_mm > 0 ? world.scene.camera.front_ahead_mm * 1e-3 : 0;
  const glm::dvec3 front = rig.pupil_m + ahead * rig.forward,
                   focus = rig.pupil_m + rig.pupil_distance.value() * rig.forward;
  const std::string to_subject = length_words(rig.pupil_distance.value() - ahead);
  if (sketch.is_plan()) {
    // Outside the barrel, at the right of the axis.
    const double beside = 0.5e-3 * world.scene.camera.front_diameter_mm * sketch.view.mm_per_m + 3;
    add_dimension(sketch, sketch.paper(front), sketch.paper(focus), -beside, to_subject,
                  "dimension:front_to_subject:");
  } else {
    glm::dvec3 foot = rig.pupil_m;
    foot.z = sketch.camera_floor_m;
    // In the ground, unless that is far below the axis; then above the lens.
    constexpr double far_below_mm = 25;
    const double below = (rig.pupil_m.z - foot.z) * sketch.view.mm_per_m + 8;
    add_dimension(sketch, sketch.paper(front), sketch.paper(focus),
                  below < far_below_mm ? -below : 0.045 * sketch.view.mm_per_m + 6, to_subject,
                  "dimension:front_to_subject:");
    // Behind the body, where nothing else stands.
    const double barrel_m = world.scene.camera.barrel_mm * 1e-3, body_m = 0.05;
    const double behind = (barrel_m - ahead + body_m) * sketch.view.mm_per_m + 4;
    add_dimension(sketch, sketch.paper(foot), sketch.paper(rig.pupil_m), behind,
                  length_words(rig.axis_height.value()), "dimension:axis_height:");
  }
  for (std::size_t i = 0; i < world.lamps.size(); ++i) measure_lamp(sketch, i);
}

}  // namespace undercap
