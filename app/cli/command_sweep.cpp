#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "app/cli/sweep_plan.h"
#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/image/png.h"
#include "engine/report/paint.h"
#include "engine/report/sweep_sheet.h"
#include "engine/session/sweep.h"

namespace undercap {
namespace {

std::string pictures_text(std::size_t count) {
  return fmt::format("{} picture{}", count, count == 1 ? "" : "s");
}

std::string lens_of(const Scene& scene) {
  return fmt::format("{:g} mm lens, {:g} x {:g} mm", scene.camera.focal_length_mm, scene.camera.format_mm[0],
                     scene.camera.format_mm[1]);
}

std::string range_text(const std::string& low, const std::string& high) {
  return low == high ? low : fmt::format("{} to {}", low, high);
}

SweepFacts facts_of(const SharedOptions& options, const SweepPlan& plan, const Scene& base,
                    const std::vector<SweepEntry>& entries, const SweepResult& result,
                    const std::string& renderer) {
  const Scene& first = entries.front().scene;
  SweepFacts facts;
  facts.scene_name = std::filesystem::path(options.scene).stem().string();
  facts.title = first.title.empty() ? facts.scene_name : first.title;
  facts.changed = changed_by(plan, first);
  facts.kept = kept_in(plan);
  facts.remarks = rule_errors(plan, base);
  facts.camera = plan.camera_alone();
  facts.columns = plan.columns();
  const auto all = [&](const auto& holds) { return std::all_of(entries.begin(), entries.end(), holds); };
  if (all([&](const SweepEntry& entry) { return lens_of(entry.scene) == lens_of(first); }))
    facts.lens = lens_of(first);
  facts.metered = all([](const SweepEntry& entry) { return !entry.scene.exposure.shutter_s; });
  facts.sampling = fmt::format(
      "{} samples a pixel, noise {} %{}",
      range_text(fmt::format("{}", result.samples), fmt::format("{}", result.most_samples)),
      range_text(fmt::format("{:.1f}", result.least_noise_pct), fmt::format("{:.1f}", result.most_noise_pct)),
      options.filtered ? " before it was smoothed for viewing; the numbers are from raw samples" : "");
  facts.made_by = fmt::format("Undercap {}, {}", UNDERCAP_VERSION, renderer);
  return facts;
}

// Where the subject lies that the best f-numbers are to serve.
std::optional<DepthRange> needed_depth(const SharedOptions& options, const ShaderLibrary& shaders,
                                       const Scene& scene) {
  ProgressBar bar(options, "looking at the subject");
  Session session(shaders, scene, options.quality);
  if (!session.survey(options.quality, {}, bar.callback(), Session::For::picture)) return std::nullopt;
  return session.needed_depth();
}

}  // namespace

int run_sweep_sheet(const SharedOptions& options) {
  const SceneFile file = open_scene(options);
  const SweepPlan plan = sweep_plan(options, file.scene());
  std::vector<std::string> outputs = options.outputs;
  if (outputs.empty()) outputs.push_back(std::filesystem::path(options.scene).stem().string() + "-sheet.png");
  for (const std::string& output : outputs) format_of("-o", output, {".png", ".pdf"});
  std::vector<std::string> all_outputs = outputs;
  if (!options.csv.empty()) {
    format_of("--csv", options.csv, {".csv"});
    all_outputs.push_back(options.csv);
  }
  check_outputs(options, all_outputs);
  const Typeface typeface;
  const HeadlessContext context(options.device);
  const ShaderLibrary shaders = shader_library(options);
  const std::vector<SweepEntry> entries =
      sweep_entries(options, file, plan,
                    plan.wants(Same::best) ? needed_depth(options, shaders, file.scene()) : std::nullopt);
  tell(options,
       fmt::format("{}: {}, {} x {} pixels on {}", entries.front().scene.file, pictures_text(entries.size()),
                   entries.front().width, entries.front().height, context.renderer()));
  std::optional<SweepResult> result;
  {
    ProgressBar bar(options, "sweeping");
    result =
        run_sweep(shaders, entries, {options.quality, options.noise_pct, options.seconds, options.filtered},
                  bar.callback());
  }
  if (!result) {
    tell(options, "stopped before every picture was there; nothing is written");
    return exit_interrupted;
  }
  const Page page =
      lay_out(sweep_sheet(facts_of(options, plan, file.scene(), entries, *result, context.renderer()),
                          result->headlines, result->pictures),
              typeface);
  for (const std::string& output : outputs)
    write_page(options, output, page, result->pictures, typeface, file.text());
  if (!options.csv.empty()) write_file(options.csv, headline_csv(result->headlines), options.force);
  if (options.verbose)
    for (const std::string& detail : result->details) tell(options, detail);
  for (const std::string& note : result->notes) tell(options, "note: " + note);
  for (const std::string& output : all_outputs)
    tell(options,
         fmt::format("wrote {}: {}, {:.1f} s", output, pictures_text(entries.size()), result->seconds));
  return exit_done;
}

}  // namespace undercap
