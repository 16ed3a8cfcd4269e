#include "engine/session/sweep_plots.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/measure/stack_task.h"
#include "engine/optics/depth.h"
#include "engine/optics/lens.h"

namespace undercap {
namespace {

// Some of many values, ends included, so that lines can be told apart.
std::vector<std::size_t> chosen(std::size_t count) {
  std::vector<std::size_t> some;
  const std::size_t most = std::min(count, most_plot_lines);
  for (std::size_t k = 0; k < most; ++k) some.push_back(most == 1 ? 0 : k * (count - 1) / (most - 1));
  return some;
}

// In parts of the frame's height that 1500 of make the diagonal: formats and scales then compare. The largest
// that is drawn shows what is plainly soft.
AxisPlot blur_plot(const std::vector<SweepEntry>& entries, const SweepResult& result) {
  constexpr double most_circles = 6;
  constexpr int steps = 160;
  double reach_mm = 0;
  for (const Headline& headline : result.headlines)
    if (const double* needed = number_of(headline, "depth.needed_mm"))
      reach_mm = std::max(reach_mm, 0.6 * *needed);
  if (reach_mm <= 0) reach_mm = 30;
  AxisPlot plot{.x = {.label = "behind the plane in focus, mm (camera at the left)"},
                .y = {.label = "blur disc, parts of the diagonal / 1500", .low = 0, .high = most_circles}};
  for (const std::size_t i : chosen(entries.size())) {
    const CameraRig& rig = result.rigs[i];
    const Length circle = SensorFormat{rig.width, rig.height}.diagonal() / 1500;
    PlotLine line{entries[i].name, {}};
    for (int s = 0; s <= steps; ++s) {
      const double at_mm = reach_mm * (2.0 * s / steps - 1);
      const Length place = rig.pupil_distance + at_mm * 1_mm;
      if (place.value() < 0.2 * rig.pupil_distance.value()) continue;
      const double circles = blur_at(rig.lens, rig.magnification, place) / circle;
      if (circles <= most_circles) line.points.emplace_back(at_mm, circles);
    }
    if (!line.points.empty()) plot.lines.push_back(std::move(line));
  }
  plot.y_marks = {{"just sharp", 1}};
  plot.title = "How sharp, along the lens axis: defocus and diffraction together";
  return plot;
}

// Equal framing or not: each point has the lens and the scale of its picture.
AxisPlot backdrop_plot(const SweepPlan& plan, const SweepResult& result) {
  AxisPlot plot{.title = "What stands behind: its blur disc as drawn, against focal length",
                .x = {.label = "focal length, mm", .logarithmic = true},
                .y = {.label = "blur disc, % of the frame's height", .low = 0}};
  for (const double behind_m : {0.25, 0.5, 1.0, 2.0}) {
    PlotLine line{fmt::format("{:g} m behind", behind_m), {}};
    for (std::size_t i = 0; i < result.rigs.size(); ++i) {
      const CameraRig& rig = result.rigs[i];
      const Length disc = blur_disc(rig.lens, rig.magnification, rig.pupil_distance + Length(behind_m));
      line.points.emplace_back(plan.axes.front().numbers[i], 100 * (disc / rig.height));
    }
    std::sort(line.points.begin(), line.points.end(), [](const auto& a, const auto& b) { return a.x < b.x; });
    plot.lines.push_back(std::move(line));
  }
  return plot;
}

// Inverse square, from the lamp's front, in line with lamp and subject.
AxisPlot fall_off_plot(const SweepPlan& plan) {
  constexpr double before_cm = -5, behind_cm = 100;
  constexpr int steps = 105;
  AxisPlot plot{.title = "How the lamp's light falls off, in line with lamp and subject",
                .x = {.label = "behind the subject, cm"},
                .y = {.label = "light of the lamp, stops from that on the subject", .low = -8, .high = 2}};
  for (const std::size_t i : chosen(plan.axes.front().numbers.size())) {
    const double distance_cm = plan.axes.front().numbers[i];
    PlotLine line{fmt::format("lamp at {:g} cm", distance_cm), {}};
    for (int s = 0; s <= steps; ++s) {
      const double at = before_cm + (behind_cm - before_cm) * s / steps;
      if (distance_cm + at > 0.25 * distance_cm)
        line.points.emplace_back(at, -2 * std::log2((distance_cm + at) / distance_cm));
    }
    plot.lines.push_back(std::move(line));
  }
  return plot;
}

}  // namespace

std::optional<Drawing> views_plan(const std::vector<SweepEntry>& entries, const SweepResult& result,
                                  double width_mm, double height_mm) {
  constexpr double title_mm = 3.4, words_mm = 2.6, edge_mm = 4;
  const std::vector<std::size_t> some = chosen(entries.size());
  // Along the axis from the plane in focus, to the right of it; metres.
  double farthest_back = 0, behind = 0, half_width = 0.02;
  for (const std::size_t i : some) {
    const CameraRig& rig = result.rigs[i];
    const double half_angle_tangent = rig.width.value() / 2 / rig.image_distance.value();
    farthest_back = std::max(farthest_back, rig.pupil_distance.value());
    if (const double* width = number_of(result.headlines[i], "backdrop.width_m"))
      behind = std::max(behind, *width / 2 / half_angle_tangent - rig.pupil_distance.value());
  }
  if (behind <= 0 || farthest_back <= 0) return std::nullopt;
  behind = std::min(behind, 4 * farthest_back);
  for (const std::size_t i : some) {
    const CameraRig& rig = result.rigs[i];
    half_width = std::max(half_width, (rig.pupil_distance.value() + behind) * rig.width.value() / 2 /
                                          rig.image_distance.value());
  }
  const double top_mm = edge_mm + title_mm + 6, low_mm = height_mm - edge_mm - words_mm,
               scale = std::min((width_mm - 2 * edge_mm - 26) / (farthest_back + behind),
                                (low_mm - top_mm) / (2 * half_width));
  Drawing drawing{.width_mm = width_mm, .height_mm = height_mm, .title = "What each view takes in"};
  const auto at = [&](double along, double aside) {
    return glm::dvec2(edge_mm + 4 + (along + farthest_back) * scale, (top_mm + low_mm) / 2 + aside * scale);
  };
  drawing.add(Pen::text, Text{{edge_mm, edge_mm + title_mm},
                              "What each view takes in, from above",
                              title_mm,
                              Across::left,
                              true});
  drawing.add_line(Pen::focus_plane, at(0, -half_width / 3), at(0, half_width / 3));
  constexpr Pen pens_of[] = {Pen::curve_1, Pen::curve_2, Pen::curve_3,
                             Pen::curve_4, Pen::curve_5, Pen::curve_6};
  for (std::size_t k = 0; k < some.size(); ++k) {
    const CameraRig& rig = result.rigs[some[k]];
    const double back = rig.pupil_distance.value(),
                 aside = (back + behind) * rig.width.value() / 2 / rig.image_distance.value();
    for (const double side : {-1.0, 1.0})
      drawing.add_line(pens_of[k], at(-back, 0), at(behind, side * aside));
    drawing.add(Pen::camera, Circle{at(-back, 0), 0.8, Fill::solid});
    // Names above and below in turn, since long lenses lie close.
    drawing.add(Pen::text, Text{at(behind, k % 2 == 0 ? -aside : aside) + glm::dvec2(1.5, 0.9),
                                entries[some[k]].name, words_mm});
  }
  drawing.add(Pen::text,
              Text{{edge_mm, height_mm - 1.5},
                   fmt::format("cameras at the left; the upright line is the plane in focus; {:.2g} m "
                               "to what stands behind; 1:{:.2g}",
                               behind, 1000 / scale),
                   words_mm});
  return drawing;
}

std::optional<AxisPlot> sweep_plot(const SweepPlan& plan, const std::vector<SweepEntry>& entries,
                                   const SweepResult& result) {
  if (plan.axes.size() != 1 || entries.size() < 2) return std::nullopt;
  const SweepAxis& axis = plan.axes.front();
  if (axis.of == SweepAxis::Of::distance) return fall_off_plot(plan);
  if (axis.of != SweepAxis::Of::key || axis.numbers.empty()) return std::nullopt;
  if (axis.key == "camera.f_number" || axis.key == "camera.magnification") return blur_plot(entries, result);
  if (axis.key == "camera.focal_length_mm") return backdrop_plot(plan, result);
  return std::nullopt;
}

}  // namespace undercap
