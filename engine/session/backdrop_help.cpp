#include "engine/session/backdrop_help.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <glm/gtc/matrix_transform.hpp>

#include "engine/optics/lens.h"
#include "engine/session/sweep_scenes.h"

namespace undercap {
namespace {

constexpr double dark_behind_m = 0.25, dark_margin = 1.3;
// Wet dark bark (from memory; a guess as all wild surfaces are).
const glm::vec3 dark_wood{0.055f, 0.043f, 0.030f};
constexpr double turned_deg = 15;

struct Try {
  std::string words;
  Scene scene;
};

class Tries {
 public:
  explicit Tries(const Scene& scene) : scene_(scene), world_(build_world(scene, {.draft = true})) {
    held_ = held_camera(world_);
    add("as set", scene);
    dark_behind();
    farther_backdrop();
    axis(0.5);
    axis(1.6);
    wider();
    longer();
    turned_lamp();
  }
  std::vector<Try> take() { return std::move(tries_); }

 private:
  void add(const std::string& words, const Scene& scene) { tries_.push_back({words, scene}); }

  // An upright card with the reflectance of dark bark, a little larger than the frame is there.
  void dark_behind() {
    const CameraRig& rig = world_.camera;
    const Length distance = rig.pupil_distance + Length(dark_behind_m);
    const double width_m =
        dark_margin * backdrop_width(rig.lens, rig.magnification, distance, rig.width).value();
    const double height_m = width_m * (rig.height / rig.width);
    glm::dvec3 level(rig.forward.x, rig.forward.y, 0);
    if (glm::length(level) < 1e-6) return;
    level = glm::normalize(level);
    const glm::dvec3 at = held_.middle_m + level * dark_behind_m;
    const SceneFile file = SceneFile::from_text(
        fmt::format("undercap = 1\n[[prop]]\nname = \"dark wood behind\"\nkind = \"card\"\n"
                    "at_m = [{}, {}, {}]\nsize_mm = [{:.0f}, {:.0f}]\nnormal = [{}, {}, 0]\n"
                    "[prop.material.surface]\nreflectance = [{}, {}, {}]\n",
                    at.x, at.y, at.z, 1e3 * width_m, 1e3 * height_m, -level.x, -level.y, dark_wood.x,
                    dark_wood.y, dark_wood.z),
        "help.toml");
    Scene scene = scene_;
    scene.props.push_back(file.scene().props.front());
    if (!scene.subject.backdrop.empty())
      scene.subject.backdrop.push_back({Address::Of::prop, scene.props.back().name, 0, {}});
    add(fmt::format("a dark piece of wood, {:.0f} x {:.0f} cm, {:.0f} cm behind", 100 * width_m,
                    100 * height_m, 100 * dark_behind_m),
        scene);
  }

  // Whatever stands behind the plane in focus and is neither subject nor grown on something, twice as far.
  void farther_backdrop() {
    const glm::dvec3 forward = world_.camera.forward;
    Scene scene = scene_;
    bool any = false;
    for (Prop& prop : scene.props) {
      const bool is_subject =
          std::any_of(world_.subject.begin(), world_.subject.end(),
                      [&](std::uint32_t part) { return world_.parts[part].prop == prop.name; });
      const glm::dvec3 at(prop.at_m[0], prop.at_m[1], held_.middle_m.z);
      const double behind = glm::dot(at - held_.middle_m, forward);
      if (is_subject || !prop.on.empty() || behind < 0.1) continue;
      prop.at_m[0] += behind * forward.x;
      prop.at_m[1] += behind * forward.y;
      any = true;
    }
    if (any) add("twice the distance to all that stands behind", scene);
  }

  void axis(double times) {
    const double height_m = times * world_.camera.axis_height.value();
    const Camera& camera = scene_.camera;
    if (height_m < camera.lowest_axis_m) return;
    Scene scene = scene_;
    try {
      set_axis_height(scene, world_, held_, height_m, "axis");
    } catch (const Refusal&) {
      return;  // not from there
    }
    add(fmt::format("the lens axis at {:.0f} cm in place of {:.0f} cm", 100 * height_m,
                    100 * height_m / times),
        scene);
  }

  void wider() {
    Scene scene = scene_;
    scene.camera.f_number /= std::sqrt(2.0);
    if (scene.camera.f_number < 1.4) return;
    add(fmt::format("one stop wider, f/{:.2g}", scene.camera.f_number), scene);
  }

  void longer() {
    Scene scene = scene_;
    scene.camera.focal_length_mm *= 1.5;
    hold_framing(scene, held_);
    add(fmt::format("a lens of {:.0f} mm at the same framing", scene.camera.focal_length_mm), scene);
  }

  // The first lamp that is on, its beam turned about the upright toward the camera's side of its aim.
  void turned_lamp() {
    Scene scene = scene_;
    for (std::size_t i = 0; i < scene.sources.size(); ++i) {
      Source& source = scene.sources[i];
      if (!source.on || source.snoot_mm) continue;
      const Lamp& lamp = world_.lamps[i];
      const glm::dvec3 back(-held_.forward.x, -held_.forward.y, 0);
      const double turn = glm::cross(lamp.direction, back).z > 0 ? turned_deg : -turned_deg;
      const glm::dvec3 direction =
          glm::dvec3(glm::rotate(glm::dmat4(1), glm::radians(turn), glm::dvec3(0, 0, 1)) *
                     glm::dvec4(lamp.direction, 0));
      source.aim = source.position_m + direction * glm::distance(source.position_m, held_.middle_m);
      add(fmt::format("{} turned {:g}\xc2\xb0 toward the camera, so that the beam's edge lights the subject",
                      source.name, turned_deg),
          scene);
      return;
    }
  }

  const Scene& scene_;
  World world_;
  HeldCamera held_;
  std::vector<Try> tries_;
};

std::optional<Estimate> figure(const Headline& headline, const std::string& name) {
  const Reading* reading = reading_of(headline, name);
  const double* value = number_of(headline, name);
  if (!value) return std::nullopt;
  return Estimate{.value = *value, .se = reading->se.value_or(0)};
}

double size_of(const BackdropHelp& help) { return help.rim_stops ? std::abs(help.rim_stops->value) : 0; }

std::string gain_words(const std::optional<Estimate>& before, const std::optional<Estimate>& after,
                       const char* what, const char* unit, int digits) {
  if (!before || !after) return fmt::format("{} not told", what);
  return fmt::format("{} {:.{}f} to {:.{}f} {} (\xc2\xb1{:.{}f})", what, before->value, digits, after->value,
                     digits, unit, std::hypot(before->se, after->se), digits);
}

}  // namespace

std::optional<BackdropHelps> what_helps_most(const ShaderLibrary& shaders, const Scene& scene,
                                             const Progress& progress) {
  const std::vector<Try> tries = Tries(scene).take();
  BackdropHelps helps;
  for (std::size_t i = 0; i < tries.size(); ++i) {
    const auto piece = [&](double from, double to) {
      return [&progress, from, to, i, count = tries.size()](double done) {
        return progress((static_cast<double>(i) + from + (to - from) * done) / static_cast<double>(count));
      };
    };
    Session session(shaders, tries[i].scene, Quality::draft);
    if (!session.survey(Quality::draft, {}, piece(0, 0.3), Session::For::picture)) return std::nullopt;
    if (!session.separation(Quality::draft, piece(0.3, 1))) return std::nullopt;
    const Headline headline = session.headline(tries[i].words);
    const BackdropHelp help{tries[i].words, figure(headline, "backdrop.rim_step_stops"),
                            figure(headline, "backdrop.texture_8_32_pct")};
    if (i == 0)
      helps.as_set = help;
    else
      helps.tried.push_back(help);
  }
  std::stable_sort(helps.tried.begin(), helps.tried.end(),
                   [](const BackdropHelp& a, const BackdropHelp& b) { return size_of(a) > size_of(b); });
  return helps;
}

std::vector<std::string> help_words(const BackdropHelps& helps) {
  std::vector<std::string> words;
  for (const BackdropHelp& help : helps.tried)
    words.push_back(fmt::format(
        "{}: {}; {}", help.words, gain_words(helps.as_set.rim_stops, help.rim_stops, "rim", "stops", 2),
        gain_words(helps.as_set.texture_pct, help.texture_pct, "texture of 8 to 32 cycles", "%", 1)));
  return words;
}

}  // namespace undercap
