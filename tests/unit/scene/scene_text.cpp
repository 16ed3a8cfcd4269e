#include "tests/unit/scene/scene_text.h"

#include <fmt/format.h>

namespace undercap {
namespace {

std::string words(const std::string& value) { return "'" + value + "'"; }
std::string words(double value) { return fmt::format("{}", value); }
std::string words(bool value) { return value ? "true" : "false"; }
std::string words(int value) { return fmt::format("{}", value); }
std::string words(const glm::dvec3& value) { return fmt::format("({}, {}, {})", value.x, value.y, value.z); }
std::string words(const glm::vec3& value) { return fmt::format("({}, {}, {})", value.x, value.y, value.z); }
std::string words(const Address& value) { return value.text(); }
std::string words(const Target& value) {
  return std::visit([](const auto& one) { return words(one); }, value);
}
std::string words(const UtcTime& t) {
  return fmt::format("{}-{}-{} {}:{}:{}", t.year, t.month, t.day, t.hour, t.minute, t.second);
}
template <std::size_t size>
std::string words(const std::array<double, size>& value) {
  return fmt::format("[{}]", fmt::join(value, ", "));
}
std::string words(const KeyValue& value) {
  return std::visit([](const auto& one) { return words(one); }, value);
}
template <class Enum>
requires std::is_enum_v<Enum> std::string words(Enum value) {
  return fmt::format("{}", static_cast<int>(value));
}
template <class Value>
std::string words(const std::optional<Value>& value) {
  return value ? words(*value) : std::string("none");
}
template <class Value>
std::string words(const std::vector<Value>& all) {
  std::string text = "[";
  for (const Value& one : all) text += words(one) + ";";
  return text + "]";
}

class Lines {
 public:
  template <class... Values>
  void add(std::string_view name, const Values&... values) {
    text_ += name;
    ((text_ += ' ', text_ += words(values)), ...);
    text_ += '\n';
  }
  std::string take() { return std::move(text_); }

 private:
  std::string text_;
};

void add_camera(Lines& lines, const Camera& c) {
  lines.add("camera lens", c.format_mm, c.focal_length_mm, c.f_number, c.pupil_magnification,
            c.principal_separation_mm, c.transmission, c.blades, c.blade_curvature, c.blade_turn_deg);
  lines.add("camera filters", c.converter, c.nd_stops, c.polariser_deg, c.polariser_stops);
  lines.add("camera optics", c.minimum_focus_m, c.largest_magnification, c.rim_diameter_mm, c.rim_ahead_mm,
            c.fall_off, c.spherical_waves);
  lines.add("camera place", c.position_m, c.look_at, c.roll_deg, c.focus, c.focus_distance_m,
            c.magnification);
  lines.add("camera rest", c.circle_of_confusion_mm, c.coc_rule, c.front_diameter_mm, c.barrel_mm,
            c.front_ahead_mm, c.body_shade, c.support, c.lowest_axis_m, c.stabiliser_stops);
}

void add_lists(Lines& lines, const Scene& scene) {
  for (const Source& s : scene.sources)
    lines.add("source", s.name, s.on, s.position_m, s.aim, s.flux_lm, s.intensity_cd, s.beam_distance_m,
              s.power_pct, s.beam_deg, s.diameter_mm, s.cct_k, s.duv, s.kind, s.guide_number_m, s.on_s,
              s.field_deg, s.beam_file, s.roll_deg, s.size_mm, s.snoot_mm, s.gel_mired, s.diffuser,
              s.diffuser_transmission);
  for (const Prop& p : scene.props) {
    lines.add("prop", p.name, p.kind->name, p.at_m, p.at_z_m, p.turn_deg, p.tilt_deg, p.scale, p.visible,
              p.wet, p.on, p.within, p.without, p.sway_mm, p.sway_hz, p.sway_deg);
    if (const auto& s = p.scatter)
      lines.add("  scatter", s->count, s->per_m2, s->radius_m, s->seed, s->size_spread, s->spacing_mm);
    for (const auto& [key, value] : p.values) lines.add("  value", key, value);
    for (const auto& [part, m] : p.materials)
      lines.add("  material", part, m.reflectance, m.transmittance, m.roughness, m.emission_cd_m2, m.of,
                m.mirror, m.wet, m.thickness_mm, m.pattern);
  }
  for (const Meter& m : scene.meters)
    lines.add("meter", m.name, m.kind, m.position_m, m.normal, m.at, m.diameter_pct);
  for (const Variant& v : scene.variants)
    for (const auto& [key, value] : v.change) lines.add("variant", v.name, key, value);
}

}  // namespace

std::string scene_text(const Scene& s) {
  Lines lines;
  lines.add("top", s.title, s.note, s.seed);
  lines.add("place", s.place.latitude_deg, s.place.longitude_deg, s.place.time);
  lines.add("sky", s.sky.model, s.sky.type, s.sky.horizontal_lx, s.sky.cct_k);
  if (const auto& card = s.sky.grey_card) lines.add("grey card", card->f_number, card->shutter_s, card->iso);
  lines.add("canopy", s.canopy.leaf_area_index, s.canopy.clumping, s.canopy.leaf, s.canopy.height_m,
            s.canopy.gap_deg, s.canopy.seed);
  lines.add("sun", s.sun.on, s.sun.availability, s.sun.normal_lx, s.sun.turbidity, s.sun.azimuth_deg,
            s.sun.elevation_deg);
  add_camera(lines, s.camera);
  lines.add("sensor", s.sensor.pixel_pitch_um, s.sensor.read_noise_e, s.sensor.dark_current_e_s,
            s.sensor.prnu_pct);
  const Exposure& e = s.exposure;
  lines.add("exposure", e.iso, e.shutter_s, e.meter_on, e.compensation_stops, e.white_balance_k, e.tone,
            e.hand_rule, e.noise, e.diffraction);
  lines.add("stack", s.stack.overlap, s.stack.pause_s);
  const Taken& t = s.taken;
  lines.add("taken", t.f_number, t.shutter_s, t.iso, t.lamp, t.lamp_distance_m, t.time);
  lines.add("subject", s.subject.parts, s.subject.backdrop);
  lines.add("ground", s.ground.kind, s.ground.size_m, s.ground.reflectance, s.ground.relief_mm, s.ground.seed,
            s.ground.wet);
  add_lists(lines, s);
  return lines.take();
}

Scene scene_of(const std::string& text) { return SceneFile::from_text(text, "wood.toml").scene(); }

std::string refusal_of(const SceneFile& file) {
  try {
    static_cast<void>(file.scene());
  } catch (const Refusal& refusal) {
    return refusal.what();
  }
  return {};
}

std::string refusal_of(const std::string& text) {
  return refusal_of(SceneFile::from_text(text, "wood.toml"));
}

std::string refusal_of_set(SceneFile& file, const std::string& key, const std::string& value) {
  try {
    file.set(key, value, "--set");
  } catch (const Refusal& refusal) {
    return refusal.what();
  }
  return {};
}

const std::string small_scene = R"(undercap = 1

[[prop]]
name = "ball"
kind = "sphere"
diameter_mm = 40

[[prop]]
name = "card"
kind = "card"
at_m = [0.1, 0.2]

[[prop]]
name = "crate"
kind = "box"

[[source]]
name = "torch"
kind = "torch"
position_m = [0.1, -0.1, 0.1]
aim = "ball"
flux_lm = 120

[[source]]
name = "second"
kind = "torch"
position_m = [0.2, -0.1, 0.1]
aim = [0, 0, 0.02]
intensity_cd = 50

[[meter]]
name = "at the foot"
kind = "incident"
position_m = [0, 0, 0.03]

[[meter]]
name = "middle"
kind = "spot"
)";

}  // namespace undercap
