#include "engine/report/place_map.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "engine/core/errors.h"
#include "engine/core/text.h"
#include "engine/report/plan_key.h"

namespace undercap {
namespace {

constexpr double gap_mm = 4;
// Of the key: all but those of the sharp zone, the meters and the beams, which are not drawn with a map.
constexpr int most_signs = 16;

struct MapDrawings {
  Drawing plan, elevation;
};

MapDrawings drawings_of(const World& world, const PlaceMap& map, const glm::dvec2& plan_mm,
                        const glm::dvec2& elevation_mm) {
  const auto [plan, side] = fitted_views(world, plan_mm, elevation_mm, &map);
  return {set_drawing(world, plan_outlines(world, shown_within_m(plan)), plan, &map),
          set_drawing(world, elevation_outlines(world, axes_of(world).forward, shown_within_m(side)), side,
                      &map)};
}

Drawing key_of(const Drawing& plan, const Drawing& elevation, double width_mm, double height_mm) {
  Drawing key = key_drawing(std::array{plan, elevation}, width_mm);
  UNDERCAP_CHECK(key.height_mm <= height_mm, "a key finds the room that was kept for it");
  key.height_mm = height_mm;
  return key;
}

}  // namespace

DrawingSheet place_sheet(const World& world, const PlaceMap& map, const std::string& title,
                         const std::vector<std::string>& words) {
  constexpr double left = 10, top = 20, foot = 202, width = sheet_width_mm - 2 * left;
  constexpr double title_mm = 5, words_mm = 2.6, pitch_mm = 3.9, small_mm = 2.2;
  const auto fits = [&](const std::string& line) { return text_width_mm(line, words_mm) <= width; };
  std::vector<std::string> lines;
  for (const std::string& one : words)
    for (const std::string& line : broken_lines(one, fits)) lines.push_back(line);
  constexpr std::size_t most_lines = 14;
  lines.resize(std::min(lines.size(), most_lines));

  const double height = foot - top - 6 - pitch_mm * static_cast<double>(lines.size()) - 1;
  constexpr double plan_width = 122, side_width = width - gap_mm - plan_width;
  const double key_mm = key_height(most_signs, side_width);
  DrawingSheet sheet{.title = title, .drawings = {}, .place_mm = {}, .texts = {}};
  const auto [plan, side] =
      drawings_of(world, map, {plan_width, height}, {side_width, height - gap_mm - key_mm});
  const Drawing key = key_of(plan, side, side_width, key_mm);
  sheet.drawings = {plan, side, key};
  const double right = left + plan_width + gap_mm;
  sheet.place_mm = {{left, top}, {right, top}, {right, top + height - key_mm}};

  const auto add_words = [&](double y_mm, double size_mm, const std::string& text, bool bold = false) {
    sheet.texts.push_back(
        {.at_mm = {left, y_mm}, .words = text, .size_mm = size_mm, .bold = bold, .clears = false});
  };
  add_words(12, title_mm, title, true);
  add_words(17, words_mm, fmt::format("Numbers on lines: {}.", map.unit_words));
  double y = top + height + 1;
  for (const std::string& line : lines) add_words(y += pitch_mm, words_mm, line);
  add_words(foot, small_mm,
            "The map is an estimate; letters may stand beside the slice that its lines hold for. "
            "Outlines are those of the set's own meshes. Clock hours are seen from "
            "above, the camera at six.");
  return sheet;
}

Drawing place_map_key(double width_mm) {
  Drawing signs;
  for (const Pen pen : {Pen::place_line, Pen::place_barred, Pen::place_spill, Pen::place_dark})
    signs.add(pen, Polyline{});
  return key_drawing(std::array{signs}, width_mm);
}

Drawing place_figure(const World& world, const PlaceMap& map, double width_mm, double height_mm) {
  // What lies ahead is seen in both, upright in the plan and level in the elevation, which needs more of the
  // width.
  const double key_mm = key_height(most_signs, width_mm), height = height_mm - gap_mm - key_mm,
               plan_width = 0.44 * (width_mm - gap_mm);
  const auto [plan, side] =
      drawings_of(world, map, {plan_width, height}, {width_mm - gap_mm - plan_width, height});
  Drawing figure{.width_mm = width_mm, .height_mm = height_mm, .title = map.unit_words};
  const auto add = [&](const Drawing& part, const glm::dvec2& at) {
    figure.add_drawing(part, at);
    const glm::dvec2 end = at + glm::dvec2(part.width_mm, part.height_mm);
    figure.add(Pen::key, Polyline{.points_mm = {at, {end.x, at.y}, end, {at.x, end.y}}, .closed = true});
  };
  add(plan, {0, 0});
  add(side, {width_mm - side.width_mm, 0});
  add(key_of(plan, side, width_mm, key_mm), {0, height_mm - key_mm});
  return figure;
}

}  // namespace undercap
