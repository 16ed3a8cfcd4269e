// A plot of lines over one axis, as a drawing: sharpness along the lens axis, blur against focal length ...
//
// Values are in the units that the labels of the axes name. Lines are told apart by their dashes and by their
// names at their ends, so that a black print and an eye that tells no hues apart lose nothing.
#pragma once

#include <glm/vec2.hpp>
#include <optional>
#include <string>
#include <vector>

#include "engine/draw/drawing.h"
#include "engine/report/drawing_sheet.h"

namespace undercap {

inline constexpr std::size_t most_plot_lines = 6;  // as many pens tell lines apart
inline constexpr double least_plot_width_mm = 80, least_plot_height_mm = 50;

struct PlotAxis {
  std::string label{};       // with its unit: "blur on the sensor, µm"
  bool logarithmic = false;  // values are then above 0
  // Where the axis begins and ends. Left open: x as far as lines and marks reach, y to the next round number.
  std::optional<double> low{}, high{};
};

// A point that is not finite, or not above 0 on a logarithmic axis, makes a gap.
struct PlotLine {
  std::string name;
  std::vector<glm::dvec2> points;
};

// A named value of one axis, drawn across the other: the near end of a subject, a circle of confusion.
struct PlotMark {
  std::string name;
  double at = 0;
};

struct AxisPlot {
  std::string title{};
  PlotAxis x{}, y{};
  std::vector<PlotLine> lines{};
  std::vector<PlotMark> x_marks{}, y_marks{};  // those outside of the limits are left out
  double width_mm = 180, height_mm = 110;
};

// Refuses a plot without a point that can be drawn, more than most_plot_lines lines, limits in the wrong
// order or not finite or not above 0 on a logarithmic axis, a mark likewise, and an axis whose numbers are
// above 1e9 or nearer to each other than a 1e-6th: those ask for another unit. Refuses more marks than the
// height has room for.
Drawing plot_drawing(const AxisPlot& plot);

// One page of it (A4 landscape), with a title above and lines of words below it. The plot takes the page's
// size, and its own title is that of the page.
DrawingSheet plot_sheet(const AxisPlot& plot, const std::vector<std::string>& words);

}  // namespace undercap
