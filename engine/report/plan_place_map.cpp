// A map of lamp places in a drawing: lines of equal power where a lamp may be, hatches where not, letters.
#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <numbers>
#include <optional>

#include "engine/core/errors.h"
#include "engine/report/place_map.h"
#include "engine/report/place_signs.h"
#include "engine/report/places.h"
#include "engine/report/sketch.h"

namespace undercap {
namespace {

// Of the four nodes around a place the limit that has most of the weights of linear interpolation: areas
// that meet without a gap. None outside the grid.
std::optional<MapArea> limit_at(const MapSlice& slice, const glm::dvec2& place_m) {
  const FieldGrid& field = slice.field;
  const glm::dvec2 cells =
      (place_m - field.low) / (field.high - field.low) * glm::dvec2(field.across - 1, field.up - 1);
  if (!(cells.x >= 0 && cells.y >= 0 && cells.x <= field.across - 1 && cells.y <= field.up - 1)) return {};
  const int column = std::min(static_cast<int>(cells.x), field.across - 2),
            row = std::min(static_cast<int>(cells.y), field.up - 2);
  const glm::dvec2 share = cells - glm::dvec2(column, row);
  std::array<double, 4> weight{};
  for (int y = 0; y < 2; ++y)
    for (int x = 0; x < 2; ++x)
      weight[static_cast<std::size_t>(slice.limit[field.index(column + x, row + y)])] +=
          (x ? share.x : 1 - share.x) * (y ? share.y : 1 - share.y);
  return static_cast<MapArea>(std::max_element(weight.begin(), weight.end()) - weight.begin());
}

double length_of(const std::vector<glm::dvec2>& line) {
  double length = 0;
  for (std::size_t i = 1; i < line.size(); ++i) length += glm::distance(line[i - 1], line[i]);
  return length;
}

// The pieces of a line on paper that lie where a rule holds; specks are left out.
std::vector<std::vector<glm::dvec2>> pieces_where(const std::vector<glm::dvec2>& line_mm,
                                                  const std::function<bool(const glm::dvec2&)>& holds) {
  constexpr double step_mm = 0.2, shortest_mm = 0.5;
  std::vector<std::vector<glm::dvec2>> pieces;
  bool within = false;
  for (std::size_t i = 0; i + 1 < line_mm.size(); ++i) {
    const glm::dvec2 &from = line_mm[i], &to = line_mm[i + 1];
    const int steps = std::max(1, static_cast<int>(std::ceil(glm::distance(from, to) / step_mm)));
    for (int k = 0; k <= steps; ++k) {
      const glm::dvec2 at = glm::mix(from, to, static_cast<double>(k) / steps);
      const bool now = holds(at);
      if (now && !within) pieces.push_back({at});
      if (within && (!now || k == steps)) pieces.back().push_back(at);
      within = now;
    }
  }
  std::erase_if(pieces, [&](const auto& piece) { return length_of(piece) < shortest_mm; });
  return pieces;
}

std::vector<std::vector<glm::dvec2>> pieces_within(const Sketch& sketch, MapArea limit,
                                                   const std::vector<glm::dvec2>& line_mm) {
  const MapSlice& slice = sketch.map->slice(sketch.view.kind);
  return pieces_where(line_mm, [&](const glm::dvec2& at) {
    return sketch.is_on_paper(at) && limit_at(slice, from_paper(sketch.view, at)) == limit;
  });
}

glm::dvec2 place_along(const std::vector<glm::dvec2>& line, double length) {
  for (std::size_t i = 1; i < line.size(); ++i) {
    const double step = glm::distance(line[i - 1], line[i]);
    if (step > 0 && length <= step) return glm::mix(line[i - 1], line[i], length / step);
    length -= step;
  }
  return line.back();
}

// Its number somewhere on a line, the middle first.
void number_line(Sketch& sketch, const std::vector<glm::dvec2>& line_mm, const std::string& words) {
  Label label{.words = words, .places = {}, .pen = Pen::place_line, .needed = false};
  const double length = length_of(line_mm);
  for (const double share : {0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82, 0.1, 0.9})
    label.places.push_back({.at_mm = place_along(line_mm, share * length) + glm::dvec2(0, 0.36 * words_mm),
                            .size_mm = words_mm,
                            .across = Across::middle});
  sketch.labels.ask(std::move(label));
}

// Of both slices, so that both drawings have the same lines.
std::vector<Tick> levels_of(const PlaceMap& map) {
  std::vector<double> values;
  for (const MapSlice* slice : {&map.plan, &map.elevation})
    for (std::size_t i = 0; i < slice->field.value.size(); ++i)
      if (slice->limit[i] == MapArea::free) values.push_back(slice->field.value[i]);
  return round_levels(values);
}

void draw_lines(Sketch& sketch) {
  // Shorter ones, in the map's corners, have no room for a number, and without it they say nothing.
  constexpr double shortest_mm = 8;
  constexpr std::size_t most_numbers = 4;
  for (const Tick& level : levels_of(*sketch.map)) {
    std::vector<std::vector<glm::dvec2>> pieces;
    for (const ContourLine& line :
         contour_lines(sketch.map->slice(sketch.view.kind).field, std::array{level.value})) {
      std::vector<glm::dvec2> line_mm;
      for (const glm::dvec2& place : line.points) line_mm.push_back(to_paper(sketch.view, place));
      if (line.closed) line_mm.push_back(line_mm.front());
      for (auto& piece : pieces_within(sketch, MapArea::free, line_mm))
        if (length_of(piece) > shortest_mm) pieces.push_back(std::move(piece));
    }
    std::sort(pieces.begin(), pieces.end(),
              [](const auto& a, const auto& b) { return length_of(a) > length_of(b); });
    for (std::size_t i = 0; i < pieces.size(); ++i) {
      if (i < most_numbers) number_line(sketch, pieces[i], fmt::format("{} %", level.words));
      sketch.drawing.add(Pen::place_line, Polyline{.points_mm = std::move(pieces[i])});
    }
  }
}

// How a slice lies, for who holds the lamp.
std::string slice_words(const Sketch& sketch) {
  const double at_m = sketch.map->slice(sketch.view.kind).at_m;
  if (sketch.is_plan()) {
    const double ground = ground_below(sketch.world, std::array{glm::dvec2(sketch.subject_m)})[0];
    return fmt::format("Lines hold for a lamp {} above the ground at the subject",
                       length_words(at_m - ground));
  }
  const double right = at_m - glm::dot(glm::dvec2(sketch.subject_m), sketch.axes.right);
  constexpr double through_m = 0.005;
  if (std::abs(right) < through_m)
    return "Lines hold for a lamp neither left nor right of the middle of the subject";
  return fmt::format("Lines hold for a lamp {} to the {} of the middle of the subject",
                     length_words(std::abs(right)), right > 0 ? "right" : "left");
}

// Where a letter stands: at its place, or out from the subject where others are in the way.
glm::dvec2 free_place(const Sketch& sketch, const glm::dvec2& at, const glm::dvec2& way,
                      const std::vector<glm::dvec2>& taken) {
  // A step outward is a hair longer than what must lie between two middles, whatever its rounding.
  constexpr double apart = 2 * place_letter_mm + 0.4, step = apart + 0.1;
  const auto is_free = [&](const glm::dvec2& place) {
    return sketch.is_on_paper(place, place_letter_mm + 0.5) &&
           std::none_of(taken.begin(), taken.end(),
                        [&](const glm::dvec2& other) { return glm::distance(place, other) < apart; });
  };
  if (is_free(at)) return at;
  const glm::dvec2 out = way == glm::dvec2(0) ? glm::dvec2(0, -1) : -way, side(-out.y, out.x);
  for (const double distance : {1.0, 1.5, 2.0, 3.0})
    for (const double turn : {0.0, 0.8, -0.8, 1.6, -1.6, 2.4, -2.4}) {
      const glm::dvec2 place = at + distance * step * (std::cos(turn) * out + std::sin(turn) * side);
      if (is_free(place)) return place;
    }
  return at;
}

}  // namespace

std::vector<Polyline> hatch_of(Pen pen, const Box& box) {
  const double angle = pen == Pen::place_barred  ? -std::numbers::pi / 4
                       : pen == Pen::place_spill ? std::numbers::pi / 4
                                                 : 0;
  const double pitch_mm = pen == Pen::place_spill ? 1.5 : 1.9;
  const glm::dvec2 along(std::cos(angle), std::sin(angle)), across(-along.y, along.x);
  double first = glm::dot(box.low, across), last = first;
  for (const glm::dvec2& corner :
       {glm::dvec2(box.low.x, box.high.y), glm::dvec2(box.high.x, box.low.y), box.high}) {
    first = std::min(first, glm::dot(corner, across));
    last = std::max(last, glm::dot(corner, across));
  }
  const double reach = glm::length(box.low) + glm::length(box.high);
  std::vector<Polyline> strokes;
  for (double number = std::ceil(first / pitch_mm); number * pitch_mm <= last; ++number) {
    glm::dvec2 from = number * pitch_mm * across - reach * along, to = from + 2 * reach * along;
    if (cut_to(box, from, to)) strokes.push_back({.points_mm = {from, to}});
  }
  return strokes;
}

void add_place_letter(Drawing& drawing, const std::string& letter, const glm::dvec2& at_mm,
                      const glm::dvec2& way) {
  constexpr double line_mm = 3.5, size_mm = 2.8;
  if (way != glm::dvec2(0))
    drawing.add_line(Pen::place_mark, at_mm + place_letter_mm * way,
                     at_mm + (place_letter_mm + line_mm) * way);
  drawing.add(Pen::place_mark, Circle{.centre_mm = at_mm, .radius_mm = place_letter_mm, .fill = Fill::paper});
  drawing.add(Pen::place_mark, Text{.at_mm = at_mm + glm::dvec2(0, 0.36 * size_mm),
                                    .words = letter,
                                    .size_mm = size_mm,
                                    .across = Across::middle,
                                    .bold = true,
                                    .clears = false});
}

void draw_place_map(Sketch& sketch) {
  const MapSlice& slice = sketch.map->slice(sketch.view.kind);
  UNDERCAP_CHECK(slice.kind == sketch.view.kind && slice.limit.size() == slice.field.value.size(),
                 "a slice is of its drawing's kind and has a limit for each node");
  const std::array<std::pair<Pen, MapArea>, 3> hatches{{{Pen::place_barred, MapArea::not_allowed},
                                                        {Pen::place_spill, MapArea::too_much_spill},
                                                        {Pen::place_dark, MapArea::no_light}}};
  const Box paper{{0, 0}, {sketch.view.width_mm, sketch.view.height_mm}};
  for (const auto& [pen, limit] : hatches)
    for (const Polyline& stroke : hatch_of(pen, paper))
      for (auto& piece : pieces_within(sketch, limit, stroke.points_mm))
        sketch.drawing.add(pen, Polyline{.points_mm = std::move(piece)});
  draw_lines(sketch);
  // How far the map goes, for where it ends in the middle of a line.
  const FieldGrid& field = slice.field;
  std::vector<glm::dvec2> edge;
  for (const glm::dvec2& corner :
       {field.low, glm::dvec2(field.high.x, field.low.y), field.high, glm::dvec2(field.low.x, field.high.y)})
    edge.push_back(to_paper(sketch.view, corner));
  sketch.drawing.add(Pen::grid, Polyline{.points_mm = std::move(edge), .closed = true});
}

void draw_place_marks(Sketch& sketch) {
  std::vector<glm::dvec2> taken;
  const glm::dvec2 subject = sketch.paper(sketch.subject_m);
  for (const MapMark& mark : sketch.map->marks) {
    const glm::dvec2 at = sketch.paper(mark.place_m);
    if (!sketch.is_on_paper(at, place_letter_mm)) continue;
    const double distance = glm::distance(at, subject);
    const glm::dvec2 way = distance > 1 ? (subject - at) / distance : glm::dvec2(0);
    const glm::dvec2 letter = free_place(sketch, at, way, taken);
    if (letter != at) {
      sketch.drawing.add_line(Pen::place_mark, letter, at);
      sketch.drawing.add(Pen::place_mark, Circle{.centre_mm = at, .radius_mm = 0.5, .fill = Fill::solid});
    }
    add_place_letter(sketch.drawing, mark.letter, letter, letter == at ? way : glm::dvec2(0));
    taken.push_back(letter);
    sketch.labels.keep_clear({letter - place_letter_mm, letter + place_letter_mm});
  }
  // Below the drawing's title.
  const Text words{.at_mm = {2.5, 9.4}, .words = slice_words(sketch), .size_mm = words_mm};
  sketch.labels.keep_clear(box_of(words));
  sketch.drawing.add(Pen::text, words);
}

void open_numbered_lines(Sketch& sketch) {
  std::vector<Box> numbers;
  std::vector<Mark> marks;
  for (const Mark& mark : sketch.drawing.marks)
    if (const auto* text = std::get_if<Text>(&mark.shape); text && mark.pen == Pen::place_line)
      numbers.push_back(box_of(*text));
  const auto is_clear = [&](const glm::dvec2& at) {
    return std::none_of(numbers.begin(), numbers.end(),
                        [&](const Box& box) { return at == glm::clamp(at, box.low - 0.3, box.high + 0.3); });
  };
  for (Mark& mark : sketch.drawing.marks) {
    const auto* line = std::get_if<Polyline>(&mark.shape);
    if (!line || mark.pen != Pen::place_line) {
      marks.push_back(std::move(mark));
      continue;
    }
    for (auto& piece : pieces_where(line->points_mm, is_clear))
      marks.push_back({Pen::place_line, Polyline{.points_mm = std::move(piece)}});
  }
  sketch.drawing.marks = std::move(marks);
}

}  // namespace undercap
