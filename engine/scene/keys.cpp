#include "engine/scene/keys.h"

namespace undercap {
namespace {

using ValueType::address_or_word, ValueType::addresses, ValueType::boolean, ValueType::colour,
    ValueType::direction, ValueType::ground_point, ValueType::moment, ValueType::name,
    ValueType::number_or_word, ValueType::pair, ValueType::point, ValueType::table, ValueType::target,
    ValueType::text;

// How a row is written here: the type with what it always has, then what makes the key special.
class Row {
 public:
  Row(KeyRow row) : row_(row) {}
  Row needed() const {
    return with([](KeyRow& r) { r.required = true; });
  }
  Row later() const {
    return with([](KeyRow& r) { r.served = false; });
  }
  Row open_below() const {
    return with([](KeyRow& r) { r.above_low = true; });
  }
  Row in_group(std::string_view group) const {
    return with([&](KeyRow& r) { r.group = group; });
  }
  Row only_for(std::string_view kind) const {
    return with([&](KeyRow& r) { r.only_kind = kind; });
  }
  Row words(std::string_view words) const {
    return with([&](KeyRow& r) { r.choices = words; });
  }
  Row shaped(const ListShape& shape) const {
    return with([&](KeyRow& r) { r.list = &shape; });
  }
  Row saying(std::string_view allowed) const {
    return with([&](KeyRow& r) { r.allowed = allowed; });
  }
  KeyRow in(std::string_view table) const {
    return with([&](KeyRow& r) { r.table = table; }).row_;
  }

 private:
  template <class Change>
  Row with(Change change) const {
    Row row = *this;
    change(row.row_);
    return row;
  }
  KeyRow row_;
};

using Words = std::string_view;

Row numbers(Words name, ValueType type, Words unit, double low, double high, Words fallback, Words meaning) {
  return KeyRow{.name = name,
                .type = type,
                .unit = unit,
                .low = low,
                .high = high,
                .fallback = fallback,
                .meaning = meaning};
}
Row number(Words name, Words unit, double low, double high, Words fallback, Words meaning) {
  return numbers(name, ValueType::number, unit, low, high, fallback, meaning);
}
Row integer(Words name, double low, double high, Words fallback, Words meaning) {
  return numbers(name, ValueType::integer, "", low, high, fallback, meaning);
}
Row plain(Words name, ValueType type, Words fallback, Words meaning) {
  return KeyRow{.name = name, .type = type, .fallback = fallback, .meaning = meaning};
}
Row choice(Words name, Words words, Words fallback, Words meaning) {
  return plain(name, ValueType::choice, fallback, meaning).words(words);
}

void add(std::vector<KeyRow>& all, Words table, std::initializer_list<Row> rows) {
  for (const Row& row : rows) all.push_back(row.in(table));
}

// Ranges without a source are wide enough for any real set; they keep typing errors and infinities out.
constexpr double far_m = 1000;  // coordinates: single precision still resolves 0.1 mm there
constexpr double largest_seed = 2147483647;
const ListShape polygon{{{"x_m", -far_m, far_m}, {"y_m", -far_m, far_m}}, 3, 1000};

void add_light(std::vector<KeyRow>& all) {
  add(all, "",
      {
          integer("undercap", 1, 1, {}, "version of the file format")
              .needed()
              .saying("the line 'undercap = 1' at the top"),
          plain("title", text, "\"\"", "one line for people"),
          plain("note", text, "\"\"", "what the scene shows"),
      });
  add(all, "place",
      {
          number("latitude_deg", "deg", -90, 90, "52.0", "latitude, north positive"),
          number("longitude_deg", "deg", -180, 180, "-1.0", "longitude, east positive"),
          plain("time", moment, "2026-10-20T12:00:00Z", "the moment, which gives the sun's place"),
      });
  add(all, "sky",
      {
          choice("model", "overcast uniform general off", "\"overcast\"",
                 "how luminance is spread over the sky"),
          integer("type", 1, 15, "1", "CIE/ISO sky type of the general model"),
          number("horizontal_lx", "lx", 0, 200000, {},
                 "illuminance on level ground above the leaves; without it: from the sun's elevation")
              .in_group("sky level"),
          plain(
              "grey_card", table, {},
              "the light as a camera reads it off an 18 % card, level at look_at under sky and leaves alone")
              .in_group("sky level")
              .saying("a table such as { f_number = 8, shutter_s = 1, iso = 200 }"),
          number(
              "cct_k", "K", 5000, 25000, {},
              "colour temperature of the whole sky, on the daylight locus; without it: by the kind of sky"),
      });
  add(all, "sky.grey_card",
      {
          number("f_number", "", 0.7, 64, {}, "f-number of that reading").needed(),
          number("shutter_s", "s", 1.0 / 32000, 3600, {}, "exposure time of that reading").needed(),
          number("iso", "", 25, 102400, {}, "ISO speed of that reading").needed(),
      });
  add(all, "sun",
      {
          plain("on", boolean, "false", "whether the sun shines"),
          number("normal_lx", "lx", 0, 140000, {},
                 "illuminance square to the beam; without it: by availability"),
          choice("availability", "turbidity ies1984", "\"turbidity\"",
                 "the formula for the sun's illuminance"),
          number("turbidity", "", 1, 10, "3.0", "haze: 2 very clear, 3 clear, 6 hazy"),
          number("azimuth_deg", "deg", -360, 360, {},
                 "from north, clockwise; with elevation_deg, in place of the sun's true position"),
          number("elevation_deg", "deg", -90, 90, {}, "above the horizon; with azimuth_deg"),
      });
  add(all, "canopy",
      {
          number("leaf_area_index", "", 0, 10, "0", "leaf area over ground area; 0 = no leaves"),
          number("clumping", "", 0.3, 1, "0.7", "1 = leaves at random"),
          choice("leaf", "green yellow_green yellow orange brown none", "\"yellow\"",
                 "colour of the leaves; none = black"),
          number("height_m", "m", 1, 60, "12", "height of the leaves, which tells how flecks move"),
          number("gap_deg", "deg", 0, 90, "0",
                 "half-angle of one round gap overhead, outside which nothing passes; 0 = none"),
          integer("seed", 0, largest_seed, "1", "another arrangement of the leaves"),
      });
  add(all, "ground",
      {
          choice("kind", "litter moss soil sand none", "\"litter\"", "what covers the ground"),
          number("size_m", "m", 0.1, far_m, "24", "side of the square"),
          numbers("reflectance", colour, "", 0, 1, "[0.13, 0.09, 0.055]", "linear RGB"),
          number("wet", "", 0, 1, "0", "0 dry to 1 a film of water, by area"),
          number("relief_mm", "mm", 0, 500, "8", "standard scale of the unevenness"),
          integer("seed", 0, largest_seed, "1", "another relief"),
      });
}

void add_camera(std::vector<KeyRow>& all) {
  add(all, "camera",
      {
          numbers("format_mm", pair, "mm", 3, 130, "[23.5, 15.6]", "width and height of the sensor"),
          number("focal_length_mm", "mm", 4, 1200, "90", "focal length"),
          number("f_number", "", 0.7, 64, "5.6", "marked f-number, taken literally"),
          number("pupil_magnification", "", 0.3, 4, "1", "exit pupil over entrance pupil diameter"),
          number("principal_separation_mm", "mm", -50, 100, "0", "between the principal planes"),
          number("transmission", "", 0.1, 1, "0.9", "share of the light that the glass lets through"),
          number("converter", "", 1, 3, "1",
                 "factor of a converter behind the lens: focal length and f-number; 1 = none"),
          number("nd_stops", "stops", 0, 20, "0", "what a grey filter takes; density / 0.301"),
          number("polariser_deg", "deg", -180, 180, {},
                 "turn of a polariser from where it darkens the glare of level ground; without it: none"),
          number("polariser_stops", "stops", 1, 3, "1.3", "what the polariser takes of other light"),
          integer("blades", 0, 20, "7", "blades of the iris")
              .saying("0 (a circle) or a whole number from 3 to 20"),
          number("blade_curvature", "", 0, 1, "0.5", "0 = straight edges, 1 = a circle"),
          number("blade_turn_deg", "deg", -360, 360, "0", "turn of the iris"),
          numbers("position_m", point, "m", -far_m, far_m, "[0, -0.6, 0.08]", "the entrance pupil"),
          numbers("look_at", target, "m", -far_m, far_m, {},
                  "what stands in the middle of the picture; without it: the first prop"),
          number("roll_deg", "deg", -180, 180, "0", "turn about the lens axis"),
          numbers("focus", target, "m", -far_m, far_m, {}, "what is sharp; without any focus key: look_at")
              .in_group("focus"),
          number("focus_distance_m", "m", 0, 10000, {},
                 "distance from subject to sensor, as on a focus scale")
              .open_below()
              .in_group("focus"),
          number("magnification", "", 0.0001, 20, {},
                 "moves the camera along its line of sight until look_at is sharp at this scale")
              .in_group("focus"),
          number("circle_of_confusion_mm", "mm", 0.0005, 2, {}, "the largest blur that counts as sharp")
              .in_group("circle of confusion"),
          choice("coc_rule", "d1500 d1442 two_pixels", "\"d1500\"",
                 "circle of confusion: diagonal/1500, diagonal/1442 or two pixels")
              .in_group("circle of confusion"),
          number("minimum_focus_m", "m", 0.01, 20, {},
                 "closest focus, subject to sensor, as a data sheet gives it"),
          number("largest_magnification", "", 0.01, 20, {},
                 "scale at closest focus; with minimum_focus_m the focal length shortens on the way"),
          number("rim_diameter_mm", "mm", 1, 500, {},
                 "of a rim before the pupil that cuts the light of the corners; without it: none"),
          number("rim_ahead_mm", "mm", 0, 500, "20", "from the entrance pupil forward to that rim"),
          choice("fall_off", "object image", "\"object\"",
                 "the angle whose cosine darkens the corners: before the lens, or behind it"),
          number(
              "spherical_waves", "", -20, 20, "0",
              "spherical aberration at this aperture, waves of 0.55 um: rims of blur discs brighter in front "
              "or behind"),
          number("front_diameter_mm", "mm", 0, 500, "62", "width of the barrel"),
          number("barrel_mm", "mm", 0, 1000, "80", "length of the barrel, which blocks light; 0 = none"),
          number("front_ahead_mm", "mm", 0, 500, "30",
                 "from the entrance pupil forward to the barrel's front"),
          plain("body_shade", boolean, "false", "the photographer kneeling behind, as a dark sheet"),
          choice("support", "tripod hand bag", "\"tripod\"", "what holds the camera"),
          number("lowest_axis_m", "m", 0, 3, "0.05",
                 "lowest height of the lens axis that the support reaches"),
          number("stabiliser_stops", "stops", 0, 8, "0", "what the stabiliser gains"),
      });
  add(all, "sensor",
      {
          number("pixel_pitch_um", "um", 0.5, 100, {},
                 "pixel pitch; without it: 20 megapixels on the format"),
          number("read_noise_e", "e", 0, 1000, "3", "read noise in electrons"),
          number("dark_current_e_s", "e/s", 0, 1000, "0.1", "dark current in electrons per second"),
          number("prnu_pct", "%", 0, 10, "0.5", "spread of the pixels' sensitivity"),
      });
}

void add_rest(std::vector<KeyRow>& all) {
  add(all, "exposure",
      {
          number("iso", "", 25, 102400, "200", "ISO speed"),
          numbers("shutter_s", number_or_word, "s", 1.0 / 32000, 3600, "\"meter\"", "exposure time")
              .words("meter"),
          plain("meter_on", address_or_word, "\"picture\"", "what the camera's meter reads").words("picture"),
          number("compensation_stops", "stops", -10, 10, "0", "brighter than metered"),
          numbers("white_balance_k", number_or_word, "K", 1667, 25000, "\"scene\"",
                  "the light that looks white")
              .words("scene"),
          plain("noise", boolean, "true", "whether the picture shows the sensor's noise"),
          plain("diffraction", boolean, "true", "whether the picture shows the aperture's diffraction"),
          choice("tone", "srgb reinhard", "\"srgb\"", "from linear to display"),
          number("hand_rule", "", 0.1, 10, "2.0", "factor of the longest exposure held by hand"),
      });
  add(all, "stack",
      {
          number("overlap", "", 0, 0.9, "0.3", "share of a frame's sharp zone that the next one repeats"),
          number("pause_s", "s", 0, 3600, "2", "between the frames of a stack"),
      });
  add(all, "render",
      {
          integer("seed", 0, largest_seed, "1", "another sample set"),
      });
  add(all, "subject",
      {
          plain("parts", addresses, {}, "what the photograph is about; without it: the first prop"),
          plain("backdrop", addresses, {},
                "what counts as behind; without it: all beyond the focus plane that is not subject"),
      });
  add(all, "taken",
      {
          number("f_number", "", 0.7, 64, {}, "f-number of the picture that came out as planned"),
          number("shutter_s", "s", 1.0 / 32000, 3600, {}, "its exposure time"),
          number("iso", "", 25, 102400, {}, "its ISO speed"),
          plain("lamp", text, {}, "the source that lamp_distance_m is of; without it the first"),
          number("lamp_distance_m", "m", 0.01, 5, {}, "from its front to what it is aimed at"),
          plain("time", moment, {}, "when it was taken"),
      });
}

void add_lists(std::vector<KeyRow>& all) {
  add(all, "source",
      {
          plain("name", name, {}, "what it is called").needed(),
          choice("kind", "torch panel flash", {},
                 "torch: a shining disc; panel: a rectangle; flash: a rectangle that gives its light at once")
              .needed(),
          plain("on", boolean, "true", "whether it shines"),
          numbers("position_m", point, "m", -far_m, far_m, {}, "centre of the shining surface").needed(),
          numbers("aim", target, "m", -far_m, far_m, {}, "what it points at").needed(),
          number("flux_lm", "lm", 0, 1e7, {}, "luminous flux at 100 %")
              .in_group("strength")
              .only_for("torch panel")
              .needed(),
          number("intensity_cd", "cd", 0, 1e9, {}, "peak intensity at 100 %")
              .in_group("strength")
              .only_for("torch panel")
              .needed(),
          number("beam_distance_m", "m", 0, 10000, {},
                 "distance to 0.25 lx at 100 %, as torches are labelled")
              .in_group("strength")
              .only_for("torch panel")
              .needed(),
          number("guide_number_m", "m", 0, 200, {}, "guide number at ISO 100 and 100 %, far away")
              .in_group("strength")
              .only_for("flash")
              .needed(),
          number("power_pct", "%", 0, 100, "100", "share of its strength"),
          number("on_s", "s", 0, 3600, {},
                 "shines for this part of the exposure; without it: for the whole of it")
              .only_for("torch panel"),
          number("beam_deg", "deg", 0, 150, "60", "full angle at half the peak intensity; 120 = Lambertian")
              .open_below()
              .in_group("beam"),
          plain("beam_file", text, {}, "a measured beam: an LM-63 file in the scene's folder")
              .in_group("beam")
              .saying("the name of a file in the scene file's folder, in quotes"),
          number("field_deg", "deg", 0, 179, {},
                 "full angle at a tenth of the peak intensity, wider than beam_deg")
              .open_below(),
          number("roll_deg", "deg", -360, 360, "0", "turn about its axis, clockwise seen from behind it"),
          number("diameter_mm", "mm", 0.1, 10000, "25", "of the shining disc").only_for("torch"),
          numbers("size_mm", pair, "mm", 0.1, 10000, {}, "width and height of the shining rectangle")
              .only_for("panel flash")
              .needed(),
          number("snoot_mm", "mm", 0.1, 10000, {}, "length of a black tube before the shining surface"),
          number("cct_k", "K", 1667, 25000, "5600", "colour temperature on the Planck locus"),
          number("duv", "", -0.05, 0.05, "0.0", "distance from the Planck locus, green positive"),
          number("gel_mired", "mired", -500, 500, "0", "shift of a gel, positive = warmer"),
          number("diffuser", "", 0, 1, "0", "0 none to 1 Lambertian"),
          number("diffuser_transmission", "", 0, 1, "0.6", "share that the diffuser lets through"),
      });
  add(all, "prop",
      {
          plain("name", name, {}, "what it is called").needed(),
          plain("kind", text, {}, "what it is")
              .needed()
              .saying("a kind that 'undercap scenes --kinds' lists"),
          plain("on", text, {}, "an earlier prop that it grows on; without it: the ground")
              .saying("the name of a prop further up, in quotes"),
          numbers("at_m", ground_point, "m", -far_m, far_m, "[0.0, 0.0]",
                  "two numbers: stands on the ground there, or on the top of what it grows on; three: "
                  "absolute, or the nearest place of what it grows on"),
          number("turn_deg", "deg", -360, 360, "0", "about the vertical, counter-clockwise from above"),
          number("tilt_deg", "deg", -180, 180, "0", "then about its own x axis"),
          number("scale", "", 0.001, 1000, "1.0", "size factor"),
          plain("visible", boolean, "true", "false: tidied away"),
          number("wet", "", 0, 1, "0.0", "0 dry to 1 a film of water, by area"),
          number("sway_mm", "mm", 0, 1000, "0", "moves to either side by so much while the shutter is open"),
          number("sway_hz", "Hz", 0.01, 100, "1", "how often it goes there and back in a second"),
          number("sway_deg", "deg", -360, 360, "90", "toward this direction, from north clockwise"),
          plain("within", ValueType::list, {}, "corners of the only area of the plan where it may lie")
              .shaped(polygon),
          plain("without", ValueType::list, {}, "corners of an area of the plan that stays free of it")
              .shaped(polygon),
          plain("scatter", table, {}, "many of it about its place, each of its own growth, numbered from 1")
              .saying("a table such as { count = 12, radius_m = 0.4 }"),
      });
  add(all, "prop.scatter",
      {
          integer("count", 1, 4000, {}, "how many").in_group("scatter").needed(),
          number("per_m2", "", 0.001, 100000, {}, "how many on a square metre").in_group("scatter").needed(),
          number("radius_m", "m", 0.001, far_m, {}, "of the disc about at_m that holds them").needed(),
          integer("seed", 0, largest_seed, "1", "another arrangement"),
          number("size_spread", "", 0, 0.8, "0.2", "how much sizes differ; 0 = all alike"),
          number("spacing_mm", "mm", 0, 100000, {},
                 "least distance of two; without it: half of what their number leaves each"),
      });
  add(all, "prop.material",
      {
          plain("of", text, {}, "a row of the material table; the keys beside it change it")
              .saying("the name of a material, in quotes"),
          numbers("reflectance", colour, "", 0, 1, {}, "linear RGB or one number"),
          numbers("transmittance", colour, "", 0, 1, {}, "through an open sheet; linear RGB or one number"),
          numbers("mirror", colour, "", 0, 1, {},
                  "a rough metal in place of reflectance and transmittance: what it reflects head-on"),
          number("roughness", "", 0.05, 1, {},
                 "1 = Lambertian only; less: a coat that glosses, or a mirror that is sharper"),
          number("wet", "", 0, 1, {}, "0 dry to 1 a film of water, by area; without it: as the prop"),
          number("thickness_mm", "mm", 0.01, 100, {},
                 "of an open sheet in place of its material's own: a thinner one lets more through"),
          number("emission_cd_m2", "cd/m2", 0, 1e12, {}, "luminance of its own"),
          number("pattern", "", 0, 2, {}, "colour and relief of its pattern: 0 none, 1 usual, 2 strong"),
      });
  add(all, "meter",
      {
          plain("name", name, {}, "what it is called").needed(),
          choice("kind", "incident spot", {}, "incident: lx on a flat receiver; spot: cd/m2 in the picture")
              .needed(),
          numbers("position_m", point, "m", -far_m, far_m, {}, "centre of the receiver")
              .only_for("incident")
              .needed(),
          numbers("normal", direction, "", -far_m, far_m, "[0, 0, 1]", "where the receiver faces")
              .only_for("incident"),
          numbers("at", pair, "", 0, 1, "[0.5, 0.5]", "in the picture, from its upper left").only_for("spot"),
          number("diameter_pct", "%", 0.1, 100, "1", "of the frame height").only_for("spot"),
      });
  add(all, "variant",
      {
          plain("name", name, {}, "what it is called")
              .needed()
              .saying("a letter or digit, then letters, digits, blanks, _ and -, in quotes"),
          plain("change", table, {}, "keys and their values in this variant")
              .needed()
              .saying("a table such as { \"camera.f_number\" = 11 }"),
      });
}

const std::vector<TableRow> tables = {
    {"place", false, "where and when"},
    {"sky", false, "the light from the whole sky"},
    {"sun", false, "the sun"},
    {"canopy", false, "the leaves overhead"},
    {"camera", false, "body, lens and where they stand"},
    {"sensor", false, "the pixels"},
    {"exposure", false, "how the picture is exposed"},
    {"stack", false, "a focus stack"},
    {"render", false, "how the picture is computed"},
    {"subject", false, "what the photograph is about"},
    {"ground", false, "what everything stands on"},
    {"source", true, "the lights you bring"},
    {"prop", true, "the things on the ground"},
    {"meter", true, "where light is measured"},
    {"variant", true, "the same scene with a few values changed"},
    {"taken", false, "afterwards: what was really used"},
};

}  // namespace

const std::vector<KeyRow>& key_rows() {
  static const std::vector<KeyRow> rows = [] {
    std::vector<KeyRow> all;
    add_light(all);
    add_camera(all);
    add_rest(all);
    add_lists(all);
    return all;
  }();
  return rows;
}
const std::vector<TableRow>& table_rows() { return tables; }

}  // namespace undercap
