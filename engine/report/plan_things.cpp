// What stands about the subject: props, cards, meters; the clock, the ground, the sun and the scale.
#include <algorithm>
#include <array>
#include <cmath>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/report/places.h"
#include "engine/report/sketch.h"

namespace undercap {

std::string card_letter(const World& world, const std::string& prop) {
  const std::vector<std::uint32_t> parts = parts_of(world, {Address::Of::prop, prop, 0, {}});
  if (parts.empty()) return {};
  const Material& material = world.materials[world.parts[parts.front()].material];
  // White from .6, where a card still gives back two thirds of what the best does; black up to a tenth.
  constexpr double white_from = 0.6, black_to = 0.1, passes_from = 0.25;
  const glm::dvec3 mirror(material.mirror);
  if (luminance_y(mirror) > 0) return mirror.r > 1.25 * mirror.b ? "G" : "S";
  if (luminance_y(glm::dvec3(material.transmittance)) >= passes_from) return "D";
  const double reflectance = luminance_y(glm::dvec3(material.reflectance));
  return reflectance >= white_from ? "W" : reflectance <= black_to ? "B" : "";
}

namespace {

constexpr double title_mm = 3.0;

void add_words(Sketch& sketch, Pen pen, const Text& text) {
  sketch.labels.keep_clear(box_of(text));
  sketch.drawing.add(pen, text);
}

const Prop* find_prop(const World& world, const std::string& name) {
  for (const Prop& prop : world.scene.props)
    if (prop.name == name) return &prop;
  return nullptr;
}

Pen pen_of(const World& world, const PropOutline& outline) {
  if (outline.subject) return Pen::subject;
  const Prop* prop = find_prop(world, outline.prop);
  if (!prop || prop->kind->name != "card") return Pen::prop;
  return card_letter(world, outline.prop) == "B" ? Pen::flag : Pen::card;
}

// The ends and middles of what of a ring lies on the paper.
void add_visible(const Sketch& sketch, const std::vector<glm::dvec2>& ring, std::vector<glm::dvec2>& into) {
  const Box paper{{0, 0}, {sketch.view.width_mm, sketch.view.height_mm}};
  for (std::size_t i = 0; i < ring.size(); ++i) {
    glm::dvec2 from = ring[i], to = ring[(i + 1) % ring.size()];
    if (!cut_to(paper, from, to)) continue;
    into.push_back(from);
    into.push_back((from + to) / 2.0);
  }
}

// Its height above the ground below it; nothing when it goes on above what was looked at.
std::string height_words(const Sketch& sketch, const PropOutline& outline, double floor_m) {
  const bool goes_on = outline.high_m - sketch.subject_m.z > 0.8 && outline.low_m < sketch.subject_m.z;
  if (!sketch.is_plan() || goes_on) return {};
  return fmt::format("  h {}", length_words(std::max(outline.high_m - floor_m, 0.0)));
}

void name_prop(Sketch& sketch, const PropOutline& outline, const std::vector<glm::dvec2>& visible, Pen pen,
               double floor_m) {
  // On a map the numbers need the room.
  if (visible.empty() || (sketch.map && !outline.subject)) return;
  glm::dvec2 low(1e9), high(-1e9);
  for (const glm::dvec2& place : visible) {
    low = glm::min(low, place);
    high = glm::max(high, place);
  }
  Label label{.words = outline.prop, .places = {}, .about = visible, .needed = outline.subject};
  const std::string letter =
      pen == Pen::card || pen == Pen::flag ? card_letter(sketch.world, outline.prop) : "";
  if (!letter.empty()) label.words = fmt::format("{} {}", letter, label.words);
  label.words += height_words(sketch, outline, floor_m);
  label.handle = fmt::format("prop:{}", outline.prop);
  const glm::dvec2 middle = (low + high) / 2.0, half = (high - low) / 2.0;
  const bool bold = outline.subject;
  // Inside where there is room, else beside the part that is seen.
  if (!outline.subject && half.y > 3 * words_mm && 2 * half.x > text_width_mm(label.words, words_mm) + 2)
    for (const double row : {0.0, -1.5, 1.5, 3.0, -3.0})
      label.places.push_back(
          {.at_mm = middle + glm::dvec2(0, row * words_mm), .size_mm = words_mm, .across = Across::middle});
  const double clear = 1.2;
  for (const double further : {0.0, 3.0, 6.0, 10.0}) {
    const glm::dvec2 out = half + clear + further;
    const double drop = 0.36 * words_mm;
    const std::array<Text, 8> around{{
        {.at_mm = middle + glm::dvec2(0, -out.y), .across = Across::middle},
        {.at_mm = middle + glm::dvec2(out.x, drop), .across = Across::left},
        {.at_mm = middle + glm::dvec2(-out.x, drop), .across = Across::right},
        {.at_mm = middle + glm::dvec2(0, out.y + 2 * drop), .across = Across::middle},
        {.at_mm = middle + glm::dvec2(0.8 * out.x, -0.8 * out.y), .across = Across::left},
        {.at_mm = middle + glm::dvec2(-0.8 * out.x, -0.8 * out.y), .across = Across::right},
        {.at_mm = middle + glm::dvec2(0.8 * out.x, 0.8 * out.y + drop), .across = Across::left},
        {.at_mm = middle + glm::dvec2(-0.8 * out.x, 0.8 * out.y + drop), .across = Across::right},
    }};
    label.places.insert(label.places.end(), around.begin(), around.end());
  }
  for (Text& place : label.places) {
    place.size_mm = words_mm;
    place.bold = bold;
  }
  sketch.labels.ask(std::move(label));
}

}  // namespace

std::string length_words(double length_m) {
  const double cm = std::abs(length_m) * 100;
  const char* sign = length_m < 0 ? "-" : "";
  if (cm < 9.95) return fmt::format("{}{:.1f} cm", sign, cm);
  if (cm < 99.5) return fmt::format("{}{:.0f} cm", sign, cm);
  return fmt::format("{}{:.2f} m", sign, cm / 100);
}

void draw_scale(Sketch& sketch) {
  Drawing& drawing = sketch.drawing;
  constexpr double edge = 2.5, longest_mm = 40;
  add_words(sketch, Pen::text,
            {.at_mm = {edge, edge + title_mm}, .words = drawing.title, .size_mm = title_mm, .bold = true});
  int length_cm = 1;
  for (const int cm : {2, 5, 10, 20, 50, 100, 200, 500})
    if (cm * sketch.view.mm_per_m / 100 <= longest_mm) length_cm = cm;
  const glm::dvec2 end(sketch.view.width_mm - edge - 1, sketch.view.height_mm - edge - 1),
      begin = end - glm::dvec2(length_cm * sketch.view.mm_per_m / 100, 0);
  const glm::dvec2 bar(0, 1);
  drawing.add(Pen::key, Polyline{.points_mm = {begin - bar, begin + bar}});
  drawing.add(Pen::key, Polyline{.points_mm = {begin, end}});
  drawing.add(Pen::key, Polyline{.points_mm = {end - bar, end + bar}});
  sketch.labels.keep_clear({begin - 1.5, end + 1.5});
  add_words(sketch, Pen::text,
            {.at_mm = (begin + end) / 2.0 - glm::dvec2(0, 1),
             .words = fmt::format("{} cm", length_cm),
             .size_mm = words_mm,
             .across = Across::middle});
}

// Hours around the subject at the largest round distance that finds room.
void draw_clock(Sketch& sketch) {
  const glm::dvec2 middle = sketch.paper(sketch.subject_m);
  constexpr double hours_mm = 5;             // room for the numbers outside
  const double top_mm = sketch.map ? 8 : 4;  // the title; a map has a line more
  const double room = std::min({middle.x, middle.y - top_mm, sketch.view.width_mm - middle.x,
                                sketch.view.height_mm - middle.y}) -
                      hours_mm;
  int radius_cm = 0;
  for (const int cm : {2, 5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200})
    if (cm * sketch.view.mm_per_m / 100 <= room) radius_cm = cm;
  const double radius = radius_cm * sketch.view.mm_per_m / 100;
  if (radius < 8) return;
  sketch.drawing.add(Pen::clock, Circle{.centre_mm = middle, .radius_mm = radius});
  for (int hour = 1; hour <= 12; ++hour) {
    const double angle = hour * std::numbers::pi / 6;
    const glm::dvec2 way(std::sin(angle), -std::cos(angle));
    sketch.drawing.add_line(Pen::clock, middle + (radius - 1.5) * way, middle + radius * way);
    add_words(sketch, Pen::clock,
              {.at_mm = middle + (radius + 2.2) * way + glm::dvec2(0, 0.36 * small_words_mm),
               .words = fmt::format("{}", hour),
               .size_mm = small_words_mm,
               .across = Across::middle});
  }
  const double slant = std::numbers::pi / 12;  // half past twelve: away from camera, lamps and hours
  sketch.labels.ask({.words = fmt::format("{} cm", radius_cm),
                     .places = places_around(middle + radius * glm::dvec2(std::sin(slant), -std::cos(slant)),
                                             1.0, small_words_mm),
                     .pen = Pen::clock,
                     .needed = false});
}

// The ground straight below the lens axis and beyond, with strokes under it.
void draw_ground(Sketch& sketch) {
  constexpr double step_mm = 3, stroke_mm = 1.6;
  std::vector<glm::dvec2> places;
  std::vector<double> across;
  const double side = glm::dot(glm::dvec2(sketch.subject_m), sketch.axes.right);
  for (double x = 0; x < sketch.view.width_mm + step_mm; x += step_mm) {
    const double ahead = from_paper(sketch.view, {x, 0}).x;
    across.push_back(ahead);
    places.push_back(ahead * sketch.axes.forward + side * sketch.axes.right);
  }
  if (sketch.world.scene.ground.kind == Ground::Kind::none) return;
  const std::vector<double> height = ground_below(sketch.world, places);
  Polyline line;
  for (std::size_t i = 0; i < across.size(); ++i)
    line.points_mm.push_back(to_paper(sketch.view, {across[i], height[i]}));
  Polyline earth{.points_mm = line.points_mm, .closed = true, .fill = Fill::paper, .outlined = false};
  earth.points_mm.emplace_back(line.points_mm.back().x, sketch.view.height_mm);
  earth.points_mm.emplace_back(line.points_mm.front().x, sketch.view.height_mm);
  sketch.drawing.add(Pen::ground, earth);
  for (const glm::dvec2& place : line.points_mm)
    sketch.drawing.add_line(Pen::grid, place, place + glm::dvec2(-stroke_mm, stroke_mm));
  sketch.drawing.add(Pen::ground, line);
}

void draw_props(Sketch& sketch) {
  std::vector<const PropOutline*> order;
  for (const PropOutline& outline : sketch.outlines) order.push_back(&outline);
  std::stable_partition(order.begin(), order.end(), [](const PropOutline* o) { return !o->subject; });
  std::vector<std::vector<glm::dvec2>> visible(order.size());
  std::vector<glm::dvec2> feet;
  for (std::size_t i = 0; i < order.size(); ++i) {
    const Pen pen = pen_of(sketch.world, *order[i]);
    glm::dvec2 low(1e9), high(-1e9);
    for (const auto& ring : order[i]->rings_m) {
      Polyline line{.closed = true, .fill = pen == Pen::subject ? Fill::pale : Fill::none};
      for (const glm::dvec2& place : ring) {
        // Outlines of a plan are in the world's x and y.
        const glm::dvec2 own =
            sketch.is_plan() ? drawing_place(sketch.axes, sketch.view.kind, {place, 0}) : place;
        line.points_mm.push_back(to_paper(sketch.view, own));
        low = glm::min(low, place);
        high = glm::max(high, place);
      }
      add_visible(sketch, line.points_mm, visible[i]);
      sketch.drawing.add(pen, line, fmt::format("prop:{}", order[i]->prop));
    }
    feet.push_back((low + high) / 2.0);
  }
  const std::vector<double> floor =
      sketch.is_plan() ? ground_below(sketch.world, feet) : std::vector<double>();
  // The subject is named first: it has the best places.
  for (std::size_t i = order.size(); i-- > 0;)
    name_prop(sketch, *order[i], visible[i], pen_of(sketch.world, *order[i]), floor.empty() ? 0 : floor[i]);
}

void draw_meters(Sketch& sketch) {
  for (const Meter& meter : sketch.world.scene.meters) {
    if (meter.kind != Meter::Kind::incident) continue;
    const glm::dvec2 at = sketch.paper(meter.position_m);
    if (!sketch.is_on_paper(at)) continue;
    constexpr double radius = 1.0, tick = 3.0;
    const std::string handle = fmt::format("meter:{}", meter.name);
    sketch.drawing.add_line(Pen::meter, at,
                            at + tick / sketch.view.mm_per_m * sketch.paper_way(meter.normal));
    sketch.drawing.add(Pen::meter, Circle{.centre_mm = at, .radius_mm = radius, .fill = Fill::paper}, handle);
    sketch.labels.keep_clear({at - radius, at + radius});
    const std::vector<double> floor = ground_below(sketch.world, std::array{glm::dvec2(meter.position_m)});
    Label label{.words = meter.name,
                .places = places_around(at, radius + 1, small_words_mm),
                .handle = handle,
                .about = {at},
                .needed = false};
    if (sketch.is_plan())
      label.words = fmt::format("{}  h {}", meter.name, length_words(meter.position_m.z - floor[0]));
    sketch.labels.ask(std::move(label));
  }
}

// At the edge of the paper, where its light comes from.
void draw_sun(Sketch& sketch) {
  const World& world = sketch.world;
  if (!world.scene.sun.on || world.sun_elevation.value() <= 0) return;
  const glm::dvec2 seen = sketch.paper_way(world.sun_direction);
  constexpr double radius = 2.2, ray_from = 3.0, ray_to = 4.6, inset = 8, arrow = 9;
  glm::dvec2 at(sketch.view.width_mm / 2, sketch.view.height_mm / 2);
  if (glm::length(seen) < 0.05 * sketch.view.mm_per_m) return;
  const glm::dvec2 way = glm::normalize(seen);
  glm::dvec2 from = at, to = at + 1e4 * way;
  if (!cut_to({{inset, inset + title_mm}, {sketch.view.width_mm - inset, sketch.view.height_mm - inset}},
              from, to))
    return;
  at = to;
  sketch.drawing.add(Pen::sun, Circle{.centre_mm = at, .radius_mm = radius, .fill = Fill::paper});
  for (int ray = 0; ray < 8; ++ray) {
    const double angle = ray * std::numbers::pi / 4;
    const glm::dvec2 out(std::cos(angle), std::sin(angle));
    sketch.drawing.add(Pen::sun, Polyline{.points_mm = {at + ray_from * out, at + ray_to * out}});
  }
  const glm::dvec2 tip = at - (ray_to + 1 + arrow) * way, back = tip + 2.5 * way, side(-way.y, way.x);
  sketch.drawing.add(Pen::sun, Polyline{.points_mm = {at - (ray_to + 1) * way, tip}});
  sketch.drawing.add(Pen::sun, Polyline{.points_mm = {back + side, tip, back - side}});
  sketch.labels.keep_clear({at - ray_to, at + ray_to});
  sketch.labels.ask(
      {.words = fmt::format("sun, {:.0f}° up", world.sun_elevation.value() * 180 / std::numbers::pi),
       .places = places_around(at, ray_to + 0.8, words_mm)});
}

}  // namespace undercap
