#include "engine/session/sweep_page.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/optics/third_stops.h"
#include "engine/report/paint_drawing.h"
#include "engine/report/quiz.h"
#include "engine/report/sweep_sheet.h"
#include "engine/session/sweep_plots.h"

namespace undercap {
namespace {

constexpr double figure_width_mm = 330, figure_height_mm = 54, figure_pixels_per_mm = 10;

std::string lens_of(const Scene& scene) {
  return fmt::format("{:g} mm lens, {:g} x {:g} mm", scene.camera.focal_length_mm, scene.camera.format_mm[0],
                     scene.camera.format_mm[1]);
}

std::string range_text(const std::string& low, const std::string& high) {
  return low == high ? low : fmt::format("{} to {}", low, high);
}

// Someone acts on a sheet that shows where a lamp is, or what it does.
bool shows_lamps(const std::vector<SweepEntry>& entries) {
  return std::any_of(entries.begin(), entries.end(), [](const SweepEntry& entry) {
    return std::any_of(entry.scene.sources.begin(), entry.scene.sources.end(),
                       [](const Source& source) { return source.on; });
  });
}

// What the depth of the subject asks for, whatever is varied: the best single frame, and the most that any
// frame holds; empty where it was not measured.
std::string depth_sentence(const Headline& headline) {
  const double *best = number_of(headline, "depth.best_f_number"),
               *most = number_of(headline, "depth.one_frame_mm"),
               *needed = number_of(headline, "depth.needed_mm");
  if (!best || !most || !needed) return {};
  return fmt::format(
      "{}: the subject is {:.3g} mm deep; its best single frame is {}; no f-number holds more than {:.2g} mm "
      "at "
      "this scale, on any format.",
      headline.name, *needed, f_number_label(*best), *most);
}

SweepFacts facts_of(const SweepPlan& plan, const Scene& base, const std::vector<SweepEntry>& entries,
                    const SweepResult& result, const SweepPageWish& wish) {
  const Scene& first = entries.front().scene;
  SweepFacts facts;
  facts.title = wish.title;
  facts.scene_name = wish.scene_name;
  facts.paper = wish.paper;
  facts.changed = changed_by(plan, base);
  facts.kept = kept_in(plan, entries, result.rigs);
  facts.question = wish.question;
  const SweepAxis& axis = plan.axes.front();
  const bool about_depth = plan.axes.size() == 1 && axis.of == SweepAxis::Of::key &&
                           (axis.key == "camera.f_number" || axis.key == "camera.magnification");
  if (const std::string words = depth_sentence(result.headlines.front()); about_depth && !words.empty())
    facts.question.push_back(words);
  facts.remarks = rule_errors(plan, base);
  facts.remarks.insert(facts.remarks.end(), wish.remarks.begin(), wish.remarks.end());
  facts.rows = wish.rows.value_or(plan.camera_alone() ? SweepRows::camera : SweepRows::light);
  facts.columns = plan.columns();
  const auto all = [&](const auto& holds) { return std::all_of(entries.begin(), entries.end(), holds); };
  if (all([&](const SweepEntry& entry) { return lens_of(entry.scene) == lens_of(first); }))
    facts.lens = lens_of(first);
  facts.metered = all([](const SweepEntry& entry) { return !entry.scene.exposure.shutter_s; });
  facts.sampling = fmt::format(
      "{} samples a pixel, noise {} %{}",
      range_text(fmt::format("{}", result.samples), fmt::format("{}", result.most_samples)),
      range_text(fmt::format("{:.1f}", result.least_noise_pct), fmt::format("{:.1f}", result.most_noise_pct)),
      wish.filtered ? " before it was smoothed for viewing; the numbers are from raw samples" : "");
  facts.made_by = wish.made_by;
  facts.windows = result.windows;
  facts.lamps = shows_lamps(entries);
  return facts;
}

// The plot, beside it what each view takes in where that is measured.
std::optional<Drawing> figure_of_sweep(const SweepPlan& plan, const std::vector<SweepEntry>& entries,
                                       const SweepResult& result) {
  auto plot = sweep_plot(plan, entries, result);
  if (!plot) return std::nullopt;
  const auto views = views_plan(entries, result, figure_width_mm * 0.45, figure_height_mm);
  plot->height_mm = figure_height_mm;
  plot->width_mm = views ? figure_width_mm * 0.54 : figure_width_mm;
  if (!views) return plot_drawing(*plot);
  Drawing both{.width_mm = figure_width_mm, .height_mm = figure_height_mm, .title = plot->title};
  both.add_drawing(plot_drawing(*plot), {0, 0});
  both.add_drawing(*views, {figure_width_mm * 0.55, 0});
  return both;
}

}  // namespace

SweepPages sweep_pages(const SweepPlan& plan, const Scene& base, const std::vector<SweepEntry>& entries,
                       const SweepResult& result, const SweepPageWish& wish, const Typeface& typeface) {
  ContactSheet sheet = sweep_sheet(facts_of(plan, base, entries, result, wish), result.headlines,
                                   result.pictures, result.details);
  SweepPages pages{{}, result.pictures};
  pages.pictures.insert(pages.pictures.end(), result.details.begin(), result.details.end());
  if (wish.paper != SheetPaper::slide)
    if (const auto figure = figure_of_sweep(plan, entries, result)) {
      sheet.figure_aspect = figure_height_mm / figure_width_mm;
      pages.pictures.push_back(drawing_picture(*figure, figure_pixels_per_mm, typeface));
    }
  pages.pages =
      wish.quiz ? quiz_pages(sheet, *wish.quiz, typeface) : std::vector<Page>{lay_out(sheet, typeface)};
  return pages;
}

}  // namespace undercap
