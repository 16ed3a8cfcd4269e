#include "engine/report/drawing_sheet.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/report/from_source.h"
#include "engine/report/plan.h"
#include "engine/report/plan_key.h"

namespace undercap {
namespace {

constexpr double edge_mm = 10, gap_mm = 4, top_mm = 23, foot_mm = 200;
constexpr double title_mm = 5, words_mm = 2.4, small_mm = 2.2;

bool is_on(const World& world, std::size_t lamp) {
  return world.groups[world.groups.size() - world.lamps.size() + lamp].on;
}

void add_words(DrawingSheet& sheet, double y_mm, double size_mm, const std::string& words,
               bool bold = false) {
  sheet.texts.push_back(
      {.at_mm = {edge_mm, y_mm}, .words = words, .size_mm = size_mm, .bold = bold, .clears = false});
}

// Where each lamp is, in as many lines as that takes.
std::vector<std::string> light_lines(const World& world) {
  std::vector<std::string> lines;
  for (std::size_t i = 0; i < world.lamps.size(); ++i) {
    const Source& source = world.scene.sources[i];
    const std::string words = is_on(world, i)
                                  ? fmt::format("{}: {}", source.name, place_words(world, source.position_m))
                                  : fmt::format("{} is off", source.name);
    const std::string longer = lines.empty() ? words : fmt::format("{}; {}", lines.back(), words);
    if (!lines.empty() && text_width_mm(longer, words_mm) <= sheet_width_mm - 2 * edge_mm)
      lines.back() = longer;
    else
      lines.push_back(words);
  }
  if (lines.empty()) lines.emplace_back("No lamps.");
  return lines;
}

}  // namespace

DrawingSheet set_sheet(const World& world) {
  constexpr double plan_width = 128, height = foot_mm - top_mm - 8;
  std::vector<int> lit;
  for (std::size_t i = 0; i < world.lamps.size() && lit.size() < 2; ++i)
    if (is_on(world, i)) lit.push_back(static_cast<int>(i));
  // Below the elevation: the views of lamps, or the key alone.
  const double below = lit.empty() ? 27 : 74;
  const double side_width = sheet_width_mm - 2 * edge_mm - gap_mm - plan_width,
               side_height = height - gap_mm - below;
  const auto [plan, side] = fitted_views(world, {plan_width, height}, {side_width, side_height});

  DrawingSheet sheet{.title = world.scene.title, .drawings = {}, .place_mm = {}, .texts = {}};
  const auto add = [&](Drawing drawing, double x_mm, double y_mm) {
    sheet.place_mm.emplace_back(x_mm, y_mm);
    sheet.drawings.push_back(std::move(drawing));
  };
  add(set_drawing(world, plan_outlines(world, shown_within_m(plan)), plan), edge_mm, top_mm);
  const double right = edge_mm + plan_width + gap_mm;
  add(set_drawing(world, elevation_outlines(world, axes_of(world).forward, shown_within_m(side)), side),
      right, top_mm);

  const double lower = top_mm + side_height + gap_mm;
  // One view is a square at the right end; two share what the key leaves.
  const double key_width = lit.empty() ? side_width : lit.size() == 1 ? side_width - gap_mm - below : 54;
  add(key_drawing(sheet.drawings, key_width), right, lower);
  const double room = side_width - key_width;
  for (std::size_t i = 0; i < lit.size(); ++i) {
    const double width = room / static_cast<double>(lit.size()) - gap_mm;
    add(from_source_drawing(world, lit[i], std::min(width, below), std::min(width + 7, below)),
        right + key_width + gap_mm + static_cast<double>(i) * (width + gap_mm), lower);
  }
  add_words(sheet, 13, title_mm, world.scene.title, true);
  // Two lines find room; a page of more than half a dozen lamps tells of the first.
  const std::vector<std::string> lines = light_lines(world);
  for (std::size_t i = 0; i < std::min<std::size_t>(lines.size(), 2); ++i)
    add_words(sheet, 17.5 + 3.5 * static_cast<double>(i), words_mm, lines[i]);
  add_words(sheet, foot_mm, small_mm,
            "Outlines are those of the set's own meshes. Clock hours are seen from above, the camera at six. "
            "Lux lines hold for a small card that faces that lamp alone.");
  return sheet;
}

}  // namespace undercap
