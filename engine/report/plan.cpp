#include "engine/report/plan.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <glm/common.hpp>
#include <glm/geometric.hpp>

#include "engine/measure/place_candidates.h"
#include "engine/report/place_map.h"
#include "engine/report/places.h"
#include "engine/report/plan_key.h"
#include "engine/report/sketch.h"

namespace undercap {
namespace {

using View = DrawingView::Kind;

// Denominators that people know from maps and plans.
constexpr std::array<double, 23> scales{1,  1.5, 2,  2.5, 3,  4,  5,  6,  7,   8,   10, 12,
                                        15, 20,  25, 30,  40, 50, 60, 80, 100, 150, 200};

// What a drawing of the set must hold: the subject, with room for its clock, the camera and the sources.
struct Extent {
  glm::dvec2 low{1e9}, high{-1e9};
  void add(const glm::dvec2& place, double around = 0) {
    low = glm::min(low, place - around);
    high = glm::max(high, place + around);
  }
};

Extent extent_of(const World& world, View kind, const PlaceMap* map) {
  const DrawingAxes axes = axes_of(world);
  Extent extent;
  const auto add = [&](const glm::dvec3& place_m, double around_m) {
    extent.add(drawing_place(axes, kind, place_m), around_m);
  };
  std::vector<bool> of_subject(world.parts.size(), false);
  for (const std::uint32_t part : world.subject) of_subject[part] = true;
  for (const WorldTriangle& t : world.triangle)
    if (of_subject[t.part])
      for (const std::uint32_t corner : {t.a, t.b, t.c}) add(glm::dvec3(world.position[corner]), 0);
  add(subject_middle(world), kind == View::plan ? 0.10 : 0.06);
  // A body behind the lens, a housing behind a lamp: about a hand.
  add(world.camera.pupil_m - 0.09 * world.camera.forward, 0.06);
  for (const Lamp& lamp : world.lamps) add(lamp.position_m, 0.05);
  if (map) {
    for (const MapMark& mark : map->marks) add(mark.place_m, 0.03);
    const FieldGrid& field = map->slice(kind).field;
    extent.add(field.low);
    extent.add(field.high);
  }
  return extent;
}

std::string scale_words(double mm_per_m) {
  const double denominator = 1000 / mm_per_m;
  const double rounded = denominator < 10 ? std::round(denominator * 10) / 10 : std::round(denominator);
  return fmt::format("1:{:g}", rounded);
}

}  // namespace

DrawingAxes axes_of(const World& world) {
  const LevelAxes axes = level_axes(world.camera);
  return {.right = glm::dvec2(axes.right), .forward = glm::dvec2(axes.ahead)};
}

glm::dvec2 drawing_place(const DrawingAxes& axes, View kind, const glm::dvec3& world_m) {
  const glm::dvec2 level(world_m);
  const double ahead = glm::dot(level, axes.forward);
  return kind == View::plan ? glm::dvec2(glm::dot(level, axes.right), ahead) : glm::dvec2(ahead, world_m.z);
}

glm::dvec3 world_place(const DrawingAxes& axes, View kind, const glm::dvec2& drawing_m,
                       const glm::dvec3& kept_m) {
  if (kind == View::plan) return {drawing_m.x * axes.right + drawing_m.y * axes.forward, kept_m.z};
  return {glm::dot(glm::dvec2(kept_m), axes.right) * axes.right + drawing_m.x * axes.forward, drawing_m.y};
}

glm::dvec2 to_paper(const DrawingView& view, const glm::dvec2& drawing_m) {
  const glm::dvec2 from_centre = (drawing_m - view.centre_m) * view.mm_per_m;
  return {view.width_mm / 2 + from_centre.x, view.height_mm / 2 - from_centre.y};
}

glm::dvec2 from_paper(const DrawingView& view, const glm::dvec2& paper_mm) {
  const glm::dvec2 from_centre(paper_mm.x - view.width_mm / 2, view.height_mm / 2 - paper_mm.y);
  return view.centre_m + from_centre / view.mm_per_m;
}

DrawingView fitted_view(const World& world, View kind, double width_mm, double height_mm,
                        double most_mm_per_m, const PlaceMap* map) {
  const Extent extent = extent_of(world, kind, map);
  // Room for labels and dimension lines.
  constexpr double edge_mm = 9;
  const glm::dvec2 size = extent.high - extent.low,
                   room = glm::max(glm::dvec2(width_mm, height_mm) - 2 * edge_mm, glm::dvec2(1));
  const double most = std::min({room.x / size.x, room.y / size.y, most_mm_per_m});
  double mm_per_m = most;
  for (const double scale : scales) {
    mm_per_m = 1000 / scale;
    if (mm_per_m <= most) break;
  }
  mm_per_m = std::min(mm_per_m, most);
  // What room is left over lies behind the subject, where its backdrop and most of the words are; around a
  // map.
  glm::dvec2 centre = (extent.low + extent.high) / 2.0;
  const int ahead = kind == View::plan ? 1 : 0;
  if (!map) centre[ahead] += (room[ahead] / mm_per_m - size[ahead]) / 2;
  return {
      .kind = kind, .width_mm = width_mm, .height_mm = height_mm, .mm_per_m = mm_per_m, .centre_m = centre};
}

DrawingViews fitted_views(const World& world, const glm::dvec2& plan_mm, const glm::dvec2& elevation_mm,
                          const PlaceMap* map) {
  // The second at the first one's scale, and the first again at what that came to.
  const auto plan = [&](double most) {
    return fitted_view(world, View::plan, plan_mm.x, plan_mm.y, most, map);
  };
  const DrawingView elevation =
      fitted_view(world, View::elevation, elevation_mm.x, elevation_mm.y, plan(1000).mm_per_m, map);
  return {.plan = plan(elevation.mm_per_m), .elevation = elevation};
}

double shown_within_m(const DrawingView& view) { return (view.width_mm + view.height_mm) / view.mm_per_m; }

Drawing set_drawing(const World& world, const std::vector<PropOutline>& outlines, const DrawingView& view,
                    const PlaceMap* map) {
  Sketch sketch{.world = world,
                .outlines = outlines,
                .view = view,
                .map = map,
                .axes = axes_of(world),
                .subject_m = subject_middle(world),
                .drawing = {.width_mm = view.width_mm, .height_mm = view.height_mm},
                .labels = Labels({{0.5, 0.5}, {view.width_mm - 0.5, view.height_mm - 0.5}})};
  std::vector<glm::dvec2> feet;
  for (const Lamp& lamp : world.lamps) feet.emplace_back(lamp.position_m);
  sketch.lamp_floor_m = ground_below(world, feet);
  sketch.camera_floor_m = world.camera.pupil_m.z - world.camera.axis_height.value();
  sketch.drawing.title =
      fmt::format("{}, {}", sketch.is_plan() ? "Plan, from above" : "Elevation, from the right",
                  scale_words(view.mm_per_m));
  if (sketch.is_plan()) draw_clock(sketch);
  if (!map) draw_depth(sketch);
  if (!map) draw_lamp_light(sketch);
  draw_field(sketch);
  if (map) draw_place_map(sketch);
  draw_props(sketch);
  if (!sketch.is_plan()) draw_ground(sketch);
  draw_camera(sketch);
  if (!map) draw_meters(sketch);
  draw_lamps(sketch);
  if (map) draw_place_marks(sketch);
  draw_sun(sketch);
  if (!map) draw_dimensions(sketch);
  draw_scale(sketch);
  sketch.labels.place_all(sketch.drawing);
  if (map) open_numbered_lines(sketch);
  if (view.print_key) add_key(sketch.drawing);
  return std::move(sketch.drawing);
}

}  // namespace undercap
