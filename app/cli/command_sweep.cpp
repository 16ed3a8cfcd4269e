#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "app/cli/common.h"
#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/image/png.h"
#include "engine/report/paint.h"
#include "engine/report/sweep_sheet.h"
#include "engine/session/sweep.h"

namespace undercap {
namespace {

constexpr const char* base_name = "base";

bool is_pdf(const std::string& output) {
  const std::string ending = ending_of(output, ".png");
  if (ending != ".png" && ending != ".pdf")
    throw Refusal(fmt::format("-o '{}': the ending says the format; allowed: .png, .pdf", output));
  return ending == ".pdf";
}

// What to render, from "variant=all" or "variant=NAME,NAME".
std::vector<std::string> swept_names(const std::string& vary, const Scene& scene) {
  const auto refuse = [&](const std::string& why) {
    return Refusal(fmt::format("--vary {}: {}", vary, why));
  };
  constexpr std::string_view key = "variant=";
  if (!vary.starts_with(key))
    throw refuse("only variants can be varied: write variant=all, or variant=NAME,NAME");
  const std::string list = vary.substr(key.size());
  std::vector<std::string> known, names;
  for (const Variant& variant : scene.variants) known.push_back(variant.name);
  if (list == "all") {
    if (known.empty()) throw refuse("the scene has no variants");
    names = known;
  } else {
    for (std::size_t begin = 0; begin <= list.size();) {
      const std::size_t end = std::min(list.find(',', begin), list.size());
      const std::string name = list.substr(begin, end - begin);
      if (name != base_name && std::find(known.begin(), known.end(), name) == known.end())
        throw refuse(fmt::format("there is no variant '{}'; allowed: all, or of these, with commas: base{}{}",
                                 name, known.empty() ? "" : ", ", fmt::join(known, ", ")));
      if (std::find(names.begin(), names.end(), name) != names.end())
        throw refuse(fmt::format("'{}' is named twice", name));
      names.push_back(name);
      begin = end + 1;
    }
  }
  if (names.size() > most_cells)
    throw refuse(fmt::format("these are {} pictures; a sheet holds up to {}: name some of them", names.size(),
                             most_cells));
  return names;
}

// 'base' has told its notes, which are those of --set; a variant tells only what it adds.
std::vector<SweepEntry> entries_of(const SharedOptions& options, const SceneFile& base,
                                   const std::vector<std::string>& names) {
  std::vector<SweepEntry> entries;
  for (const std::string& name : names) {
    SharedOptions own = options;
    if (name != base_name) own.variant = name;
    own.quiet = true;
    const SceneFile file = open_scene(own);
    for (const std::string& note : file.notes())
      if (std::find(base.notes().begin(), base.notes().end(), note) == base.notes().end())
        tell(options, note);
    const Scene scene = file.scene();
    const Size size = picture_size(options, scene, 480);
    entries.push_back({name, scene, size.width, size.height});
  }
  return entries;
}

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

SweepFacts facts_of(const SharedOptions& options, const std::vector<SweepEntry>& entries,
                    const SweepResult& result, const std::string& renderer) {
  const Scene& first = entries.front().scene;
  SweepFacts facts;
  facts.scene_name = std::filesystem::path(options.scene).stem().string();
  facts.title = first.title.empty() ? facts.scene_name : first.title;
  std::vector<std::string> names;
  for (const SweepEntry& entry : entries) names.push_back(entry.name);
  facts.changed = changed_things(first.variants, names);
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

}  // namespace

int run_sweep_sheet(const SharedOptions& options) {
  const SceneFile file = open_scene(options);
  const std::vector<SweepEntry> entries = entries_of(options, file, swept_names(options.vary, file.scene()));
  std::vector<std::string> outputs = options.outputs;
  if (outputs.empty()) outputs.push_back(std::filesystem::path(options.scene).stem().string() + "-sheet.png");
  for (const std::string& output : outputs) is_pdf(output);
  std::vector<std::string> all_outputs = outputs;
  if (!options.csv.empty()) {
    if (ending_of(options.csv, ".csv") != ".csv")
      throw Refusal(fmt::format("--csv '{}': the ending says the format; allowed: .csv", options.csv));
    all_outputs.push_back(options.csv);
  }
  check_outputs(options, all_outputs);
  const Typeface typeface;
  const HeadlessContext context(options.device);
  const ShaderLibrary shaders = shader_library(options);
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
  const Page page = lay_out(sweep_sheet(facts_of(options, entries, *result, context.renderer()),
                                        result->headlines, result->pictures),
                            typeface);
  const std::vector<PictureText> texts{{"Software", "Undercap " UNDERCAP_VERSION},
                                       {"Comment", "Rendered pictures, not photographs."},
                                       {"Scene", file.text()}};
  for (const std::string& output : outputs)
    write_file(output,
               is_pdf(output) ? page_pdf(page, result->pictures, typeface)
                              : encode_png(page_picture(page, result->pictures, typeface), texts),
               options.force);
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
