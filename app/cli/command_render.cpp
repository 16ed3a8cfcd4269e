#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/cli/common.h"
#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/image/exr.h"
#include "engine/image/png.h"

namespace undercap {
namespace {

enum class Format { png, exr };

Format format_of(const std::string& output) {
  const std::string ending = ending_of(output, ".png");
  if (ending == ".png") return Format::png;
  if (ending == ".exr") return Format::exr;
  throw Refusal(fmt::format("-o '{}': the ending says the format; allowed: .png, .exr", output));
}

// "64", or "32 to 512" where tiles stopped at counts of their own.
std::string samples_text(const PictureResult& picture) {
  return picture.samples == picture.most_samples
             ? fmt::format("{}", picture.samples)
             : fmt::format("{} to {}", picture.samples, picture.most_samples);
}

std::vector<PictureText> texts_of(const SceneFile& file, const std::string& renderer,
                                  const PictureResult& picture, const Development& development) {
  return {{"Software", "Undercap " UNDERCAP_VERSION},
          {"Comment",
           fmt::format(
               "A rendered picture, not a photograph. {} samples a pixel, {}; shutter {:.4g} s, ISO {:g}.",
               samples_text(picture), renderer, development.shutter.value(), development.iso)},
          {"Scene", file.text()}};
}

// The texts of a PNG: the mark of a filtered one stands first among them.
std::vector<PictureText> png_texts(std::vector<PictureText> texts, bool filtered) {
  if (filtered)
    texts.insert(texts.begin(), {"Filtered", "Noise smoothed for viewing; take no numbers from it."});
  return texts;
}

const char* unit_of(const LightGroup& group) {
  switch (group.kind) {
    case LightGroup::Kind::lamp:
      return group.flash ? "cd s/m2 for 1 cd s at the peak" : "cd/m2 for 1 cd at the peak";
    case LightGroup::Kind::glow:
      return "cd/m2";
    case LightGroup::Kind::canopy:
      return "cd/m2 for 1 lx of sun";
    default:
      return "cd/m2 for 1 lx";
  }
}

// The mix is the mean over the exposure: the sum of the groups times their weights.
std::string exr_bytes(const World& world, PictureResult& picture, Duration shutter,
                      const std::vector<PictureText>& texts) {
  const auto wrap = [&](std::vector<float>& rgb) {
    return Picture{picture.mix.width, picture.mix.height, std::move(rgb)};
  };
  std::vector<ExrPart> parts;
  parts.push_back({"mix", "cd/m2", texts, picture.mix});
  const Mix mix = mix_over(world, shutter);
  for (std::size_t g = 0; g < picture.groups.size(); ++g) {
    const glm::dvec3 weight = mix[g];
    parts.push_back({world.groups[g].name,
                     unit_of(world.groups[g]),
                     {{"weight", fmt::format("{} {} {}", weight.x, weight.y, weight.z)}},
                     wrap(picture.groups[g])});
  }
  return encode_exr(parts);
}

}  // namespace

int run_render(const SharedOptions& options) {
  const SceneFile file = open_scene(options);
  const Scene scene = file.scene();
  std::vector<std::string> outputs = options.outputs;
  if (outputs.empty()) outputs.push_back(std::filesystem::path(options.scene).stem().string() + ".png");
  bool wants_exr = false;
  for (const std::string& output : outputs) wants_exr = format_of(output) == Format::exr || wants_exr;
  if (options.filtered && std::all_of(outputs.begin(), outputs.end(), [](const std::string& output) {
        return format_of(output) == Format::exr;
      }))
    throw Refusal(
        "--filtered is for a .png; an .exr is always raw: leave --filtered out, or add -o NAME.png");
  check_outputs(options, outputs);
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
  tell(options, fmt::format("exposed: f/{:g}, {}, ISO {:g}", scene.camera.f_number,
                            shutter_text(development.shutter.value()), development.iso));
  PictureRequest request{.width = size.width,
                         .height = size.height,
                         .samples = picture_samples(options.quality),
                         .noise_pct = options.noise_pct,
                         .seconds = options.seconds,
                         .keep_groups = wants_exr,
                         .filtered = options.filtered};
  PictureResult picture;
  {
    ProgressBar bar(options, "rendering");
    picture = session.picture(request, bar.callback());
  }
  if (!picture.whole) {
    tell(options, "stopped before the whole picture was reached; nothing is written");
    return exit_interrupted;
  }
  const auto texts = texts_of(file, context.renderer(), picture, development);
  for (const std::string& output : outputs)
    if (format_of(output) == Format::png)
      write_file(output, encode_png(picture.picture, png_texts(texts, picture.filtered)), options.force);
  for (const std::string& output : outputs)
    if (format_of(output) == Format::exr)
      write_file(output, exr_bytes(session.world(), picture, development.shutter, texts), options.force);
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
                     picture.filtered && format_of(output) == Format::png ? ", filtered" : "",
                     samples_text(picture), picture.noise_pct,
                     picture.filtered && format_of(output) == Format::png ? " before the filter" : "",
                     picture.seconds, picture.complete ? "" : "; stopped early"));
  return picture.complete ? exit_done : exit_interrupted;
}

}  // namespace undercap
