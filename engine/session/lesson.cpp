#include "engine/session/lesson.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>

#include "engine/core/errors.h"
#include "engine/scene/document.h"

namespace undercap {
namespace {

const std::vector<Lesson>& table() {
  static const std::vector<Lesson> lessons{
      {.name = "f_number",
       .title = "Which f-number holds the tuft?",
       .scene = "crowded_stair",
       .wish = {.vary = {"camera.f_number=4,8,16,32"}, .hold = {Held::brightness}},
       .box = std::array{0.5, 0.5},
       .question = "Stop down until all is sharp?",
       .why =
           "A smaller aperture deepens the sharp zone, and diffraction softens all of it: past the best "
           "f-number every place gets worse, the one in focus first. The deepest that one frame can hold at "
           "this scale is the same for every format and lens, so that beyond it only a stack helps.",
       .kitchen =
           "Lay a ruler away from you at 45 degrees, focus on its middle, and photograph it at each whole "
           "f-number from a tripod; look for the last sharp millimetre on both sides."},
      {.name = "scale",
       .title = "Twice as large, how much less depth?",
       .scene = "crowded_stair",
       .sets = {{"camera.f_number", "8"}},
       .wish = {.vary = {"camera.magnification=0.1,0.2,0.4,0.8"}, .hold = {Held::brightness}},
       .question = "Why is the sharp zone so thin when I am close?",
       .why =
           "Depth of field goes with the square of the framed width: twice the scale leaves about a quarter. "
           "The light on the sensor falls as well, by (1 + scale) squared, so that the same f-number works "
           "as "
           "a smaller one.",
       .kitchen =
           "Photograph a row of matches at an angle from 40 cm and from 20 cm at one f-number, and count "
           "the sharp ones."},
      {.name = "formats",
       .title = "f/8 here, f/16 there?",
       .scene = "crowded_stair",
       .sets = {{"camera.f_number", "8"}},
       .wish = {.vary = {"same=f_number,pupil,rule", "format=17.3x13,36x24"}, .match = "width"},
       .box = std::array{0.63, 0.58},
       .question = "Does a small format have more depth?",
       .why =
           "At the same marked f-number it does, less so the closer it is; with the same entrance pupil at "
           "the same place both formats take the same picture, blur, diffraction and light. The rule of "
           "multiplying focal length and f-number by the crop factor is exact only far away.",
       .kitchen = "With two cameras, or a zoom at two settings and a crop, frame one egg alike from the same "
                  "place, and set the same width of the opening (focal length over f-number)."},
      {.name = "backdrop",
       .title = "A longer lens, a calmer backdrop?",
       .scene = "amber_screen",
       .wish = {.vary = {"lens=35,60,100,180"}, .hold = {Held::framing, Held::brightness}},
       .rows = SweepRows::separation,
       .question = "Which focal length separates the mushroom from what stands behind it?",
       .why =
           "The longer lens sees less of the backdrop and draws its blur larger; at the same f-number the "
           "disc on the backdrop is the same for all, so that no detail goes that the short lens would keep. "
           "More distance to the backdrop, a wider aperture or something dark behind takes detail away.",
       .kitchen = "Put a cup before a bookshelf, keep the cup as large in the picture at both ends of your "
                  "zoom, and compare what stands behind it."},
      {.name = "near_lamp",
       .title = "Lamp near, lamp far",
       .scene = "umber_parasol",
       .sets = {{"sky.horizontal_lx", "250"},
                {"source.torch.flux_lm", "60"},
                {"source.torch.position_m", "[-0.14, -0.20, 0.09]"},
                {"source.torch.aim", "\"parasol/stem\""},
                {"exposure.meter_on", "\"parasol\""},
                {"camera.f_number", "8"}},
       .wish = {.vary = {"distance_cm.torch=12,24,48"}, .hold = {Held::brightness}},
       .question = "Where do I hold the lamp so that it lights the stem and not the wood?",
       .why = "Twice as far is a quarter of the light, two stops; 1.4 times as far is one. Near, the light "
              "falls "
              "off before it reaches the backdrop; far, subject and backdrop get nearly the same.",
       .kitchen =
           "Hold a card with one square, then four, then nine in a torch's beam at one, two, three hand "
           "widths: the same light, thinner."},
      {.name = "soft_light",
       .title = "Hard light, soft light",
       .scene = "umber_parasol",
       .sets = {{"sky.horizontal_lx", "150"},
                {"source.torch.position_m", "[-0.16, -0.10, 0.20]"},
                {"source.torch.aim", "\"parasol/cap\""},
                {"source.torch.beam_deg", "100"},
                {"camera.f_number", "16"}},
       .wish = {.vary = {"source.torch.diameter_mm=5,40,160"}, .hold = {Held::brightness}},
       .box = std::array{0.80, 0.68},
       .question = "How do I soften such a small lamp?",
       .why =
           "A shadow's edge is as wide as the lamp is seen from there: the gap behind what casts it, times "
           "the lamp's width over its distance. A diffuser softens only by making the lamp larger, so it "
           "must "
           "be large, and near.",
       .kitchen = "Put an egg under a bare torch, then lay tracing paper over a jam-jar ring in front of the "
                  "torch, nearer and farther, and watch the edge of the shadow."},
      {.name = "stack",
       .title = "One frame or a stack?",
       .scene = "crowded_stair",
       .question = "When must I stack, and how many frames?",
       .why =
           "No f-number holds this tuft: the best single frame spreads its blur over all of it. Frames whose "
           "sharp zones overlap hold it all, if for so long nothing moves.",
       .kitchen = "Photograph a pine cone from its tip to its base in steps as large as the plan says, and "
                  "merge."},
      {.name = "litter",
       .title = "The litter is the first reflector",
       .scene = "umber_parasol",
       .sets = {{"source.torch.on", "false"}, {"exposure.meter_on", "\"parasol/cap\""}},
       .variants = {"name = \"dark litter\"\nchange = { \"ground.reflectance\" = [0.068, 0.046, 0.029], "
                    "\"prop.leaves.material.leaf.reflectance\" = [0.068, 0.046, 0.029], "
                    "\"prop.leaves.material.leaf.transmittance\" = [0.027, 0.018, 0.012] }\n",
                    "name = \"brown litter\"\nchange = { \"ground.reflectance\" = [0.136, 0.093, 0.058], "
                    "\"prop.leaves.material.leaf.reflectance\" = [0.136, 0.093, 0.058], "
                    "\"prop.leaves.material.leaf.transmittance\" = [0.054, 0.037, 0.023] }\n",
                    "name = \"pale litter\"\nchange = { \"ground.reflectance\" = [0.272, 0.186, 0.115], "
                    "\"prop.leaves.material.leaf.reflectance\" = [0.272, 0.186, 0.115], "
                    "\"prop.leaves.material.leaf.transmittance\" = [0.109, 0.074, 0.046] }\n"},
       .wish = {.vary = {"variant=dark litter,brown litter,pale litter"}},
       .box = std::array{0.5, 0.5},
       .question = "Why are the gills black when the cap is fine?",
       .why = "The underside of a cap sees little but the litter: it gets what that sends up. Twice the "
              "litter's reflectance is up to a stop under the cap, before any lamp or card.",
       .kitchen =
           "Stand a mushroom or a cork with a coin on it on black, grey and white card by a window, and "
           "read the shade under the coin with a spot meter."}};
  return lessons;
}

// A number that reads back as itself.
std::string exact_text(double value) { return fmt::format("{}", value); }
std::string exact_text(const glm::dvec3& p) { return fmt::format("[{}, {}, {}]", p.x, p.y, p.z); }

// As a variant may be called: "f/4" becomes "f-4".
std::string variant_name(std::string name) {
  for (char& c : name)
    if (!std::isalnum(static_cast<unsigned char>(c)) && c != ' ' && c != '_' && c != '-') c = '-';
  return name;
}

// The camera of a scene, told by points and lengths.
std::vector<Edit> camera_edits(const Scene& scene) {
  const Camera& camera = scene.camera;
  std::vector<Edit> edits{
      {"camera.format_mm", fmt::format("[{}, {}]", camera.format_mm[0], camera.format_mm[1])},
      {"camera.focal_length_mm", exact_text(camera.focal_length_mm)},
      {"camera.f_number", exact_text(camera.f_number)},
      {"camera.position_m", exact_text(camera.position_m)},
      {"exposure.iso", exact_text(scene.exposure.iso)}};
  const auto add_target = [&](const char* key, const std::optional<Target>& target) {
    if (!target) return;
    if (const auto* point = std::get_if<glm::dvec3>(&*target))
      edits.push_back({key, exact_text(*point)});
    else
      edits.push_back({key, toml_quoted(std::get<Address>(*target).text())});
  };
  add_target("camera.look_at", camera.look_at);
  if (camera.magnification) edits.push_back({"camera.magnification", exact_text(*camera.magnification)});
  if (camera.focus_distance_m)
    edits.push_back({"camera.focus_distance_m", exact_text(*camera.focus_distance_m)});
  add_target("camera.focus", camera.focus);
  if (!camera.magnification && !camera.focus_distance_m && !camera.focus)
    add_target("camera.focus", camera.look_at);
  return edits;
}

}  // namespace

std::span<const Lesson> lessons() { return table(); }

const Lesson& lesson_of(const std::string& name) {
  std::vector<std::string> known;
  for (const Lesson& lesson : table()) {
    if (lesson.name == name) return lesson;
    known.emplace_back(lesson.name);
  }
  throw Refusal(fmt::format("there is no lesson '{}'; allowed: {}", name, fmt::join(known, ", ")));
}

SceneFile lesson_scene(const Lesson& lesson, const SceneFile& bundled) {
  SceneFile file = bundled;
  const std::string origin = fmt::format("lesson {}", lesson.name);
  for (const auto& [key, value] : lesson.sets) file.set(key, value, origin);
  for (const char* block : lesson.variants) file.add_block(fmt::format("[[variant]]\n{}", block), origin);
  return file;
}

std::vector<std::string> lesson_lines(const Lesson& lesson) {
  return {lesson.question, lesson.why, fmt::format("At the kitchen table: {}", lesson.kitchen)};
}

SceneFile lesson_in_variants(const Lesson& lesson, const SceneFile& scene) {
  if (lesson.wish.vary.empty()) return scene;
  const SweepPlan plan = sweep_plan(lesson.wish, scene.scene());
  std::vector<std::string> notes;
  const OpenVariant open = [&](const std::string& variant) {
    SceneFile file = scene;
    if (!variant.empty()) file.use_variant(variant);
    return file;
  };
  constexpr int any_side = 480;
  const std::vector<SweepEntry> entries = sweep_entries(open, plan, any_side, std::nullopt, notes);
  SceneFile file = scene;
  for (const Variant& variant : scene.scene().variants) file.remove_block("variant", variant.name, "lesson");
  // Where a camera was worked out, its keys say less than it does.
  const bool camera_moved =
      plan.has(SweepAxis::Of::format) || plan.holds(Held::framing) || plan.holds(Held::viewpoint);
  for (const SweepEntry& entry : entries) {
    std::string change;
    if (camera_moved)
      for (const auto& [key, value] : camera_edits(entry.scene))
        change += fmt::format("{} = {}\n", toml_quoted(key), value);
    for (const auto& [key, value] : entry.edits)
      if (!camera_moved || !key.starts_with("camera."))
        change += fmt::format("{} = {}\n", toml_quoted(key), value);
    file.add_block(fmt::format("[[variant]]\nname = {}\n[variant.change]\n{}",
                               toml_quoted(variant_name(entry.name)), change),
                   "lesson");
  }
  return file;
}

}  // namespace undercap
