// What a scene file says, as types. Fields keep the file's names and units; the world turns them into SI.
//
// A Scene is complete and valid: ranges, exclusive groups, names and addresses were checked when it was
// loaded (load.h). 'std::optional' means that the file says nothing and no constant default exists.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <glm/vec3.hpp>
#include <map>
#include <numbers>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/core/errors.h"
#include "engine/light/canopy.h"
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
  enum class Model { overcast, uniform, general, off } model = Model::overcast;
  // What a camera reads off an 18 % card that lies level at look_at under sky and leaves alone.
  struct GreyCard {
    double f_number = 5.6, shutter_s = 1, iso = 200;
  };
  int type = 1;  // CIE/ISO general sky, with Model::general
  // At most one of the two; none: from the sun's elevation.
  std::optional<double> horizontal_lx;  // above the leaves
  std::optional<GreyCard> grey_card;
  std::optional<double> cct_k;  // none: by the kind of sky
};

struct Sun {
  enum class Availability { turbidity, ies1984 } availability = Availability::turbidity;
  bool on = false;
  std::optional<double> normal_lx;
  double turbidity = 3.0;
  std::optional<double> azimuth_deg, elevation_deg;  // both or none
};

struct Canopy {
  using Leaf = LeafColour;
  double leaf_area_index = 0;
  double clumping = 0.7;  // 1 = leaves at random
  Leaf leaf = Leaf::yellow;
  double height_m = 12;
  double gap_deg = 0;  // half-angle of one round gap overhead; 0 = none
  int seed = 1;
  bool any() const { return leaf_area_index > 0 || gap_deg > 0; }
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
  double converter = 1;  // factor of a converter behind the lens on focal length and f-number
  double nd_stops = 0;   // of a grey filter
  std::optional<double>
      polariser_deg;             // turn from where it darkens the glare of level ground; none: no polariser
  double polariser_stops = 1.3;  // what it takes of light that is not polarised
  int blades = 7;                // 0 = circle
  double blade_curvature = 0.5;
  double blade_turn_deg = 0;
  glm::dvec3 position_m{0, -0.6, 0.08};
  std::optional<Target> look_at;  // none: the first prop
  double roll_deg = 0;
  // At most one of the three; none: focus on look_at.
  std::optional<Target> focus;
  std::optional<double> focus_distance_m;
  std::optional<double> magnification;
  std::optional<double> minimum_focus_m, largest_magnification;  // of a data sheet, both or none
  std::optional<double> rim_diameter_mm;                         // none: nothing cuts the pupil off the axis
  double rim_ahead_mm = 20;
  enum class FallOffSide { object, image } fall_off = FallOffSide::object;
  double spherical_waves = 0;
  std::optional<double> circle_of_confusion_mm;  // none: by coc_rule
  CocRule coc_rule = CocRule::d1500;
  double front_diameter_mm = 62;
  double barrel_mm = 80;
  double front_ahead_mm = 30;
  bool body_shade = false;
  Support support = Support::tripod;
  double lowest_axis_m = 0.05;
  double stabiliser_stops = 0;
  bool operator==(const Camera&) const = default;
};

struct Sensor {
  std::optional<double> pixel_pitch_um;  // none: 20 Mpx on the format
  double read_noise_e = 3;
  double dark_current_e_s = 0.1;
  double prnu_pct = 0.5;
};

struct Exposure {
  enum class Tone { srgb, reinhard };
  double iso = 200;
  std::optional<double> shutter_s;  // none: "meter"
  std::optional<Address> meter_on;  // none: "picture"
  double compensation_stops = 0;
  std::optional<double> white_balance_k;  // none: "scene"
  bool noise = true;                      // the picture shows the sensor's noise
  bool diffraction = true;                // and the spread of light by the aperture
  Tone tone = Tone::srgb;
  double hand_rule = 2.0;
};

struct Stack {
  double overlap = 0.3;  // share of a frame's sharp zone that the next one repeats
  double pause_s = 2;    // between frames
};

struct Subject {
  std::vector<Address> parts;     // empty: the first prop
  std::vector<Address> backdrop;  // empty: all behind the focus plane that is not subject
};

struct Ground {
  enum class Kind { litter, moss, soil, sand, none } kind = Kind::litter;
  double size_m = 24;
  glm::vec3 reflectance{.13f, .09f, .055f};
  double wet = 0;  // share of the area under a film of water
  double relief_mm = 8;
  int seed = 1;
};

struct Source {
  enum class Kind { torch, panel, flash } kind = Kind::torch;
  std::string name;
  bool on = true;
  glm::dvec3 position_m{0};
  Target aim;
  // Exactly one; guide_number_m (ISO 100, far field) of a flash, the others of what shines on.
  std::optional<double> flux_lm, intensity_cd, beam_distance_m, guide_number_m;
  double power_pct = 100;
  std::optional<double> on_s;  // none: the whole exposure
  double beam_deg = 60;
  std::optional<double> field_deg;        // none: cos^n through beam_deg
  std::string beam_file;                  // a measured beam in place of beam_deg; absolute; empty: none
  double roll_deg = 0;                    // turn about its axis
  double diameter_mm = 25;                // torch
  std::array<double, 2> size_mm{60, 40};  // panel, flash
  std::optional<double> snoot_mm;
  double cct_k = 5600;
  double duv = 0;
  double gel_mired = 0;
  double diffuser = 0;
  double diffuser_transmission = 0.6;
};

// What a file says of a part's material; what it leaves out stays as the kind has it.
struct MaterialChange {
  std::optional<std::string> of;  // row of the material table, under the keys beside it
  std::optional<glm::vec3> reflectance, transmittance;
  std::optional<glm::vec3> mirror;  // a rough metal: reflectance at normal incidence
  std::optional<double> roughness, emission_cd_m2;
  std::optional<double> wet;           // none: as its prop
  std::optional<double> thickness_mm;  // of an open sheet that is of a row; none: the row's
  std::optional<double> pattern;       // factor on its pattern's colour and relief, 0..2; none: 1
};

// Copies of a prop over a disc about its place.
struct Scatter {
  std::optional<double> count, per_m2;  // one of the two
  double radius_m = 0;
  int seed = 1;
  double size_spread = 0.2;          // standard scale of the sizes about 1
  std::optional<double> spacing_mm;  // least distance of two; none: half of what their number leaves each
  // How many there are when all find room.
  double wanted() const {
    return count ? *count : std::max(1.0, std::round(*per_m2 * std::numbers::pi * radius_m * radius_m));
  }
};

struct Prop {
  std::string name;
  const Kind* kind = nullptr;
  std::string on;  // an earlier prop that it grows on; empty: the ground
  std::array<double, 2> at_m{0, 0};
  std::optional<double> at_z_m;  // none: stands on the ground or on its host there
  double turn_deg = 0;
  double tilt_deg = 0;
  double scale = 1;
  bool visible = true;   // false too when its host is hidden
  Rows within, without;  // corners (x, y), world, m, of the area where it may lie and where not; empty: none
  std::optional<Scatter> scatter;
  double wet = 0;      // share of the area under a film of water
  double sway_mm = 0;  // to either side, while the shutter is open
  double sway_hz = 1;
  double sway_deg = 90;                             // toward this direction, from north clockwise, and back
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

// What was really used for a picture that came out as bright as planned. Its light follows from the first
// three.
struct Taken {
  std::optional<double> f_number, shutter_s, iso;
  std::optional<std::string> lamp;  // that stood elsewhere than planned, on its own axis; none: the first
  std::optional<double> lamp_distance_m;
  std::optional<UtcTime> time;
  bool complete() const { return f_number && shutter_s && iso; }
};

struct Scene {
  std::string file;  // as given, for messages
  std::string title, note;
  Place place;
  Sky sky;
  Sun sun;
  Canopy canopy;
  Camera camera;
  Sensor sensor;
  Exposure exposure;
  Stack stack;
  Subject subject;
  Ground ground;
  std::vector<Source> sources;
  std::vector<Prop> props;
  std::vector<Meter> meters;
  std::vector<Variant> variants;
  Taken taken;
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
