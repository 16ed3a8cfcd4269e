#include "engine/report/axis_plot.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <limits>
#include <span>

#include "engine/core/errors.h"
#include "engine/report/labels.h"
#include "engine/report/plot_ticks.h"

namespace undercap {
namespace {

constexpr double title_mm = 3.4, label_mm = 2.6, words_mm = 2.4;  // sizes of type
constexpr double row_mm = 3.4;                                    // from one line of names to the next
constexpr double edge_mm = 2, lead_mm = 4, bar_mm = 1.2;

bool can_stand(const PlotAxis& axis, double value) {
  return std::isfinite(value) && (!axis.logarithmic || value > 0);
}
bool can_stand(const AxisPlot& plot, const glm::dvec2& point) {
  return can_stand(plot.x, point.x) && can_stand(plot.y, point.y);
}

struct Limits {
  double low = std::numeric_limits<double>::infinity(), high = -low;
  void take(double value) {
    low = std::min(low, value);
    high = std::max(high, value);
  }
};

// What all points that can be drawn and all marks reach over.
Limits reach_of(const AxisPlot& plot, int axis) {
  Limits reach;
  for (const PlotLine& line : plot.lines)
    for (const glm::dvec2& point : line.points)
      if (can_stand(plot, point)) reach.take(point[axis]);
  if (reach.low > reach.high) throw Refusal("the plot has no point that can be drawn");
  for (const PlotMark& mark : axis == 0 ? plot.x_marks : plot.y_marks) reach.take(mark.at);
  return reach;
}

void check_limits(const PlotAxis& axis, const Limits& limits) {
  if (!can_stand(axis, limits.low) || !can_stand(axis, limits.high) || !(limits.low < limits.high))
    throw Refusal(fmt::format("the axis '{}' from {} to {} cannot be drawn; give limits in rising order{}",
                              axis.label, limits.low, limits.high, axis.logarithmic ? " and above 0" : ""));
  const double largest = std::max(std::abs(limits.low), std::abs(limits.high));
  if (largest > 1e9 || limits.high - limits.low < 1e-6 * largest || limits.high - limits.low < 1e-9)
    throw Refusal(fmt::format(
        "the axis '{}' from {} to {} would have numbers too long to print; plot it in another unit",
        axis.label, limits.low, limits.high));
}

// A single value gets room on both sides.
Limits opened(const PlotAxis& axis, const Limits& reach) {
  if (reach.low != reach.high) return reach;
  const double room = axis.logarithmic || reach.low != 0 ? std::abs(reach.low) / 2 : 1;
  return {reach.low - room, reach.high + room};
}

int most_y_ticks(const AxisPlot& plot) { return std::clamp(static_cast<int>(plot.height_mm / 10), 4, 9); }

// Out to ticks, so that the frame's own edges have numbers. A scale that could as well begin at 0 does:
// lengths compare then. A wider range may ask for a wider step, which ends after a few rounds.
Limits rounded(Limits limits, int most) {
  if (limits.low > 0 && limits.low < 0.5 * limits.high) limits.low = 0;
  for (;;) {
    const double step = tick_step(limits.low, limits.high, most);
    const Limits wider{std::floor(limits.low / step + 1e-9) * step,
                       std::ceil(limits.high / step - 1e-9) * step};
    const double growth = (wider.high - wider.low) - (limits.high - limits.low);
    limits = wider;
    if (growth < 1e-6 * step) return limits;
  }
}

Limits limits_of(const AxisPlot& plot, int axis) {
  const PlotAxis& of = axis == 0 ? plot.x : plot.y;
  Limits limits = opened(of, reach_of(plot, axis));
  if (of.low) limits.low = *of.low;
  if (of.high) limits.high = *of.high;
  check_limits(of, limits);
  if (axis == 0 || of.logarithmic) return limits;
  const Limits round = rounded(limits, most_y_ticks(plot));
  return {of.low ? limits.low : round.low, of.high ? limits.high : round.high};
}

void check_plot(const AxisPlot& plot) {
  UNDERCAP_CHECK(plot.width_mm >= least_plot_width_mm && plot.height_mm >= least_plot_height_mm,
                 "a plot has room for its words");
  if (plot.lines.size() > most_plot_lines)
    throw Refusal(fmt::format("{} lines in one plot cannot be told apart; draw at most {}", plot.lines.size(),
                              most_plot_lines));
  const auto check_marks = [](const PlotAxis& axis, const std::vector<PlotMark>& marks) {
    for (const PlotMark& mark : marks)
      if (!can_stand(axis, mark.at))
        throw Refusal(
            fmt::format("the mark '{}' at {} has no place on the axis '{}'", mark.name, mark.at, axis.label));
  };
  check_marks(plot.x, plot.x_marks);
  check_marks(plot.y, plot.y_marks);
}

// The words, or their beginning and an ellipsis, so that they take at most so much room.
std::string shortened(const std::string& words, double size_mm, double room_mm, bool bold = false) {
  // Room that was made for these very words has their width but for rounding.
  if (text_width_mm(words, size_mm, bold) <= room_mm + 1e-6) return words;
  std::string kept = words;
  const auto with_dots = [&] { return fmt::format("{}\xe2\x80\xa6", kept); };
  while (!kept.empty() && text_width_mm(with_dots(), size_mm, bold) > room_mm) {
    // A letter's later bytes begin with the bits 10.
    while (!kept.empty() && (static_cast<unsigned char>(kept.back()) & 0xC0) == 0x80) kept.pop_back();
    if (!kept.empty()) kept.pop_back();
  }
  return with_dots();
}

double along(const PlotAxis& axis, const Limits& limits, double value) {
  if (!axis.logarithmic) return (value - limits.low) / (limits.high - limits.low);
  return std::log(value / limits.low) / std::log(limits.high / limits.low);
}

std::vector<Tick> ticks_of(const PlotAxis& axis, const Limits& limits, int most) {
  return axis.logarithmic ? logarithmic_ticks(limits.low, limits.high, most)
                          : linear_ticks(limits.low, limits.high, most);
}

double widest(const std::vector<Tick>& ticks) {
  double width = 0;
  for (const Tick& tick : ticks) width = std::max(width, text_width_mm(tick.words, words_mm));
  return width;
}

// The name of a mark of x: it hangs from a line up from the frame, to the right of it where there is room.
struct Flag {
  std::string words;
  double at_mm = 0, left_mm = 0, right_mm = 0;
  int row = 0;  // 0 next to the frame
};

// Whether a flag meets another in its row, or the line of the higher one runs through the lower one's words.
bool meet(const Flag& a, const Flag& b) {
  if (a.row == b.row) return a.left_mm < b.right_mm + 1 && b.left_mm < a.right_mm + 1;
  const Flag &lower = a.row < b.row ? a : b, &higher = a.row < b.row ? b : a;
  return higher.at_mm > lower.left_mm - 0.5 && higher.at_mm < lower.right_mm + 0.5;
}

// A plot while it is drawn.
class Sketch {
 public:
  explicit Sketch(const AxisPlot& plot)
      : plot_(plot),
        x_(limits_of(plot, 0)),
        y_(limits_of(plot, 1)),
        drawing_{.width_mm = plot.width_mm, .height_mm = plot.height_mm, .title = plot.title, .marks = {}},
        labels_({{edge_mm / 2, edge_mm / 2}, {plot.width_mm - edge_mm / 2, plot.height_mm - edge_mm / 2}}) {}

  Drawing draw() {
    place_frame();
    check_room();
    draw_heading();
    draw_ticks();
    draw_marks();
    for (std::size_t i = 0; i < plot_.lines.size(); ++i) draw_line(i);
    drawing_.add(Pen::key, Polyline{.points_mm = {frame_.low,
                                                  {frame_.high.x, frame_.low.y},
                                                  frame_.high,
                                                  {frame_.low.x, frame_.high.y}},
                                    .closed = true});
    draw_names_beside();
    labels_.place_all(drawing_);
    return std::move(drawing_);
  }

 private:
  // A name to the right of the frame, for a line or mark that reaches it there.
  struct Beside {
    std::string words;
    Pen pen;
    double wanted_mm = 0, at_mm = 0;
  };

  glm::dvec2 paper(const glm::dvec2& point) const {
    const glm::dvec2 size = frame_.high - frame_.low;
    return {frame_.low.x + size.x * along(plot_.x, x_, point.x),
            frame_.high.y - size.y * along(plot_.y, y_, point.y)};
  }

  void add_text(double x_mm, double y_mm, const std::string& words, double size_mm,
                Across across = Across::left, bool bold = false) {
    const Text text{
        .at_mm = {x_mm, y_mm}, .words = words, .size_mm = size_mm, .across = across, .bold = bold};
    drawing_.add(Pen::text, text);
    labels_.keep_clear(box_of(text));
  }

  // Room for the numbers on the left, for the longest name on the right, for title, label and flags above.
  void place_frame() {
    const double most_beside = plot_.width_mm / 3;
    double beside = 0;
    for (const PlotLine& line : plot_.lines) beside = std::max(beside, text_width_mm(line.name, words_mm));
    for (const PlotMark& mark : plot_.y_marks) beside = std::max(beside, text_width_mm(mark.name, words_mm));
    beside = std::min(beside, most_beside);
    y_ticks_ = ticks_of(plot_.y, y_, most_y_ticks(plot_));
    frame_.low.x = edge_mm + widest(y_ticks_) + bar_mm + 1;
    frame_.high = {plot_.width_mm - edge_mm - beside - lead_mm - 1, plot_.height_mm - edge_mm - 9};
    x_ticks_ = fitting_x_ticks();
    place_flags();
    int rows = 0;
    for (const Flag& flag : flags_) rows = std::max(rows, flag.row + 1);
    frame_.low.y = edge_mm + (plot_.title.empty() ? 0 : title_mm + 2) + label_mm + 2.8 + rows * row_mm;
  }

  // Marks take height: their names in rows above the frame, or side by side with those of lines beside it.
  void check_room() const {
    const double height = frame_.high.y - frame_.low.y;
    const auto names = static_cast<double>(plot_.lines.size() + plot_.y_marks.size());
    if (height < 12 || height < names * row_mm)
      throw Refusal(fmt::format("{} marks and {} lines do not fit into a plot {} mm high; draw fewer",
                                plot_.x_marks.size() + plot_.y_marks.size(), plot_.lines.size(),
                                plot_.height_mm));
  }

  // As many as stand side by side with a gap of a letter or two.
  std::vector<Tick> fitting_x_ticks() const {
    const double width = frame_.high.x - frame_.low.x;
    int most = std::max(3, static_cast<int>(width / 12));
    std::vector<Tick> ticks = ticks_of(plot_.x, x_, most);
    const auto collide = [&] {
      for (std::size_t i = 1; i < ticks.size(); ++i)
        if (width * (along(plot_.x, x_, ticks[i].value) - along(plot_.x, x_, ticks[i - 1].value)) <
            (text_width_mm(ticks[i].words, words_mm) + text_width_mm(ticks[i - 1].words, words_mm)) / 2 + 2)
          return true;
      return false;
    };
    while (most > 2 && collide()) ticks = ticks_of(plot_.x, x_, --most);
    return ticks;
  }

  void place_flags() {
    for (const PlotMark& mark : plot_.x_marks) {
      if (mark.at < x_.low || mark.at > x_.high) continue;
      Flag flag{.words = shortened(mark.name, words_mm, plot_.width_mm / 3)};
      flag.at_mm = frame_.low.x + (frame_.high.x - frame_.low.x) * along(plot_.x, x_, mark.at);
      const double width = text_width_mm(flag.words, words_mm);
      flag.left_mm = std::min(flag.at_mm + 0.7, plot_.width_mm - edge_mm - width);
      flag.right_mm = flag.left_mm + width;
      flags_.push_back(flag);
    }
    // From the right: what stands further left goes above, where its line meets no words.
    std::stable_sort(flags_.begin(), flags_.end(),
                     [](const Flag& a, const Flag& b) { return a.at_mm > b.at_mm; });
    for (std::size_t i = 0; i < flags_.size(); ++i) {
      const std::span<const Flag> placed = std::span(flags_).first(i);
      const auto met = [&](const Flag& other) { return meet(flags_[i], other); };
      while (flags_[i].row < static_cast<int>(i) && std::any_of(placed.begin(), placed.end(), met))
        ++flags_[i].row;
    }
  }

  void draw_heading() {
    double baseline = edge_mm + title_mm;
    const double room = plot_.width_mm - 2 * edge_mm;
    if (!plot_.title.empty()) {
      add_text(edge_mm, baseline, shortened(plot_.title, title_mm, room, true), title_mm, Across::left, true);
      baseline += label_mm + 2;
    } else {
      baseline = edge_mm + label_mm;
    }
    add_text(edge_mm, baseline, shortened(plot_.y.label, label_mm, room), label_mm);
    add_text((frame_.low.x + frame_.high.x) / 2, plot_.height_mm - edge_mm - 0.8,
             shortened(plot_.x.label, label_mm, frame_.high.x - frame_.low.x), label_mm, Across::middle);
  }

  void draw_ticks() {
    for (const Tick& tick : x_ticks_) {
      const double x = paper({tick.value, y_.low}).x;
      drawing_.add_line(Pen::grid, {x, frame_.low.y}, {x, frame_.high.y});
      drawing_.add_line(Pen::key, {x, frame_.high.y}, {x, frame_.high.y + bar_mm});
      add_text(x, frame_.high.y + bar_mm + words_mm, tick.words, words_mm, Across::middle);
    }
    for (const Tick& tick : y_ticks_) {
      const double y = paper({x_.low, tick.value}).y;
      drawing_.add_line(Pen::grid, {frame_.low.x, y}, {frame_.high.x, y});
      drawing_.add_line(Pen::key, {frame_.low.x - bar_mm, y}, {frame_.low.x, y});
      add_text(frame_.low.x - bar_mm - 0.6, y + 0.36 * words_mm, tick.words, words_mm, Across::right);
    }
  }

  void draw_marks() {
    for (const Flag& flag : flags_) {
      const double baseline = frame_.low.y - 1 - flag.row * row_mm;
      drawing_.add_line(Pen::mark, {flag.at_mm, baseline - 0.74 * words_mm}, {flag.at_mm, frame_.high.y});
      add_text(flag.left_mm, baseline, flag.words, words_mm);
    }
    for (const PlotMark& mark : plot_.y_marks) {
      if (mark.at < y_.low || mark.at > y_.high) continue;
      const double y = paper({x_.low, mark.at}).y;
      drawing_.add_line(Pen::mark, {frame_.low.x, y}, {frame_.high.x, y});
      beside_.push_back({mark.name, Pen::mark, y});
    }
  }

  // The pieces of a line that lie in the frame.
  std::vector<std::vector<glm::dvec2>> pieces_of(const PlotLine& line) const {
    std::vector<std::vector<glm::dvec2>> pieces;
    for (std::size_t i = 1; i < line.points.size(); ++i) {
      if (!can_stand(plot_, line.points[i - 1]) || !can_stand(plot_, line.points[i])) continue;
      glm::dvec2 from = paper(line.points[i - 1]), to = paper(line.points[i]);
      if (!cut_to(frame_, from, to)) continue;
      // Cutting rounds; the smallest gap that is meant is far wider.
      if (pieces.empty() || glm::distance(pieces.back().back(), from) > 1e-6) pieces.push_back({from});
      pieces.back().push_back(to);
    }
    return pieces;
  }

  // A name stands where the line ends: beside the frame, or near an end within it.
  void draw_line(std::size_t number) {
    const PlotLine& line = plot_.lines[number];
    const Pen pen = static_cast<Pen>(static_cast<int>(Pen::curve_1) + static_cast<int>(number));
    const auto pieces = pieces_of(line);
    if (pieces.empty()) return;
    for (const std::vector<glm::dvec2>& piece : pieces) drawing_.add(pen, Polyline{.points_mm = piece});
    const glm::dvec2 end = pieces.back().back();
    if (frame_.high.x - end.x < 1)
      beside_.push_back({line.name, pen, end.y});
    else
      labels_.ask({.words = shortened(line.name, words_mm, plot_.width_mm / 3),
                   .places = places_around(end, 1.2, words_mm),
                   .about = {end}});
  }

  // In the order of what they name, a row apart at least, each as near to its own as that leaves; the pen of
  // a line leads on to its name.
  void draw_names_beside() {
    std::stable_sort(beside_.begin(), beside_.end(),
                     [](const Beside& a, const Beside& b) { return a.wanted_mm < b.wanted_mm; });
    double lowest = frame_.low.y + 0.7;  // below the names of marks of x
    for (Beside& name : beside_) {
      name.at_mm = std::max(name.wanted_mm, lowest);
      lowest = name.at_mm + row_mm;
    }
    double highest = frame_.high.y;
    for (auto name = beside_.rbegin(); name != beside_.rend(); ++name) {
      name->at_mm = std::min(name->at_mm, highest);
      highest = name->at_mm - row_mm;
    }
    const double left = frame_.high.x + lead_mm;
    for (const Beside& name : beside_) {
      drawing_.add_line(name.pen, {frame_.high.x, name.wanted_mm}, {left, name.at_mm});
      add_text(left + 1, name.at_mm + 0.36 * words_mm,
               shortened(name.words, words_mm, plot_.width_mm - edge_mm - left - 1), words_mm);
    }
  }

  const AxisPlot& plot_;
  Limits x_, y_;
  Box frame_;
  std::vector<Tick> x_ticks_, y_ticks_;
  std::vector<Flag> flags_;
  std::vector<Beside> beside_;
  Drawing drawing_;
  Labels labels_;
};

}  // namespace

Drawing plot_drawing(const AxisPlot& plot) {
  check_plot(plot);
  return Sketch(plot).draw();
}

DrawingSheet plot_sheet(const AxisPlot& plot, const std::vector<std::string>& words) {
  constexpr double edge = 10, top = 18, line = 3.8, foot = 200;
  const auto first_baseline = foot - line * (static_cast<double>(words.size()) - 1);
  AxisPlot fitted = plot;
  fitted.title.clear();
  fitted.width_mm = sheet_width_mm - 2 * edge;
  fitted.height_mm = first_baseline - 6 - top;
  DrawingSheet sheet{.title = plot.title, .drawings = {}, .place_mm = {{edge, top}}, .texts = {}};
  sheet.drawings.push_back(plot_drawing(fitted));
  const auto add_words = [&](double y_mm, const std::string& what, double size_mm, bool bold) {
    sheet.texts.push_back({.at_mm = {edge, y_mm},
                           .words = shortened(what, size_mm, fitted.width_mm, bold),
                           .size_mm = size_mm,
                           .bold = bold,
                           .clears = false});
  };
  add_words(13, plot.title, 5, true);
  for (std::size_t i = 0; i < words.size(); ++i)
    add_words(first_baseline + line * static_cast<double>(i), words[i], words_mm, false);
  return sheet;
}

}  // namespace undercap
