#include <fmt/format.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/cli/common.h"
#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/image/png.h"
#include "engine/optics/third_stops.h"
#include "engine/report/paint.h"
#include "engine/report/paint_drawing.h"
#include "engine/report/stack_sheet.h"
#include "engine/session/stack.h"

namespace undercap {
namespace {

// The sheets to write; every output is looked at before the long work starts.
std::vector<std::string> sheets_of(const SharedOptions& options) {
  if (options.noise_pct || options.seconds)
    throw Refusal("stack takes its samples by --quality: leave --noise and --seconds out");
  std::error_code none;
  if (!options.frames_folder.empty() && !std::filesystem::is_directory(options.frames_folder, none))
    throw Refusal(fmt::format("--frames {}: there is no such folder; make it first", options.frames_folder));
  std::vector<std::string> sheets = options.outputs;
  if (sheets.empty()) sheets.push_back(std::filesystem::path(options.scene).stem().string() + "-stack.png");
  for (const std::string& sheet : sheets) format_of("-o", sheet, {".png", ".pdf"});
  std::vector<std::string> all = sheets;
  if (!options.merged.empty()) {
    format_of("--merged", options.merged, {".png"});
    all.push_back(options.merged);
  }
  if (!options.plot.empty()) {
    format_of("--plot", options.plot, {".pdf", ".svg", ".png"});
    all.push_back(options.plot);
  }
  check_outputs(options, all);
  return sheets;
}

std::string frame_name(const std::string& folder, std::size_t i) {
  return (std::filesystem::path(folder) / fmt::format("frame-{:02}.png", i + 1)).string();
}

void check_folder(const SharedOptions& options, std::size_t frames) {
  if (options.frames_folder.empty()) return;
  std::vector<std::string> files;
  for (std::size_t i = 0; i < frames; ++i) files.push_back(frame_name(options.frames_folder, i));
  check_outputs(options, files);
}

nlohmann::ordered_json frames_json(const StackPlan& plan, const World& world) {
  nlohmann::ordered_json frames = nlohmann::ordered_json::array();
  const Length origin = world.camera.pupil_distance;
  for (const StackFrame& frame : plan.frames)
    frames.push_back({{"rail_mm", frame.rail / 1_mm},
                      {"pupil_distance_mm", (frame.focus - frame.rail) / 1_mm},
                      {"plane_mm", (frame.focus - origin) / 1_mm},
                      {"near_mm", (frame.near - origin) / 1_mm},
                      {"far_mm", frame.far ? nlohmann::ordered_json((*frame.far - origin) / 1_mm)
                                           : nlohmann::ordered_json(nullptr)},
                      {"magnification", frame.magnification}});
  return frames;
}

void print_plan(const SharedOptions& options, const Session& session, const StackPlan& plan) {
  const std::vector<std::string> words = stack_words(session.world(), plan, session.exposure(), options.rail);
  if (options.json) {
    const nlohmann::ordered_json root{
        {"undercap", UNDERCAP_VERSION},
        {"frames", frames_json(plan, session.world())},
        {"frames_at_constant_magnification", plan.frames_at_constant_magnification.value_or(0)},
        {"seconds", stack_time(session.world(), plan, session.exposure().development.shutter).value()},
        {"notes", words}};
    fmt::print("{}\n", root.dump(2));
    return;
  }
  const Length origin = session.world().camera.pupil_distance;
  fmt::print(
      "mm behind the plane in focus of the scene\n"
      "frame   {}   sharp from        to   scale\n",
      options.rail ? "camera forward" : "plane in focus");
  for (std::size_t i = 0; i < plan.frames.size(); ++i) {
    const StackFrame& frame = plan.frames[i];
    fmt::print("{:5}   {:14.2f}   {:10.2f} {:>9}   {:.4g}\n", i + 1,
               (options.rail ? frame.rail : frame.focus - origin) / 1_mm, (frame.near - origin) / 1_mm,
               frame.far ? fmt::format("{:.2f}", (*frame.far - origin) / 1_mm) : "infinity",
               frame.magnification);
  }
  for (const std::string& line : words) print_hanging("", line);
}

}  // namespace

int run_stack(const SharedOptions& options) { return make_stack(options, {}, {}); }

int make_stack(const SharedOptions& options, const std::string& title,
               const std::vector<std::string>& lines) {
  const SceneFile file = open_scene(options);
  const Scene scene = file.scene();
  if (options.plan_only && (!options.outputs.empty() || !options.merged.empty() || !options.plot.empty() ||
                            !options.frames_folder.empty()))
    throw Refusal("--plan renders and writes nothing: leave it out, or -o, --merged, --plot and --frames");
  const std::vector<std::string> sheets = options.plan_only ? std::vector<std::string>{} : sheets_of(options);
  const Size size = picture_size(options, scene, 480);
  const HeadlessContext context(options.device);
  const ShaderLibrary shaders = shader_library(options);
  Session session(shaders, scene, options.quality);
  tell(options, fmt::format("{}: planning a stack on {}", scene.file, context.renderer()));
  {
    ProgressBar bar(options, "looking at the subject");
    if (!session.survey(options.quality, {}, bar.callback(), Session::For::picture)) return exit_interrupted;
  }
  const StackPlan plan = plan_of(session, options.rail);
  print_plan(options, session, plan);
  if (options.plan_only) return exit_done;
  check_folder(options, plan.frames.size());
  const Typeface typeface;
  std::optional<StackResult> result;
  {
    ProgressBar bar(options, fmt::format("{} frames and two single pictures", plan.frames.size()));
    result = render_stack(shaders, session, plan,
                          {.width = size.width,
                           .height = size.height,
                           .quality = options.quality,
                           .rail = options.rail,
                           .filtered = options.filtered,
                           .whole_frames = !options.frames_folder.empty()},
                          bar.callback());
  }
  if (!result) {
    tell(options, "stopped before every frame was there; nothing is written");
    return exit_interrupted;
  }
  AxisPlot plot = stack_plot(session, plan);
  plot.width_mm = 190;
  plot.height_mm = 80;
  const Picture8 figure = drawing_picture(plot_drawing(plot), 12, typeface);
  const std::vector<Picture8> pictures{result->as_set, result->best, result->merged, result->origin, figure};
  const Page page =
      lay_out(stack_sheet(session.world(), plan, session.exposure(), options.rail,
                          {.range = *session.needed_depth(),
                           .samples = result->samples,
                           .made_by = fmt::format("Undercap {}, {}", UNDERCAP_VERSION, context.renderer()),
                           .width = size.width,
                           .height = size.height,
                           .title = title,
                           .lines = lines,
                           .figure_aspect = plot.height_mm / plot.width_mm}),
              typeface);
  std::vector<std::string> written = sheets;
  for (const std::string& sheet : sheets) write_page(options, sheet, page, pictures, typeface, file.text());
  const std::vector<PictureText> texts = sheet_texts(file.text());
  if (!options.merged.empty()) {
    write_file(options.merged, encode_png(result->merged, texts), options.force);
    written.push_back(options.merged);
  }
  if (!options.plot.empty()) {
    write_drawing(plot_sheet(plot, stack_words(session.world(), plan, session.exposure(), options.rail)),
                  options.plot, options.force);
    written.push_back(options.plot);
  }
  for (std::size_t i = 0; i < result->frames.size(); ++i) {
    const std::string name = frame_name(options.frames_folder, i);
    write_file(name, encode_png(result->frames[i], texts), options.force);
    written.push_back(name);
  }
  for (const std::string& note : session.notes()) tell(options, "note: " + note);
  tell(options, fmt::format("{} frames took {:.1f} s and {:.0f} % of the samples of as many whole pictures",
                            plan.frames.size(), result->frames_s, 100 * result->sampled_share));
  for (const std::string& name : written) tell(options, "wrote " + name);
  return exit_done;
}

}  // namespace undercap
