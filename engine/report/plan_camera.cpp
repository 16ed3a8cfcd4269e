// The camera in a drawing: body and lens, the wedge of its field, the plane in focus and the sharp zone.
#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/optics/depth.h"
#include "engine/optics/third_stops.h"
#include "engine/report/places.h"
#include "engine/report/sketch.h"

namespace undercap {
namespace {

constexpr double degrees = 180 / std::numbers::pi;

// Square to the lens axis, in the drawing's plane: to the right in a plan, upward in an elevation.
glm::dvec3 across_axis(const Sketch& sketch) {
  return sketch.is_plan()
             ? glm::dvec3(sketch.axes.right, 0)
             : glm::normalize(glm::cross(glm::dvec3(sketch.axes.right, 0), sketch.world.camera.forward));
}

// Half of what the picture shows along 'across', over the distance from the pupil. A rolled picture reaches
// out with its corners.
double half_field_tan(const CameraRig& rig, const glm::dvec3& across) {
  const double half_mm = std::abs(glm::dot(across, rig.right)) * rig.width.value() / 2 +
                         std::abs(glm::dot(across, rig.up)) * rig.height.value() / 2;
  return half_mm / rig.image_distance.value();
}

// Around the lens axis: half across, from 'from_m' to 'to_m' before the pupil.
Polyline tube(const Sketch& sketch, const glm::dvec3& across, double from_m, double to_m, double half_m) {
  const CameraRig& rig = sketch.world.camera;
  const glm::dvec3 from = rig.pupil_m + from_m * rig.forward, to = rig.pupil_m + to_m * rig.forward;
  return {.points_mm = {sketch.paper(from - half_m * across), sketch.paper(to - half_m * across),
                        sketch.paper(to + half_m * across), sketch.paper(from + half_m * across)},
          .closed = true,
          .fill = Fill::paper};
}

void draw_body(Sketch& sketch, const glm::dvec3& across) {
  const World& world = sketch.world;
  const Camera& camera = world.scene.camera;
  const bool has_barrel = camera.barrel_mm > 0;
  const double front = has_barrel ? camera.front_ahead_mm * 1e-3 : 0, back = front - camera.barrel_mm * 1e-3;
  // A body of the usual size (common practice, no source): 12 cm wide, 9 high, 5 deep.
  constexpr double half_width = 0.06, half_height = 0.045, depth = 0.05;
  Polyline body = tube(sketch, across, back - depth, back, sketch.is_plan() ? half_width : half_height);
  // It stands on the ground, whatever the size of it.
  const double floor = to_paper(sketch.view, {0, sketch.camera_floor_m}).y;
  if (!sketch.is_plan())
    for (glm::dvec2& corner : body.points_mm) corner.y = std::min(corner.y, floor);
  Box box{body.points_mm[0], body.points_mm[0]};
  for (const glm::dvec2& corner : body.points_mm)
    box = {glm::min(box.low, corner), glm::max(box.high, corner)};
  sketch.drawing.add(Pen::camera, body, "camera");
  if (has_barrel) {
    const Polyline barrel = tube(sketch, across, back, front, camera.front_diameter_mm * 0.5e-3);
    for (const glm::dvec2& corner : barrel.points_mm)
      box = {glm::min(box.low, corner), glm::max(box.high, corner)};
    sketch.drawing.add(Pen::camera, barrel, "camera");
  }
  sketch.labels.keep_clear(box);
  Label label{.words = fmt::format("{:.4g} mm  {}", camera.focal_length_mm, f_number_label(camera.f_number)),
              .places = places_around(
                  (box.low + box.high) / 2.0,
                  1.2 + (sketch.is_plan() ? box.high.x - box.low.x : box.high.y - box.low.y) / 2, words_mm),
              .handle = "camera"};
  if (sketch.is_plan())
    label.words =
        fmt::format("camera  h {}  {}", length_words(world.camera.axis_height.value()), label.words);
  sketch.labels.ask(std::move(label));
}

}  // namespace

void draw_depth(Sketch& sketch) {
  const CameraRig& rig = sketch.world.camera;
  const glm::dvec3 across = across_axis(sketch);
  const double tan = half_field_tan(rig, across), focus = rig.pupil_distance.value();
  const DepthOfField depth = depth_of_field(rig.lens, rig.magnification, circle_of(sketch.world));
  // A zone without an end is drawn to ten times the distance.
  const double near = focus - depth.near.value(), far = depth.far ? focus + depth.far->value() : 10 * focus;
  const auto place = [&](double ahead, double side) {
    return sketch.paper(rig.pupil_m + ahead * (rig.forward + side * tan * across));
  };
  sketch.drawing.add(Pen::depth_limit,
                     Polyline{.points_mm = {place(near, -1), place(near, 1), place(far, 1), place(far, -1)},
                              .closed = true,
                              .fill = Fill::pale,
                              .outlined = false});
  // Half as wide again as the picture, so that they are told from what stands in it.
  constexpr double beyond = 1.5;
  sketch.drawing.add_line(Pen::depth_limit, place(near, -beyond), place(near, beyond));
  if (depth.far) sketch.drawing.add_line(Pen::depth_limit, place(far, -beyond), place(far, beyond));
  const glm::dvec2 low = place(focus, -beyond), high = place(focus, beyond);
  sketch.drawing.add_line(Pen::focus_plane, low, high, "focus");
  const std::string sharp =
      depth.total() ? fmt::format("sharp {:.1f} mm", *depth.total() / 1_mm)
                    : fmt::format("sharp from {:.1f} mm before it to infinity", depth.near / 1_mm);
  std::vector<Text> places = places_around(high, 1.2, words_mm);
  const std::vector<Text> others = places_around(low, 1.2, words_mm);
  for (std::size_t i = 0; i < others.size(); ++i)
    places.insert(places.begin() + static_cast<std::ptrdiff_t>(2 * i + 1), others[i]);
  sketch.labels.ask({.words = fmt::format("in focus, {}", sharp),
                     .places = places,
                     .handle = "focus",
                     .about = {low, high}});
}

void draw_field(Sketch& sketch) {
  const CameraRig& rig = sketch.world.camera;
  const glm::dvec3 across = across_axis(sketch);
  const double tan = half_field_tan(rig, across);
  const double far_m = 20 * rig.pupil_distance.value();
  const glm::dvec2 pupil = sketch.paper(rig.pupil_m);
  for (const double side : {-1.0, 1.0})
    sketch.drawing.add_line(Pen::field, pupil,
                            sketch.paper(rig.pupil_m + far_m * (rig.forward + side * tan * across)));
  sketch.drawing.add_line(Pen::axis, pupil, sketch.paper(rig.pupil_m + far_m * rig.forward));
  const glm::dvec2 beside =
      sketch.paper(rig.pupil_m + 0.45 * rig.pupil_distance.value() * (rig.forward + tan * across));
  sketch.labels.ask({.words = fmt::format("{:.1f}°", 2 * std::atan(tan) * degrees),
                     .places = places_around(beside, 0.8, small_words_mm),
                     .pen = Pen::field,
                     .needed = false});
}

void draw_camera(Sketch& sketch) {
  const glm::dvec2 look = sketch.paper(look_at_place(sketch.world));
  for (const double turn : {-1.0, 1.0})
    sketch.drawing.add_line(Pen::axis, look - glm::dvec2(1, turn), look + glm::dvec2(1, turn), "look_at");
  draw_body(sketch, across_axis(sketch));
}

}  // namespace undercap
