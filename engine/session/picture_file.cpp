#include "engine/session/picture_file.h"

#include <fmt/format.h>

#include "engine/image/exr.h"
#include "engine/world/mix.h"

namespace undercap {
namespace {

std::string unit_of(const LightGroup& group) {
  if (group.kind == LightGroup::Kind::glow) return "cd/m2";
  if (group.kind == LightGroup::Kind::canopy) return "cd/m2 for 1 lx of sun";
  if (group.kind != LightGroup::Kind::lamp) return "cd/m2 for 1 lx";
  return group.flash ? "cd s/m2 for 1 cd s at the peak" : "cd/m2 for 1 cd at the peak";
}

}  // namespace

std::vector<PictureText> picture_texts(const PictureFacts& facts, const Development& development) {
  return {{"Software", facts.program},
          {"Comment",
           fmt::format(
               "A rendered picture, not a photograph. {} samples a pixel, {}; shutter {:.4g} s, ISO {:g}.",
               facts.samples, facts.renderer, development.shutter.value(), development.iso)},
          {"Scene", facts.scene}};
}

std::vector<PictureText> png_texts(std::vector<PictureText> texts, bool filtered) {
  if (!filtered) return texts;
  std::vector<PictureText> marked{{"Filtered", "Noise smoothed for viewing; take no numbers from it."}};
  marked.insert(marked.end(), texts.begin(), texts.end());
  return marked;
}

std::string picture_exr(const World& world, const Picture& mix, const std::vector<std::vector<float>>& groups,
                        Duration shutter, const std::vector<PictureText>& texts) {
  std::vector<ExrPart> parts;
  parts.push_back({"mix", "cd/m2", texts, mix});
  const Mix weights = mix_over(world, shutter);
  for (std::size_t g = 0; g < groups.size(); ++g) {
    const std::string weight = fmt::format("{} {} {}", weights[g].x, weights[g].y, weights[g].z);
    parts.push_back({world.groups[g].name,
                     unit_of(world.groups[g]),
                     {{"weight", weight}},
                     Picture{mix.width, mix.height, groups[g]}});
  }
  return encode_exr(parts);
}

std::vector<PictureText> sheet_texts(const std::string& version, const std::string& scene_text) {
  return {{"Software", fmt::format("Undercap {}", version)},
          {"Comment", "Rendered pictures, not photographs."},
          {"Scene", scene_text}};
}

}  // namespace undercap
