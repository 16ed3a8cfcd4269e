#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/cli/common.h"
#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/image/png.h"
#include "engine/optics/third_stops.h"
#include "engine/session/moving_picture.h"
#include "engine/session/overlay_legend.h"
#include "engine/session/picture_file.h"
#include "engine/world/sway.h"

namespace undercap {
namespace {

bool is_exr(const std::string& output) { return format_of("-o", output, {".png", ".exr"}) == ".exr"; }

// "64", or "32 to 512" where tiles stopped at counts of their own.
std::string samples_text(const PictureResult& picture) {
  return picture.samples == picture.most_samples
             ? fmt::format("{}", picture.samples)
             : fmt::format("{} to {}", picture.samples, picture.most_samples);
}

}  // namespace

int run_render(const SharedOptions& options) {
  const SceneFile file = open_scene(options);
  const Scene scene = file.scene();
  std::vector<std::string> outputs = options.outputs;
  if (outputs.empty()) outputs.push_back(std::filesystem::path(options.scene).stem().string() + ".png");
  bool wants_exr = false;
  for (const std::string& output : outputs) wants_exr = is_exr(output) || wants_exr;
  if (options.filtered &&
      std::all_of(outputs.begin(), outputs.end(), [](const std::string& output) { return is_exr(output); }))
    throw Refusal(
        "--filtered is for a .png; an .exr is always raw: leave --filtered out, or add -o NAME.png");
  if (options.overlay != Overlay::Kind::none && wants_exr)
    throw Refusal(
        "--overlay is for a .png; an .exr holds the light alone: give -o NAME.png, or leave it out");
  check_outputs(options, outputs);
  std::optional<Typeface> typeface;  // a plain picture needs no letters
  if (options.overlay != Overlay::Kind::none) typeface.emplace();
  const Size size = picture_size(options, scene, 960);
  const HeadlessContext context(options.device);
  const ShaderLibrary shaders = shader_library(options);
  Session session(shaders, scene, options.quality);
  tell(options,
       fmt::format("{}: {} x {} pixels on {}", scene.file, size.width, size.height, context.renderer()));
  if (options.verbose)
    tell(options,
         fmt::format("{} triangles; world {:.2f} s, device {:.2f} s", session.world().triangle.size(),
                     session.times().world_s, session.times().device_s));
  {
    ProgressBar bar(options, "exposing");
    if (!session.survey(options.quality, {}, bar.callback(), Session::For::picture)) return exit_interrupted;
  }
  const Development& development = session.exposure().development;
  tell(options, fmt::format("exposed: {}, {}, {}", f_number_label(session.world().camera.lens.f_number),
                            shutter_text(development.shutter.value()), iso_label(development.iso)));
  PictureRequest request{.width = size.width,
                         .height = size.height,
                         .samples = picture_samples(options.quality),
                         .noise_pct = options.noise_pct,
                         .seconds = options.seconds,
                         .keep_groups = wants_exr,
                         .filtered = options.filtered,
                         .overlay = options.overlay};
  PictureResult picture;
  {
    ProgressBar bar(options, "rendering");
    picture = anything_sways(scene) ? render_moving_picture(shaders, session, request, bar.callback())
                                    : session.picture(request, bar.callback());
  }
  if (!picture.whole) {
    tell(options, "stopped before the whole picture was reached; nothing is written");
    return exit_interrupted;
  }
  if (typeface)
    picture.picture = with_legend(picture.picture, options.overlay, circle_of(session.world()), *typeface);
  const auto texts = picture_texts(
      {"Undercap " UNDERCAP_VERSION, context.renderer(), samples_text(picture), file.text()}, development);
  for (const std::string& output : outputs)
    if (!is_exr(output))
      write_file(output, encode_png(picture.picture, png_texts(texts, picture.filtered)), options.force);
  for (const std::string& output : outputs)
    if (is_exr(output))
      write_file(output,
                 picture_exr(session.world(), picture.mix, picture.groups, development.shutter, texts),
                 options.force);
  for (const std::string& note : session.notes()) tell(options, "note: " + note);
  if (options.json) {
    const nlohmann::ordered_json report{{"undercap", UNDERCAP_VERSION},
                                        {"renderer", context.renderer()},
                                        {"files", outputs},
                                        {"width", size.width},
                                        {"height", size.height},
                                        {"samples", picture.samples},
                                        {"most_samples", picture.most_samples},
                                        {"noise_pct", picture.noise_pct},
                                        {"filtered", picture.filtered},
                                        {"seconds", picture.seconds},
                                        {"shutter_s", development.shutter.value()},
                                        {"complete", picture.complete}};
    fmt::print("{}\n", report.dump(2));
  }
  for (const std::string& output : outputs)
    tell(options,
         fmt::format("wrote {}{}: {} samples a pixel, noise {:.1f} %{}, {:.1f} s{}", output,
                     picture.filtered && !is_exr(output) ? ", filtered" : "", samples_text(picture),
                     picture.noise_pct, picture.filtered && !is_exr(output) ? " before the filter" : "",
                     picture.seconds, picture.complete ? "" : "; stopped early"));
  return picture.complete ? exit_done : exit_interrupted;
}

}  // namespace undercap
