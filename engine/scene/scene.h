// What a scene file says, as types. Fields keep the file's names and units; the world turns them into SI.
//
// A Scene is complete and valid: ranges, exclusive groups, names and addresses were checked when it was
// loaded (load.h). 'std::optional' means that the file says nothing and no constant default exists.
#pragma once

#include <array>
#include <glm/vec3.hpp>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/core/errors.h"
#include "engine/scene/address.h"
#include "engine/shape/kinds.h"
#include "engine/surface/material.h"

namespace undercap {

// A moment as the file gives it (offset date-time), in UTC.
struct UtcTime {
  int year = 2026, month = 10, day = 20, hour = 12, minute = 0;
  double second = 0;
};

struct Place {
  double latitude_deg = 52.0;
  double longitude_deg = -1.0;  // east positive
  UtcTime time;
};

struct Sky {
  enum class Model { overcast, uniform, off } model = Model::overcast;
  std::optional<double> horizontal_lx;  // above the leaves
  double cct_k = 6500;
};

struct Sun {
  enum class Availability { turbidity, ies1984 } availability = Availability::turbidity;
  bool on = false;
  std::optional<double> normal_lx;
  double turbidity = 3.0;
  std::optional<double> azimuth_deg, elevation_deg;  // both or none
};

struct Camera {
  enum class Support { tripod, hand, bag };
  enum class CocRule { d1500, d1442, two_pixels };
  std::array<double, 2> format_mm{23.5, 15.6};
  double focal_length_mm = 90;
  double f_number = 5.6;
  double pupil_magnification = 1;
  double principal_separation_mm = 0;
  double transmission = 0.9;
  int blades = 7;  // 0 = circle
  double blade_curvature = 0.5;
  double blade_turn_deg = 0;
  glm::dvec3 position_m{0, -0.6, 0.08};
  std::optional<Target> look_at;  // none: the first prop
  double roll_deg = 0;
  // At most one of the three; none: focus on look_at.
  std::optional<Target> focus;
  std::optional<double> focus_distance_m;
  std::optional<double> magnification;
  std::optional<double> circle_of_confusion_mm;  // none: by coc_rule
  CocRule coc_rule = CocRule::d1500;
  double front_diameter_mm = 62;
  double barrel_mm = 80;
  double front_ahead_mm = 30;
  bool body_shade = false;
  Support support = Support::tripod;
  double lowest_axis_m = 0.05;
  double stabiliser_stops = 0;
};

struct Sensor {
  std::optional<double> pixel_pitch_um;  // none: 20 Mpx on the format
};

struct Exposure {
  enum class Tone { srgb, reinhard };
  double iso = 200;
  std::optional<double> shutter_s;  // none: "meter"
  std::optional<Address> meter_on;  // none: "picture"
  double compensation_stops = 0;
  std::optional<double> white_balance_k;  // none: "scene"
  Tone tone = Tone::srgb;
  double hand_rule = 2.0;
};

struct Subject {
  std::vector<Address> parts;     // empty: the first prop
  std::vector<Address> backdrop;  // empty: all behind the focus plane that is not subject
};

struct Ground {
  enum class Kind { litter, moss, soil, sand, none } kind = Kind::litter;
  double size_m = 24;
  glm::vec3 reflectance{.13f, .09f, .055f};
  double relief_mm = 8;
  int seed = 1;
};

struct Source {
  std::string name;
  bool on = true;
  glm::dvec3 position_m{0};
  Target aim;
  // Exactly one of the three.
  std::optional<double> flux_lm, intensity_cd, beam_distance_m;
  double power_pct = 100;
  double beam_deg = 60;
  double diameter_mm = 25;
  double cct_k = 5600;
  double duv = 0;
};

// What a file says of a part's material; what it leaves out stays as the kind has it.
struct MaterialChange {
  std::optional<glm::vec3> reflectance, transmittance;
  std::optional<double> roughness, emission_cd_m2;
};

struct Prop {
  std::string name;
  const Kind* kind = nullptr;
  std::array<double, 2> at_m{0, 0};
  std::optional<double> at_z_m;  // none: stands on the ground there
  double turn_deg = 0;
  double tilt_deg = 0;
  double scale = 1;
  bool visible = true;
  KeyValues values;                                 // the kind's own keys, complete; file paths are absolute
  std::map<std::string, MaterialChange> materials;  // by part
  SourcePlace place;                                // where the file says it, for faults found while building
};

struct Meter {
  enum class Kind { incident, spot } kind = Kind::incident;
  std::string name;
  glm::dvec3 position_m{0};          // incident
  glm::dvec3 normal{0, 0, 1};        // incident, unit
  std::array<double, 2> at{.5, .5};  // spot: 0..1 of the picture from the upper left
  double diameter_pct = 1;           // spot: of the frame height
};

struct Variant {
  std::string name;
  std::vector<std::pair<std::string, std::string>> change;  // key -> TOML value text, in the file's order
};

struct Scene {
  std::string file;  // as given, for messages
  std::string title, note;
  Place place;
  Sky sky;
  Sun sun;
  Camera camera;
  Sensor sensor;
  Exposure exposure;
  Subject subject;
  Ground ground;
  std::vector<Source> sources;
  std::vector<Prop> props;
  std::vector<Meter> meters;
  std::vector<Variant> variants;
  int seed = 1;  // render.seed
  std::map<std::string, SourcePlace, std::less<>>
      places;  // where the file says camera.KEY and source.NAME.KEY

  // The place of a key for faults that only geometry shows; the file alone when it does not say the key.
  SourcePlace place_of(std::string_view key) const {
    const auto found = places.find(key);
    return found == places.end() ? SourcePlace{file, 0, 0} : found->second;
  }
};

}  // namespace undercap
