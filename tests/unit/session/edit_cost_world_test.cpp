// The classes of edits against the world that is built: what an edit says stays, stays.
#include <fmt/format.h>

#include <map>
#include <set>

#include "engine/scene/keys.h"
#include "engine/session/edit_cost.h"
#include "engine/world/world.h"
#include "tests/unit/session/set_up.h"

namespace undercap {
namespace {

// Another value for every key that a file may say, on top of the small scene; several lines where one key
// needs company before it.
const std::map<std::string, std::vector<std::pair<std::string, std::string>>> other_values = {
    {"place.latitude_deg", {{"place.latitude_deg", "40"}}},
    {"place.longitude_deg", {{"place.longitude_deg", "30"}}},
    {"place.time", {{"place.time", "2026-06-20T09:00:00Z"}}},
    {"sky.model", {{"sky.model", "\"uniform\""}}},
    {"sky.type", {{"sky.model", "\"general\""}, {"sky.type", "7"}}},
    {"sky.horizontal_lx", {{"sky.horizontal_lx", "100"}}},
    {"sky.grey_card", {{"sky.grey_card", "{ f_number = 8, shutter_s = 1, iso = 200 }"}}},
    {"sky.cct_k", {{"sky.cct_k", "9000"}}},
    {"sun.on", {{"sun.on", "true"}}},
    {"sun.normal_lx", {{"sun.on", "true"}, {"sun.normal_lx", "500"}}},
    {"sun.availability", {{"sun.on", "true"}, {"sun.availability", "\"ies1984\""}}},
    {"sun.turbidity", {{"sun.on", "true"}, {"sun.turbidity", "6"}}},
    {"sun.azimuth_deg", {{"sun.elevation_deg", "30"}, {"sun.azimuth_deg", "100"}}},
    {"sun.elevation_deg", {{"sun.azimuth_deg", "100"}, {"sun.elevation_deg", "30"}}},
    {"canopy.leaf_area_index", {{"canopy.leaf_area_index", "2"}}},
    {"canopy.clumping", {{"canopy.leaf_area_index", "2"}, {"canopy.clumping", "0.5"}}},
    {"canopy.leaf", {{"canopy.leaf_area_index", "2"}, {"canopy.leaf", "\"brown\""}}},
    {"canopy.height_m", {{"canopy.leaf_area_index", "2"}, {"canopy.height_m", "20"}}},
    {"canopy.gap_deg", {{"canopy.gap_deg", "20"}}},
    {"canopy.seed", {{"canopy.leaf_area_index", "2"}, {"canopy.seed", "2"}}},
    {"ground.kind", {{"ground.kind", "\"none\""}}},
    {"ground.size_m", {{"ground.size_m", "3"}}},
    {"ground.reflectance", {{"ground.reflectance", "0.2"}}},
    {"ground.wet", {{"ground.wet", "1"}}},
    {"ground.relief_mm", {{"ground.relief_mm", "2"}}},
    {"ground.seed", {{"ground.seed", "2"}}},
    {"camera.format_mm", {{"camera.format_mm", "[36, 24]"}}},
    {"camera.focal_length_mm", {{"camera.focal_length_mm", "60"}}},
    {"camera.f_number", {{"camera.f_number", "4"}}},
    {"camera.pupil_magnification", {{"camera.pupil_magnification", "0.8"}}},
    {"camera.principal_separation_mm", {{"camera.principal_separation_mm", "5"}}},
    {"camera.transmission", {{"camera.transmission", "0.5"}}},
    {"camera.converter", {{"camera.converter", "1.4"}}},
    {"camera.nd_stops", {{"camera.nd_stops", "3"}}},
    {"camera.polariser_deg", {{"camera.polariser_deg", "30"}}},
    {"camera.polariser_stops", {{"camera.polariser_deg", "30"}, {"camera.polariser_stops", "2"}}},
    {"camera.blades", {{"camera.blades", "5"}}},
    {"camera.blade_curvature", {{"camera.blade_curvature", "0"}}},
    {"camera.blade_turn_deg", {{"camera.blade_turn_deg", "10"}}},
    {"camera.position_m", {{"camera.position_m", "[0, -0.7, 0.1]"}}},
    {"camera.look_at", {{"camera.look_at", "\"card\""}}},
    {"camera.roll_deg", {{"camera.roll_deg", "5"}}},
    {"camera.focus", {{"camera.focus", "\"card\""}}},
    {"camera.focus_distance_m", {{"camera.focus_distance_m", "0.9"}}},
    {"camera.magnification", {{"camera.magnification", "0.3"}}},
    // Only the two together shorten the lens.
    {"camera.minimum_focus_m", {{"camera.largest_magnification", "0.5"}, {"camera.minimum_focus_m", "0.35"}}},
    {"camera.largest_magnification",
     {{"camera.minimum_focus_m", "0.35"}, {"camera.largest_magnification", "0.5"}}},
    {"camera.rim_diameter_mm", {{"camera.rim_diameter_mm", "20"}}},
    {"camera.rim_ahead_mm", {{"camera.rim_diameter_mm", "20"}, {"camera.rim_ahead_mm", "40"}}},
    {"camera.fall_off", {{"camera.pupil_magnification", "0.8"}, {"camera.fall_off", "\"image\""}}},
    {"camera.spherical_waves", {{"camera.spherical_waves", "2"}}},
    {"camera.circle_of_confusion_mm", {{"camera.circle_of_confusion_mm", "0.05"}}},
    {"camera.coc_rule", {{"camera.coc_rule", "\"two_pixels\""}}},
    {"camera.front_diameter_mm", {{"camera.front_diameter_mm", "40"}}},
    {"camera.barrel_mm", {{"camera.barrel_mm", "0"}}},
    {"camera.front_ahead_mm", {{"camera.front_ahead_mm", "10"}}},
    {"camera.body_shade", {{"camera.body_shade", "true"}}},
    {"camera.support", {{"camera.support", "\"hand\""}}},
    {"camera.lowest_axis_m", {{"camera.lowest_axis_m", "0.2"}}},
    {"camera.stabiliser_stops", {{"camera.stabiliser_stops", "4"}}},
    {"sensor.pixel_pitch_um", {{"sensor.pixel_pitch_um", "6"}}},
    {"sensor.read_noise_e", {{"sensor.read_noise_e", "2"}}},
    {"sensor.dark_current_e_s", {{"sensor.dark_current_e_s", "1"}}},
    {"sensor.prnu_pct", {{"sensor.prnu_pct", "1"}}},
    {"exposure.iso", {{"exposure.iso", "400"}}},
    {"exposure.shutter_s", {{"exposure.shutter_s", "2"}}},
    {"exposure.meter_on", {{"exposure.meter_on", "\"ball\""}}},
    {"exposure.compensation_stops", {{"exposure.compensation_stops", "1"}}},
    {"exposure.white_balance_k", {{"exposure.white_balance_k", "5000"}}},
    {"exposure.noise", {{"exposure.noise", "false"}}},
    {"exposure.diffraction", {{"exposure.diffraction", "false"}}},
    {"exposure.tone", {{"exposure.tone", "\"reinhard\""}}},
    {"exposure.hand_rule", {{"exposure.hand_rule", "1"}}},
    {"stack.overlap", {{"stack.overlap", "0.2"}}},
    {"stack.pause_s", {{"stack.pause_s", "5"}}},
    {"taken.f_number", {{"taken.f_number", "11"}}},
    {"taken.shutter_s", {{"taken.shutter_s", "5"}}},
    {"taken.iso", {{"taken.iso", "200"}}},
    {"taken.lamp", {{"taken.lamp_distance_m", "0.4"}, {"taken.lamp", "\"torch\""}}},
    {"taken.lamp_distance_m", {{"taken.lamp_distance_m", "0.4"}}},
    {"taken.time", {{"taken.time", "2026-11-02T12:00:00Z"}}},
    {"render.seed", {{"render.seed", "2"}}},
    {"subject.parts", {{"subject.parts", "[\"card\"]"}}},
    {"subject.backdrop", {{"subject.backdrop", "[\"card\"]"}}},
    {"source.kind", {{"source.torch.kind", "\"panel\""}, {"source.torch.size_mm", "[60, 40]"}}},
    {"source.on", {{"source.torch.on", "false"}}},
    {"source.position_m", {{"source.torch.position_m", "[0.3, 0, 0.1]"}}},
    {"source.aim", {{"source.torch.aim", "\"card\""}}},
    {"source.flux_lm", {{"source.torch.flux_lm", "60"}}},
    {"source.intensity_cd", {{"source.torch.intensity_cd", "60"}}},
    {"source.beam_distance_m", {{"source.torch.beam_distance_m", "20"}}},
    {"source.guide_number_m", {{"source.flash.guide_number_m", "20"}}},
    {"source.power_pct", {{"source.torch.power_pct", "50"}}},
    {"source.on_s", {{"source.torch.on_s", "0.1"}}},
    {"source.beam_deg", {{"source.torch.beam_deg", "30"}}},
    {"source.field_deg", {{"source.torch.field_deg", "110"}}},
    {"source.roll_deg", {{"source.flash.roll_deg", "20"}}},
    {"source.diameter_mm", {{"source.torch.diameter_mm", "50"}}},
    {"source.size_mm", {{"source.flash.size_mm", "[30, 20]"}}},
    {"source.snoot_mm", {{"source.torch.snoot_mm", "30"}}},
    {"source.cct_k", {{"source.torch.cct_k", "3000"}}},
    {"source.duv", {{"source.torch.duv", "0.01"}}},
    {"source.gel_mired", {{"source.torch.gel_mired", "50"}}},
    {"source.diffuser", {{"source.torch.diffuser", "0.5"}}},
    {"source.diffuser_transmission",
     {{"source.torch.diffuser", "0.5"}, {"source.torch.diffuser_transmission", "0.3"}}},
    {"prop.kind", {{"prop.ball.kind", "\"disc\""}}},
    {"prop.on", {{"prop.card.at_m", "[0, 0]"}, {"prop.card.on", "\"ball\""}}},
    {"prop.at_m", {{"prop.card.at_m", "[0.1, 0.3]"}}},
    {"prop.turn_deg", {{"prop.card.turn_deg", "10"}}},
    {"prop.tilt_deg", {{"prop.card.tilt_deg", "10"}}},
    {"prop.scale", {{"prop.card.scale", "2"}}},
    {"prop.visible", {{"prop.card.visible", "false"}}},
    {"prop.wet", {{"prop.card.wet", "1"}}},
    {"prop.sway_mm", {{"prop.card.sway_mm", "2"}}},
    {"prop.sway_hz", {{"prop.card.sway_mm", "2"}, {"prop.card.sway_hz", "3"}}},
    {"prop.sway_deg", {{"prop.card.sway_mm", "2"}, {"prop.card.sway_deg", "45"}}},
    {"prop.scatter", {{"prop.card.scatter", "{ count = 2, radius_m = 0.1 }"}}},
    {"meter.kind", {{"meter.middle.kind", "\"incident\""}, {"meter.middle.position_m", "[0, 0, 0.1]"}}},
    {"meter.position_m", {{"meter.foot.position_m", "[0, 0, 0.1]"}}},
    {"meter.normal", {{"meter.foot.normal", "[0, -1, 0]"}}},
    {"meter.at", {{"meter.middle.at", "[0.4, 0.4]"}}},
    {"meter.diameter_pct", {{"meter.middle.diameter_pct", "3"}}},
};

// Keys that take a file, are masks for other kinds, or are words for people.
const std::set<std::string> not_held_here = {"undercap",         "title",       "note",
                                             "source.beam_file", "prop.within", "prop.without"};

template <class Value>
bool same_bytes(const std::vector<Value>& a, const std::vector<Value>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end());
}

bool same_triangles(const World& a, const World& b) {
  return same_bytes(a.position, b.position) && same_bytes(a.tint, b.tint) &&
         std::equal(a.triangle.begin(), a.triangle.end(), b.triangle.begin(), b.triangle.end(),
                    [](const WorldTriangle& s, const WorldTriangle& t) {
                      return s.a == t.a && s.b == t.b && s.c == t.c && s.part == t.part;
                    }) &&
         std::equal(a.parts.begin(), a.parts.end(), b.parts.begin(), b.parts.end(),
                    [&](const WorldPart& s, const WorldPart& t) {
                      const Material &m = a.materials[s.material], &n = b.materials[t.material];
                      return s.prop == t.prop && s.part == t.part && m.reflectance == n.reflectance &&
                             m.wet == n.wet;
                    });
}

bool same_lens(const GaussianLens& a, const GaussianLens& b) {
  return a.focal_length == b.focal_length && a.f_number == b.f_number &&
         a.pupil_magnification == b.pupil_magnification && a.principal_separation == b.principal_separation;
}

// All that rays go by: the side of the fall-off weighs a film when it is developed, and is mixed.
bool same_camera(const CameraRig& a, const CameraRig& b) {
  return a.magnification == b.magnification && a.pupil_m == b.pupil_m && a.right == b.right && a.up == b.up &&
         a.forward == b.forward && a.width == b.width && a.height == b.height &&
         a.pupil_distance == b.pupil_distance && a.image_distance == b.image_distance &&
         a.working_f_number == b.working_f_number && same_bytes(a.iris_m, b.iris_m) &&
         a.clear_ahead == b.clear_ahead && same_lens(a.lens, b.lens) &&
         a.scale_distance == b.scale_distance && a.beyond_closest_focus == b.beyond_closest_focus &&
         a.rim_ahead == b.rim_ahead && a.rim_diameter == b.rim_diameter && a.spherical_m == b.spherical_m &&
         a.polariser == b.polariser && a.axis_height == b.axis_height && a.focus_point_m == b.focus_point_m;
}

bool same_sky(const World& a, const World& b) {
  const auto names = [](const World& world) {
    std::string all;
    for (const LightGroup& group : world.groups) all += group.name + ' ';
    return all;
  };
  return names(a) == names(b) && same_bytes(a.sky.node, b.sky.node) &&
         same_bytes(a.leaves.node, b.leaves.node) && a.gaps.height_m == b.gaps.height_m &&
         a.gaps.cell_m == b.gaps.cell_m && a.gaps.corner_m == b.gaps.corner_m &&
         same_bytes(a.gaps.open, b.gaps.open) && a.sun_direction == b.sun_direction;
}

bool same_lamp(const Lamp& a, const Lamp& b) {
  return a.position_m == b.position_m && a.direction == b.direction && a.right == b.right &&
         a.rectangle == b.rectangle && a.half_width_m == b.half_width_m &&
         a.half_height_m == b.half_height_m && a.planes == b.planes && same_bytes(a.beam, b.beam);
}

bool same_weights(const World& a, const World& b) {
  return std::equal(a.groups.begin(), a.groups.end(), b.groups.begin(), b.groups.end(),
                    [](const LightGroup& g, const LightGroup& h) {
                      return g.weight() == h.weight() && g.on_s == h.on_s && g.flash == h.flash;
                    });
}

bool same_sensor(const SensorModel& a, const SensorModel& b) {
  return a.pitch == b.pitch && a.read_noise_e == b.read_noise_e && a.dark_current_e_s == b.dark_current_e_s &&
         a.prnu == b.prnu;
}

// What a film is weighed by on its way to a picture.
bool same_developing(const World& a, const World& b) {
  const Exposure &e = a.scene.exposure, &f = b.scene.exposure;
  return transmission_of(a.scene.camera) == transmission_of(b.scene.camera) &&
         a.camera.fall_off == b.camera.fall_off && same_sensor(sensor_of(a), sensor_of(b)) &&
         e.noise == f.noise && e.diffraction == f.diffraction && e.tone == f.tone && e.iso == f.iso;
}

// What a change leaves alone is the same in both worlds.
void expect_true(const SceneChange& change, const World& before, const World& after) {
  if (!change.set) {
    EXPECT_TRUE(same_triangles(without_barrel(before), without_barrel(after))) << "the set is another";
  }
  if (!change.set && !change.camera) {
    EXPECT_TRUE(same_triangles(before, after)) << "barrel or photographer are others";
    EXPECT_TRUE(same_camera(before.camera, after.camera)) << "the camera is another";
  }
  if (!change.set && !change.sky) {
    EXPECT_TRUE(same_sky(before, after)) << "the sky is another";
  }
  const auto& lamps = change.lamps;
  for (std::size_t i = 0; i < before.lamps.size() && !change.set; ++i) {
    const std::string& name = before.scene.sources[i].name;
    const bool told = std::find(lamps.begin(), lamps.end(), name) != lamps.end();
    EXPECT_TRUE(told || same_lamp(before.lamps[i], after.lamps[i])) << name << " is another lamp";
  }
  if (!change.mix && !change.any_film()) {
    EXPECT_TRUE(same_weights(before, after)) << "light is another";
    EXPECT_TRUE(same_developing(before, after)) << "the picture is developed otherwise";
  }
}

TEST(EditCostWorld, WhatAnEditLeavesAloneIsTheSame) {
  for (const auto& [key, edits] : other_values) {
    SCOPED_TRACE(key);
    EditedScene edited = small();
    // Ground is most of the triangles, and only its own keys need it.
    if (!key.starts_with("ground.")) edited.set("ground.kind", "\"none\"", "company");
    // The pair that comes last is the key, and what it needs is set before, or with it where neither may
    // stand alone.
    const bool together = key == "source.kind" || key == "meter.kind" || key.starts_with("sun.azimuth") ||
                          key.starts_with("sun.elevation");
    for (std::size_t i = 0; i + 1 < edits.size() && !together; ++i)
      edited.set(edits[i].first, edits[i].second, "company");
    const World before = build_world(edited.scene());
    std::vector<Edit> last;
    for (std::size_t i = together ? 0 : edits.size() - 1; i < edits.size(); ++i)
      last.push_back({edits[i].first, edits[i].second});
    SceneChange change;
    ASSERT_EQ(refusal_of([&] { change = edited.change(last, "edit"); }), "");
    EXPECT_FALSE(change.nothing());
    expect_true(change, before, build_world(edited.scene()));
  }
}

TEST(EditCostWorld, EveryServedKeyIsHeldAgainstIt) {
  for (const KeyRow& row : key_rows()) {
    const std::string key =
        row.table.empty() ? std::string(row.name) : fmt::format("{}.{}", row.table, row.name);
    const bool inner = row.table == "sky.grey_card" || row.table == "prop.scatter" ||
                       row.table == "prop.material" || row.table == "variant" || row.type == ValueType::name;
    const bool held = !row.served || inner || not_held_here.contains(key) || other_values.contains(key);
    EXPECT_TRUE(held) << key << ": give it another value above";
  }
}

}  // namespace
}  // namespace undercap
