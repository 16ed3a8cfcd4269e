#include "engine/report/plan_key.h"

#include <algorithm>
#include <array>
#include <glm/common.hpp>
#include <set>
#include <string>

#include "engine/report/place_signs.h"

namespace undercap {
namespace {

constexpr double words_mm = 2.2, row_mm = 4.2, sample_mm = 9, gap_mm = 1.8, column_mm = 47;

// How it is shown, as in a drawing.
enum class Sample { line, area, camera, lamp, meter, sun, hatch, letter };

struct Entry {
  Pen pen;
  Sample sample;
  const char* words;
};

constexpr std::array<Entry, 21> entries{{
    {Pen::subject, Sample::area, "subject"},
    {Pen::prop, Sample::line, "other things; h = height"},
    {Pen::camera, Sample::camera, "camera and lens, to scale"},
    {Pen::field, Sample::line, "edge of the picture"},
    {Pen::axis, Sample::line, "lens axis"},
    {Pen::focus_plane, Sample::line, "plane in focus"},
    {Pen::depth_limit, Sample::line, "near and far limit of sharpness"},
    {Pen::source, Sample::lamp, "lamp (bolt: flash); % of its power"},
    {Pen::hidden, Sample::line, "lamp that is off; a diffuser"},
    {Pen::beam, Sample::line, "half of the beam's peak"},
    {Pen::lux_line, Sample::line, "that lamp alone gives so many lux"},
    {Pen::card, Sample::line, "card: W white S silver G gold"},
    {Pen::flag, Sample::line, "flag: B black"},
    {Pen::meter, Sample::meter, "meter and where it faces"},
    {Pen::sun, Sample::sun, "sun and where it shines"},
    {Pen::clock, Sample::line, "clock, camera at six"},
    {Pen::place_line, Sample::line, "a lamp on it needs so many %"},
    {Pen::place_barred, Sample::hatch, "no lamp can stand there"},
    {Pen::place_spill, Sample::hatch, "too much spill from there"},
    {Pen::place_dark, Sample::hatch, "from there no light arrives"},
    {Pen::place_mark, Sample::letter, "offered place, toward subject"},
}};

void add_box(Drawing& drawing, Pen pen, const glm::dvec2& low, const glm::dvec2& high, Fill fill) {
  drawing.add(
      pen,
      Polyline{.points_mm = {low, {high.x, low.y}, high, {low.x, high.y}}, .closed = true, .fill = fill});
}

void add_sample(Drawing& drawing, const Entry& entry, const glm::dvec2& at) {
  const glm::dvec2 end = at + glm::dvec2(sample_mm, 0), middle = (at + end) / 2.0;
  constexpr double high = 1.1;
  switch (entry.sample) {
    case Sample::line:
      return drawing.add_line(entry.pen, at, end);
    case Sample::area:
      return add_box(drawing, entry.pen, at - glm::dvec2(0, high), end + glm::dvec2(0, high), Fill::pale);
    case Sample::camera:
      add_box(drawing, entry.pen, at + glm::dvec2(1, -1.4 * high), at + glm::dvec2(3.5, 1.4 * high),
              Fill::paper);
      return add_box(drawing, entry.pen, at + glm::dvec2(3.5, -0.8 * high), at + glm::dvec2(7, 0.8 * high),
                     Fill::paper);
    case Sample::lamp:
      add_box(drawing, entry.pen, at + glm::dvec2(0.5, -high), at + glm::dvec2(4, high), Fill::paper);
      drawing.add_line(entry.pen, at + glm::dvec2(5, 0), end);
      return drawing.add(entry.pen,
                         Polyline{.points_mm = {end - glm::dvec2(1.6, 0.7), end, end - glm::dvec2(1.6, -0.7)},
                                  .closed = true,
                                  .fill = Fill::solid});
    case Sample::meter:
      drawing.add_line(entry.pen, middle, middle + glm::dvec2(3, 0));
      return drawing.add(entry.pen, Circle{.centre_mm = middle, .radius_mm = 1, .fill = Fill::paper});
    case Sample::sun:
      for (const glm::dvec2& ray :
           {glm::dvec2(1, 0), glm::dvec2(0, 1), glm::dvec2(0.7, 0.7), glm::dvec2(0.7, -0.7)})
        for (const double side : {-1.0, 1.0})
          drawing.add_line(entry.pen, middle + side * 1.2 * ray, middle + side * 1.9 * ray);
      return drawing.add(entry.pen, Circle{.centre_mm = middle, .radius_mm = 0.8});
    case Sample::hatch:
      for (const Polyline& stroke :
           hatch_of(entry.pen, {at - glm::dvec2(0, 1.4 * high), end + glm::dvec2(0, 1.4 * high)}))
        drawing.add(entry.pen, stroke);
      return;
    case Sample::letter:
      return add_place_letter(drawing, "A", middle - glm::dvec2(1.5, 0), {1, 0});
  }
}

int rows_of(int signs, double width_mm) {
  const int columns = std::max(1, static_cast<int>(width_mm / column_mm));
  return (signs + columns - 1) / columns;
}

}  // namespace

double key_height(int signs, double width_mm) { return rows_of(signs, width_mm) * row_mm + gap_mm; }

Drawing key_drawing(std::span<const Drawing> drawings, double width_mm) {
  std::set<Pen> used;
  for (const Drawing& drawing : drawings)
    for (const Mark& mark : drawing.marks) used.insert(mark.pen);
  Drawing key{.width_mm = width_mm, .title = "Key"};
  const int columns = std::max(1, static_cast<int>(width_mm / column_mm));
  const auto shown = static_cast<int>(
      std::count_if(entries.begin(), entries.end(), [&](const Entry& e) { return used.contains(e.pen); }));
  const int rows = rows_of(shown, width_mm);
  key.height_mm = key_height(shown, width_mm);
  int number = 0;
  for (const Entry& entry : entries) {
    if (!used.contains(entry.pen)) continue;
    const glm::dvec2 at(gap_mm + number / rows * (width_mm - gap_mm) / columns,
                        gap_mm + (number % rows + 0.4) * row_mm);
    add_sample(key, entry, at);
    key.add(Pen::text, Text{.at_mm = at + glm::dvec2(sample_mm + gap_mm, 0.36 * words_mm),
                            .words = entry.words,
                            .size_mm = words_mm,
                            .clears = false});
    ++number;
  }
  return key;
}

void add_key(Drawing& drawing) {
  const Drawing key = key_drawing(std::span(&drawing, 1), std::min(drawing.width_mm, 2 * column_mm + gap_mm));
  const glm::dvec2 low(0, drawing.height_mm - key.height_mm), high(key.width_mm, drawing.height_mm);
  drawing.add(Pen::key, Polyline{.points_mm = {low, {high.x, low.y}, high, {low.x, high.y}},
                                 .closed = true,
                                 .fill = Fill::paper});
  drawing.add_drawing(key, low);
}

}  // namespace undercap
