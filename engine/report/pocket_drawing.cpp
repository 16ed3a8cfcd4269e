#include "engine/report/pocket_drawing.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/report/labels.h"
#include "engine/report/places.h"
#include "engine/report/plan.h"
#include "engine/report/sketch.h"

namespace undercap {
namespace {

using View = DrawingView::Kind;

constexpr double foot_mm = 13;      // below the ground of the elevation: scale bar and its words
constexpr double head_mm = 7;       // above: what is seen from where
constexpr double side_edge_mm = 4;  // left free of lamps at either side
constexpr std::array<double, 16> scales{1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40};

struct Card {
  const World& world;
  const std::vector<PocketThing>& things;
  DrawingAxes axes;
  glm::dvec3 subject_m{0};
  double floor_m = 0;  // below the subject, z
  double mm_per_m = 100;
  double high_mm = 60, plan_wide_mm = 62, elevation_wide_mm = 62;
  double ring_mm = 22;                              // of the clock, about the subject
  double ahead_low_m = -0.06, ahead_high_m = 0.06;  // of all that stands by hand, from the subject
};

// Beside the clock its hours; above it twelve and the title, below it the camera.
constexpr double hours_mm = 6, over_ring_mm = 12.5, camera_mm = 9.2;

struct Sheet {
  const Card& card;
  View kind;
  glm::dvec2 origin_mm;  // where the subject's middle comes
  Drawing drawing;
  Labels labels;

  glm::dvec2 paper(const glm::dvec2& drawing_m) const {
    const glm::dvec2 off = drawing_m - drawing_place(card.axes, kind, card.subject_m);
    return origin_mm + card.mm_per_m * glm::dvec2(off.x, -off.y);
  }
  glm::dvec2 paper(const glm::dvec3& place_m) const { return paper(drawing_place(card.axes, kind, place_m)); }
  void words(const Text& text) {
    labels.keep_clear(box_of(text));
    drawing.add(Pen::print, text);
  }
};

void find_reach(Card& card) {
  for (const PocketThing& thing : card.things) {
    const double ahead = glm::dot(glm::dvec2(thing.place_m - card.subject_m), card.axes.forward);
    card.ahead_low_m = std::min(card.ahead_low_m, ahead);
    card.ahead_high_m = std::max(card.ahead_high_m, ahead);
  }
}

// The largest round scale at which all that stands by hand comes within the clock, and below the title.
double scale_for(const Card& card) {
  double level_m = 0.06, high_m = std::max(0.1, card.subject_m.z - card.floor_m);
  for (const PocketThing& thing : card.things) {
    level_m = std::max(level_m, glm::length(glm::dvec2(thing.place_m - card.subject_m)));
    high_m = std::max(high_m, thing.place_m.z - card.floor_m);
  }
  constexpr double over_lamp_mm = 4;
  const double most =
      std::min({card.ring_mm / level_m,
                (card.elevation_wide_mm - 2 * side_edge_mm) / (card.ahead_high_m - card.ahead_low_m),
                (card.high_mm - foot_mm - head_mm - over_lamp_mm) / high_m});
  for (const double scale : scales)
    if (1000 / scale <= most) return 1000 / scale;
  return most;
}

void draw_subject(Sheet& sheet, const std::vector<PropOutline>& outlines) {
  for (const PropOutline& outline : outlines) {
    const bool is_card =
        sheet.card.things.end() !=
        std::find_if(sheet.card.things.begin(), sheet.card.things.end(), [&](const PocketThing& thing) {
          return thing.source < 0 && thing.name.ends_with(outline.prop);
        });
    if (!outline.subject && !is_card) continue;
    for (const auto& ring : outline.rings_m) {
      Polyline line{.closed = true, .fill = outline.subject ? Fill::paper : Fill::none};
      for (const glm::dvec2& place : ring)
        line.points_mm.push_back(sheet.kind == View::plan
                                     ? sheet.paper(glm::dvec3(place, sheet.card.subject_m.z))
                                     : sheet.paper(place));
      sheet.drawing.add(Pen::print, line);
    }
  }
}

// A box with an arrow to what it lights; of a card its letter.
void draw_things(Sheet& sheet) {
  constexpr double half = 2.2, arrow_gap = 1.5, head = 2.4;
  for (const PocketThing& thing : sheet.card.things) {
    const glm::dvec2 at = sheet.paper(thing.place_m), to = sheet.paper(thing.toward_m);
    const double far = glm::distance(at, to);
    const glm::dvec2 way = far > 0.1 ? (to - at) / far : glm::dvec2(0, 1), side(-way.y, way.x);
    if (thing.source >= 0) {
      sheet.drawing.add(Pen::print, Polyline{.points_mm = {at + half * side, at - half * side,
                                                           at - half * side - 2 * half * way,
                                                           at + half * side - 2 * half * way},
                                             .closed = true,
                                             .fill = Fill::solid});
      const glm::dvec2 tip = at + std::min(far - arrow_gap, 9.0) * way, back = tip - head * way;
      if (far > arrow_gap + head + 1) {
        sheet.drawing.add_line(Pen::print, at + 0.5 * way, back);
        sheet.drawing.add(Pen::print,
                          Polyline{.points_mm = {back + 0.5 * head * side, tip, back - 0.5 * head * side},
                                   .closed = true,
                                   .fill = Fill::solid});
      }
      sheet.labels.keep_clear(
          {glm::min(at, at - 2 * half * way) - half, glm::max(at, at - 2 * half * way) + half});
    }
    const std::string words =
        sheet.kind == View::plan ? thing.distance : thing.height.substr(0, thing.height.size() - 3);
    const glm::dvec2 middle = thing.source >= 0 ? at - half * way : at;
    sheet.labels.ask({.words = words,
                      .places = places_around(middle, 2 * half, pocket_words_mm, true),
                      .pen = Pen::print,
                      .needed = false});
  }
}

void draw_clock_ring(Sheet& sheet) {
  const glm::dvec2 middle = sheet.origin_mm;
  const double ring_mm = sheet.card.ring_mm;
  sheet.drawing.add(Pen::print_thin, Circle{.centre_mm = middle, .radius_mm = ring_mm});
  for (int hour = 1; hour <= 12; ++hour) {
    const double angle = hour * std::numbers::pi / 6;
    const glm::dvec2 way(std::sin(angle), -std::cos(angle));
    sheet.drawing.add_line(Pen::print_thin, middle + (ring_mm - (hour % 3 ? 1.5 : 3)) * way,
                           middle + ring_mm * way);
    if (hour % 3 != 0 || hour == 6) continue;
    const double out = ring_mm + (hour == 12 ? 2.8 : 3.6);
    sheet.words({.at_mm = middle + out * way + glm::dvec2(0, 0.36 * pocket_words_mm),
                 .words = fmt::format("{}", hour),
                 .size_mm = pocket_words_mm,
                 .across = Across::middle,
                 .bold = true,
                 .clears = false});
  }
}

// At six, outside the clock: how far it really stands is said in words above.
void draw_camera_at_six(Sheet& sheet) {
  constexpr double half_wide = 4.5, high = 5, lens = 2;
  const glm::dvec2 front = sheet.origin_mm + glm::dvec2(0, sheet.card.ring_mm + 1.2), down(0, 1), right(1, 0);
  sheet.drawing.add_line(Pen::print_dash, sheet.origin_mm, front);
  sheet.drawing.add(Pen::print,
                    Polyline{.points_mm = {front - 0.5 * half_wide * right, front + 0.5 * half_wide * right,
                                           front + 0.5 * half_wide * right + lens * down,
                                           front - 0.5 * half_wide * right + lens * down},
                             .closed = true,
                             .fill = Fill::paper});
  const glm::dvec2 body = front + lens * down;
  sheet.drawing.add(Pen::print, Polyline{.points_mm = {body - half_wide * right, body + half_wide * right,
                                                       body + half_wide * right + high * down,
                                                       body - half_wide * right + high * down},
                                         .closed = true,
                                         .fill = Fill::paper});
  sheet.words({.at_mm = body + glm::dvec2(0, 0.5 * high + 0.36 * pocket_words_mm),
               .words = "6",
               .size_mm = pocket_words_mm,
               .across = Across::middle,
               .bold = true,
               .clears = false});
  sheet.labels.keep_clear({body - glm::dvec2(half_wide, lens), body + glm::dvec2(half_wide, high)});
}

Drawing plan_of(const Card& card) {
  const double wide_mm = card.plan_wide_mm;
  Sheet sheet{.card = card,
              .kind = View::plan,
              .origin_mm = {wide_mm / 2, over_ring_mm + card.ring_mm},
              .drawing = {.width_mm = wide_mm, .height_mm = card.high_mm, .title = "From above"},
              .labels = Labels({{0.5, head_mm}, {wide_mm - 0.5, card.high_mm - 0.5}})};
  draw_clock_ring(sheet);
  draw_camera_at_six(sheet);
  draw_subject(sheet, plan_outlines(card.world, 2 * wide_mm / card.mm_per_m));
  sheet.words({.at_mm = {0, 0.76 * pocket_words_mm},
               .words = "from above",
               .size_mm = pocket_words_mm,
               .clears = false});
  draw_things(sheet);
  sheet.labels.place_all(sheet.drawing);
  return std::move(sheet.drawing);
}

// The ground below the subject as a level line; the axis at its height where it is the camera's.
void draw_levels(Sheet& sheet) {
  const Drawing& paper = sheet.drawing;
  const double floor =
      sheet.origin_mm.y + (sheet.card.subject_m.z - sheet.card.floor_m) * sheet.card.mm_per_m;
  sheet.drawing.add_line(Pen::print, {0, floor}, {paper.width_mm, floor});
  for (double x = 3; x < paper.width_mm; x += 4)
    sheet.drawing.add_line(Pen::print_thin, {x, floor}, {x - 1.6, floor + 1.6});
  const CameraRig& rig = sheet.card.world.camera;
  sheet.drawing.add_line(Pen::print_dash, sheet.paper(rig.pupil_m),
                         sheet.paper(rig.pupil_m + 1.2 * rig.pupil_distance.value() * rig.forward));
}

// Five centimetres to the drawing's scale, below the ground.
void draw_bar(Sheet& sheet) {
  const double y = sheet.drawing.height_mm - 2, length = 0.05 * sheet.card.mm_per_m;
  const glm::dvec2 from(1, y - 1.6), to = from + glm::dvec2(length, 0), tick(0, 1.4);
  sheet.drawing.add_line(Pen::print, from, to);
  for (const glm::dvec2& end : {from, to}) sheet.drawing.add_line(Pen::print, end - tick, end + tick);
  sheet.words({.at_mm = {to.x + 2, y},
               .words = fmt::format("5 cm, 1:{:.2g}", 1000 / sheet.card.mm_per_m),
               .size_mm = pocket_words_mm,
               .clears = false});
}

Drawing elevation_of(const Card& card) {
  const double wide_mm = card.elevation_wide_mm, floor = card.high_mm - foot_mm,
               middle_m = (card.ahead_low_m + card.ahead_high_m) / 2;
  Sheet sheet{.card = card,
              .kind = View::elevation,
              .origin_mm = {wide_mm / 2 - middle_m * card.mm_per_m,
                            floor - (card.subject_m.z - card.floor_m) * card.mm_per_m},
              .drawing = {.width_mm = wide_mm, .height_mm = card.high_mm, .title = "From the right"},
              .labels = Labels({{0.5, head_mm}, {wide_mm - 0.5, floor - 0.5}})};
  draw_levels(sheet);
  draw_subject(sheet, elevation_outlines(card.world, card.axes.forward, 2 * wide_mm / card.mm_per_m));
  draw_bar(sheet);
  sheet.words({.at_mm = {0, 0.76 * pocket_words_mm},
               .words = "side, camera left",
               .size_mm = pocket_words_mm,
               .clears = false});
  draw_things(sheet);
  sheet.labels.place_all(sheet.drawing);
  return std::move(sheet.drawing);
}

}  // namespace

PocketDrawings pocket_drawings(const World& world, const std::vector<PocketThing>& things, double wide_mm,
                               double high_mm) {
  Card card{.world = world, .things = things, .axes = axes_of(world), .subject_m = subject_middle(world)};
  card.floor_m = ground_below(world, std::array{glm::dvec2(card.subject_m)})[0];
  card.high_mm = high_mm;
  card.ring_mm = std::min((high_mm - over_ring_mm - camera_mm) / 2, wide_mm / 4 - 1);
  card.plan_wide_mm = 2 * (card.ring_mm + hours_mm);
  card.elevation_wide_mm = wide_mm - card.plan_wide_mm;
  find_reach(card);
  card.mm_per_m = scale_for(card);
  return {plan_of(card), elevation_of(card), card.mm_per_m};
}

}  // namespace undercap
