#include "engine/report/plan_key.h"

#include <algorithm>
#include <array>
#include <glm/common.hpp>
#include <set>
#include <string>

namespace undercap {
namespace {

constexpr double words_mm = 2.2, row_mm = 4.2, sample_mm = 9, gap_mm = 1.8, column_mm = 47;

// As a line, a box or a circle, as in a drawing.
enum class Sample { line, box, circle, area };

struct Entry {
  Pen pen;
  Sample sample;
  const char* words;
};

constexpr std::array<Entry, 16> entries{{
    {Pen::subject, Sample::area, "subject"},
    {Pen::prop, Sample::line, "other things; h = height"},
    {Pen::camera, Sample::box, "camera and lens, to scale"},
    {Pen::field, Sample::line, "edge of the picture"},
    {Pen::axis, Sample::line, "lens axis"},
    {Pen::focus_plane, Sample::line, "plane in focus"},
    {Pen::depth_limit, Sample::line, "near and far limit of sharpness"},
    {Pen::source, Sample::box, "lamp, lit; % of its power"},
    {Pen::hidden, Sample::line, "off; or a diffuser"},
    {Pen::beam, Sample::line, "half of the beam's peak"},
    {Pen::lux_line, Sample::line, "that lamp alone gives so many lux"},
    {Pen::card, Sample::line, "card: W white S silver G gold"},
    {Pen::flag, Sample::line, "flag: B black"},
    {Pen::meter, Sample::circle, "meter and where it faces"},
    {Pen::sun, Sample::circle, "sun and where it shines"},
    {Pen::clock, Sample::line, "clock, camera at six"},
}};

void add_sample(Drawing& drawing, const Entry& entry, const glm::dvec2& at) {
  const glm::dvec2 across(sample_mm, 0), half(0, 1.1);
  const auto box = [&](Fill fill) {
    return Polyline{.points_mm = {at - half, at + across - half, at + across + half, at + half},
                    .closed = true,
                    .fill = fill};
  };
  if (entry.sample == Sample::line) drawing.add_line(entry.pen, at, at + across);
  if (entry.sample == Sample::box) drawing.add(entry.pen, box(Fill::paper));
  if (entry.sample == Sample::area) drawing.add(entry.pen, box(Fill::pale));
  if (entry.sample == Sample::circle)
    drawing.add(entry.pen, Circle{.centre_mm = at + across / 2.0, .radius_mm = 1.1});
}

}  // namespace

Drawing key_drawing(std::span<const Drawing> drawings, double width_mm) {
  std::set<Pen> used;
  for (const Drawing& drawing : drawings)
    for (const Mark& mark : drawing.marks) used.insert(mark.pen);
  Drawing key{.width_mm = width_mm, .title = "Key"};
  const int columns = std::max(1, static_cast<int>(width_mm / column_mm));
  const auto shown =
      std::count_if(entries.begin(), entries.end(), [&](const Entry& e) { return used.contains(e.pen); });
  const int rows = (static_cast<int>(shown) + columns - 1) / columns;
  key.height_mm = rows * row_mm + gap_mm;
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
  Drawing key = key_drawing(std::span(&drawing, 1), std::min(drawing.width_mm, 2 * column_mm + gap_mm));
  const glm::dvec2 low(0, drawing.height_mm - key.height_mm), high(key.width_mm, drawing.height_mm);
  drawing.add(Pen::key, Polyline{.points_mm = {low, {high.x, low.y}, high, {low.x, high.y}},
                                 .closed = true,
                                 .fill = Fill::paper});
  for (Mark& mark : key.marks) {
    if (auto* line = std::get_if<Polyline>(&mark.shape))
      for (glm::dvec2& place : line->points_mm) place += low;
    if (auto* circle = std::get_if<Circle>(&mark.shape)) circle->centre_mm += low;
    if (auto* text = std::get_if<Text>(&mark.shape)) text->at_mm += low;
    drawing.add(mark.pen, mark.shape);
  }
}

}  // namespace undercap
