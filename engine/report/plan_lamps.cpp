// Lamps in a drawing: what they are, where they point, how wide their beam is and where it gives how many
// lux.
#include <algorithm>
#include <array>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>
#include <optional>

#include "engine/report/lux_lines.h"
#include "engine/report/places.h"
#include "engine/report/sketch.h"

namespace undercap {
namespace {

// A lamp whose axis is seen shorter than this points at the viewer or away: a ring shows it, and no beam.
constexpr double least_seen = 0.35;

// How a lamp lies on the paper.
struct Pose {
  const Lamp& lamp;
  const LightGroup& group;
  glm::dvec3 across{
      0};           // unit, square to the lamp's direction, in the drawing's plane, to its left as it looks
  double seen = 1;  // length on the drawing of a metre along its direction
  glm::dvec2 front{0}, way{0, -1}, side{1, 0};  // on paper; unit
  double half_width_mm = 0;
};

Pose pose_of(const Sketch& sketch, std::size_t number) {
  const World& world = sketch.world;
  const Lamp& lamp = world.lamps[number];
  Pose pose{.lamp = lamp, .group = world.groups[world.groups.size() - world.lamps.size() + number]};
  const glm::dvec3 across = glm::cross(sketch.toward_viewer(), lamp.direction);
  pose.seen = glm::length(across);
  pose.front = sketch.paper(lamp.position_m);
  if (pose.seen > 1e-3) {
    pose.across = across / pose.seen;
    pose.way = glm::normalize(sketch.paper_way(lamp.direction));
    pose.side = glm::normalize(sketch.paper_way(pose.across));
  }
  const glm::dvec3 up = glm::cross(lamp.right, lamp.direction);
  const double half_m = lamp.rectangle ? std::abs(glm::dot(pose.across, lamp.right)) * lamp.half_width_m +
                                             std::abs(glm::dot(pose.across, up)) * lamp.half_height_m
                                       : lamp.half_width_m;
  constexpr double least_half_mm = 1.3;  // below it a box is a blot
  pose.half_width_mm = std::max(half_m * sketch.view.mm_per_m, least_half_mm);
  return pose;
}

std::ptrdiff_t lit_lamps(const World& world) {
  return std::count_if(world.groups.begin(), world.groups.end(), [](const LightGroup& group) {
    return group.kind == LightGroup::Kind::lamp && group.on && group.power > 0;
  });
}

void draw_curves(Sketch& sketch, const Pose& pose, double aim_distance_m, double floor_m) {
  std::vector<double> values = round_lux_near(pose.group.power, aim_distance_m);
  // Beside other lamps the two about what it is aimed at: eight curves through one another nobody reads.
  if (!values.empty() && lit_lamps(sketch.world) > 1) values = {values[1], values[2]};
  for (const double lux : values) {
    const std::vector<glm::dvec3> places = lux_line(pose.lamp, pose.group.power, lux, pose.across);
    Polyline line;
    for (const glm::dvec3& place : places) line.points_mm.push_back(sketch.paper(place));
    sketch.drawing.add(Pen::lux_line, line);
    Label label{.words = fmt::format("{:g} {}", lux, pose.group.flash ? "lx s" : "lx"),
                .places = {},
                .pen = Pen::lux_line,
                .needed = false};
    for (const double share : {0.78, 0.22, 0.9, 0.1, 0.66, 0.34, 0.5}) {
      const auto at = static_cast<std::size_t>(share * static_cast<double>(places.size() - 1));
      // The ground hides what lies below it in an elevation.
      if (!sketch.is_plan() && places[at].z < floor_m + 0.005) continue;
      label.places.push_back({.at_mm = line.points_mm[at] + glm::dvec2(0, 0.36 * small_words_mm),
                              .size_mm = small_words_mm,
                              .across = Across::middle});
    }
    sketch.labels.ask(std::move(label));
  }
}

void draw_cone(Sketch& sketch, const Pose& pose, double length_m) {
  const BeamSection section(pose.lamp, pose.across);
  for (const double side : {-1.0, 1.0}) {
    const double angle = section.angle_below(0.5, side > 0);
    const glm::dvec3 way = std::cos(angle) * pose.lamp.direction + side * std::sin(angle) * pose.across;
    const glm::dvec2 from = pose.front + side * pose.half_width_mm * pose.side;
    sketch.drawing.add_line(Pen::beam, from, from + length_m * sketch.paper_way(way));
  }
}

// How deep the housing behind the shining surface is drawn, m (common practice, no source).
double depth_of(Source::Kind kind) {
  return kind == Source::Kind::torch ? 0.11 : kind == Source::Kind::flash ? 0.07 : 0.02;
}

void draw_housing(Sketch& sketch, const Pose& pose, const Source& source, const std::string& handle) {
  const Pen pen = pose.group.on ? Pen::source : Pen::hidden;
  if (pose.seen < least_seen) {
    sketch.drawing.add(
        pen, Circle{.centre_mm = pose.front, .radius_mm = pose.half_width_mm, .fill = Fill::paper}, handle);
    for (const double turn : {-1.0, 1.0}) {
      const glm::dvec2 spoke = pose.half_width_mm * std::numbers::sqrt2 / 2 * glm::dvec2(1, turn);
      sketch.drawing.add_line(pen, pose.front - spoke, pose.front + spoke, handle);
    }
    return;
  }
  const double depth = std::max(depth_of(source.kind) * sketch.view.mm_per_m * pose.seen, 2.0);
  const glm::dvec2 left = pose.half_width_mm * pose.side, back = -depth * pose.way;
  const glm::dvec2 waist = source.kind == Source::Kind::torch ? 0.65 * left : left;
  const glm::dvec2 neck = source.kind == Source::Kind::torch ? 0.35 * back : back;
  Polyline box{
      .points_mm = {pose.front + left, pose.front + neck + left}, .closed = true, .fill = Fill::paper};
  if (source.kind == Source::Kind::torch)
    box.points_mm.insert(box.points_mm.end(), {pose.front + neck + waist, pose.front + back + waist,
                                               pose.front + back - waist, pose.front + neck - waist});
  box.points_mm.insert(box.points_mm.end(), {pose.front + neck - left, pose.front - left});
  sketch.drawing.add(pen, box, handle);
  if (source.kind == Source::Kind::flash)
    sketch.drawing.add(
        pen, Polyline{.points_mm = {
                          pose.front + 0.85 * back + 0.2 * left, pose.front + 0.45 * back + 0.35 * left,
                          pose.front + 0.55 * back - 0.35 * left, pose.front + 0.15 * back - 0.2 * left}});
  if (source.snoot_mm)
    for (const double side : {-1.0, 1.0})
      sketch.drawing.add_line(
          pen, pose.front + side * left,
          pose.front + side * left + *source.snoot_mm * 1e-3 * sketch.view.mm_per_m * pose.seen * pose.way);
  if (source.diffuser > 0)
    sketch.drawing.add(Pen::hidden, Polyline{.points_mm = {pose.front + 1.0 * pose.way + 1.2 * left,
                                                           pose.front + 1.0 * pose.way - 1.2 * left}});
  for (const double depth_share : {0.0, 0.5, 1.0}) {
    const glm::dvec2 at = pose.front + depth_share * back;
    sketch.labels.keep_clear({at - pose.half_width_mm, at + pose.half_width_mm});
  }
}

void draw_arrow(Sketch& sketch, const Pose& pose) {
  constexpr double length = 9, head = 2.2, from_front = 1.5;
  const glm::dvec2 tip = pose.front + (from_front + length) * pose.way, back = tip - head * pose.way;
  sketch.drawing.add_line(Pen::source, pose.front + from_front * pose.way, tip);
  sketch.drawing.add(
      Pen::source, Polyline{.points_mm = {back + 0.4 * head * pose.side, tip, back - 0.4 * head * pose.side},
                            .closed = true,
                            .fill = Fill::solid});
}

}  // namespace

void draw_lamp_light(Sketch& sketch) {
  for (std::size_t i = 0; i < sketch.world.lamps.size(); ++i) {
    const Pose pose = pose_of(sketch, i);
    if (!pose.group.on || pose.group.power <= 0 || pose.seen < least_seen) continue;
    const double distance = glm::distance(aim_place(sketch.world, i), pose.lamp.position_m);
    draw_cone(sketch, pose, 1.25 * distance);
    draw_curves(sketch, pose, distance, sketch.lamp_floor_m[i]);
  }
}

void draw_lamps(Sketch& sketch) {
  for (std::size_t i = 0; i < sketch.world.lamps.size(); ++i) {
    const Source& source = sketch.world.scene.sources[i];
    const Pose pose = pose_of(sketch, i);
    const std::string handle = fmt::format("source:{}", source.name);
    draw_housing(sketch, pose, source, handle);
    if (pose.group.on && pose.seen >= least_seen) draw_arrow(sketch, pose);
    const glm::dvec2 aim = sketch.paper(aim_place(sketch.world, i));
    sketch.drawing.add(pose.group.on ? Pen::source : Pen::hidden,
                       Circle{.centre_mm = aim, .radius_mm = 0.7, .fill = Fill::paper},
                       fmt::format("aim:{}", source.name));
    Label label{.words = pose.group.on ? fmt::format("{}  {:g} %", source.name, source.power_pct)
                                       : fmt::format("{} (off)", source.name),
                .places = places_around(pose.front, pose.half_width_mm + 1.2, words_mm, true),
                .handle = handle,
                .about = {pose.front}};
    if (sketch.is_plan())
      label.words =
          fmt::format("{}  h {}", label.words, length_words(pose.lamp.position_m.z - sketch.lamp_floor_m[i]));
    sketch.labels.ask(std::move(label));
  }
}

}  // namespace undercap
