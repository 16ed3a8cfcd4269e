#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <filesystem>

#include "app/cli/common.h"
#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/image/png.h"
#include "engine/session/backdrop_help.h"
#include "engine/session/sweep_page.h"

namespace undercap {
namespace {

constexpr std::size_t most_details = 12;  // pictures that have one unless it is asked for

std::string pictures_text(std::size_t count) {
  return fmt::format("{} picture{}", count, count == 1 ? "" : "s");
}

// Many pictures are small on their paper, whatever their pixels.
int longer_side(std::size_t pictures) {
  return pictures <= 8 ? 480 : pictures <= 12 ? 400 : pictures <= 24 ? 320 : 160;
}

std::optional<DetailBox> detail_box(const SharedOptions& options, std::size_t pictures) {
  if (options.box == "none" || (options.box.empty() && pictures > most_details)) return std::nullopt;
  if (options.box.empty()) return DetailBox{};
  std::array<double, 2> middle{};
  const char* const end = options.box.data() + options.box.size();
  const auto first = std::from_chars(options.box.data(), end, middle[0]);
  const bool comma = first.ec == std::errc{} && first.ptr != end && *first.ptr == ',';
  const auto second = std::from_chars(comma ? first.ptr + 1 : end, end, middle[1]);
  const auto inside = [](double at) { return at >= 0 && at <= 1; };
  if (second.ec != std::errc{} || second.ptr != end || !inside(middle[0]) || !inside(middle[1]))
    throw Refusal(fmt::format(
        "--box {}: write the middle as X,Y, each 0 to 1 of the frame from the upper left, or none",
        options.box));
  return DetailBox{.middle = middle};
}

// Where the subject lies that the best f-numbers are to serve.
std::optional<DepthRange> needed_depth(const SharedOptions& options, const ShaderLibrary& shaders,
                                       const Scene& scene) {
  ProgressBar bar(options, "looking at the subject");
  Session session(shaders, scene, options.quality);
  if (!session.survey(options.quality, {}, bar.callback(), Session::For::picture)) return std::nullopt;
  return session.needed_depth();
}

std::vector<std::string> all_outputs(const SharedOptions& options, const std::vector<std::string>& sheets) {
  std::vector<std::string> all = sheets;
  for (const std::string& sheet : sheets)
    if (options.quiz && format_of("-o", sheet, {".png", ".pdf"}) == ".png")
      all.push_back(answers_file(sheet));
  if (!options.csv.empty()) {
    format_of("--csv", options.csv, {".csv"});
    all.push_back(options.csv);
  }
  return all;
}

}  // namespace

SheetPaper sheet_paper(const SharedOptions& options) {
  return options.paper == "slide"    ? SheetPaper::slide
         : options.paper == "letter" ? SheetPaper::letter
                                     : SheetPaper::a4;
}

int make_sweep(const SharedOptions& options, const SweepTask& task, const OpenVariant& open) {
  const SceneFile file = open("");
  const Scene base = file.scene();
  const SweepPlan plan = sweep_plan(task.wish, base);
  const std::optional<DetailBox> detail = detail_box(options, plan.pictures());
  for (const std::string& output : task.outputs) format_of("-o", output, {".png", ".pdf"});
  const std::vector<std::string> outputs = all_outputs(options, task.outputs);
  check_outputs(options, outputs);
  const Typeface typeface;
  const HeadlessContext context(options.device);
  const ShaderLibrary shaders = shader_library(options);
  std::vector<std::string> notes;
  std::vector<SweepEntry> entries =
      sweep_entries(open, plan, longer_side(plan.pictures()),
                    plan.wants(Same::best) ? needed_depth(options, shaders, base) : std::nullopt, notes);
  for (const std::string& note : notes) tell(options, note);
  if (!options.size.empty())
    for (SweepEntry& entry : entries) {
      const Size size = picture_size(options, entry.scene, 480);
      entry.width = size.width;
      entry.height = size.height;
    }
  tell(options,
       fmt::format("{}: {}, {} x {} pixels on {}", entries.front().scene.file, pictures_text(entries.size()),
                   entries.front().width, entries.front().height, context.renderer()));
  std::optional<SweepResult> result;
  {
    ProgressBar bar(options, task.label);
    result = run_sweep(shaders, entries,
                       {.quality = options.quality,
                        .noise_pct = options.noise_pct,
                        .seconds = options.seconds,
                        .filtered = options.filtered,
                        .separation = task.rows == SweepRows::separation,
                        .detail = detail},
                       bar.callback());
  }
  if (!result) {
    tell(options, "stopped before every picture was there; nothing is written");
    return exit_interrupted;
  }
  SweepPageWish wish = task.page;
  if (task.rows == SweepRows::separation) {
    ProgressBar bar(options, "trying what would help");
    const auto helps = what_helps_most(shaders, base, bar.callback());
    if (!helps) return exit_interrupted;
    wish.remarks.push_back("What would help most here, each by a draft render of the scene as it is set:");
    for (const std::string& words : help_words(*helps)) wish.remarks.push_back(words);
    for (const std::string& words : wish.remarks) tell(options, words);
  }
  wish.scene_name = std::filesystem::path(options.scene).stem().string();
  if (wish.title.empty()) wish.title = base.title.empty() ? wish.scene_name : base.title;
  wish.made_by = fmt::format("Undercap {}, {}", UNDERCAP_VERSION, context.renderer());
  wish.paper = sheet_paper(options);
  wish.rows = task.rows;
  wish.filtered = options.filtered;
  if (options.quiz) wish.quiz = static_cast<unsigned>(base.seed);
  const SweepPages pages = sweep_pages(plan, base, entries, *result, wish, typeface);
  for (const std::string& output : task.outputs)
    write_pages(options, output, pages.pages, pages.pictures, typeface, file.text());
  if (!options.csv.empty()) write_file(options.csv, headline_csv(result->headlines), options.force);
  const std::vector<std::string> changed = changed_by(plan, base);
  const std::string kept = kept_in(plan, entries, result->rigs);
  if (options.json)
    std::fputs(sweep_json(context.renderer(), changed, kept, result->headlines).c_str(), stdout);
  if (options.verbose)
    for (const std::string& line : result->log) tell(options, line);
  for (const std::string& note : result->notes) tell(options, "note: " + note);
  tell(options, fmt::format("changed: {}; kept: {}", fmt::join(changed, ", "), kept));
  if (const std::string saved = saved_words(*result); !saved.empty()) tell(options, saved);
  for (const std::string& output : outputs)
    tell(options,
         fmt::format("wrote {}: {}, {:.1f} s", output, pictures_text(entries.size()), result->seconds));
  return exit_done;
}

int run_sweep_sheet(const SharedOptions& options) {
  SweepTask task{.label = "sweeping", .outputs = options.outputs};
  task.wish = {.vary = options.vary, .same = options.same, .match = options.match};
  if (!options.hold.empty()) task.wish.hold = holds_of(options.hold);
  if (options.report == "separation") task.rows = SweepRows::separation;
  if (task.outputs.empty())
    task.outputs.push_back(std::filesystem::path(options.scene).stem().string() + "-sheet.png");
  bool told = false;  // the notes of the scene, once
  return make_sweep(options, task, [&, told](const std::string& variant) mutable {
    SharedOptions own = options;
    own.quiet = own.quiet || told;
    own.variant = variant;
    told = true;
    return open_scene(own);
  });
}

}  // namespace undercap
