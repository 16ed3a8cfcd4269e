// The kinds 'mushroom' and 'bonnet': cap, gills and stem, one alone or a cluster.
#include "engine/shape/mushroom.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <map>
#include <numbers>

#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"
#include "engine/shape/tuft.h"

namespace undercap {
namespace {

constexpr double radians = std::numbers::pi / 180;

CapForm cap_form(const std::string& word) {
  static const std::map<std::string, CapForm> forms = {
      {"convex", CapForm::convex}, {"cushion", CapForm::cushion}, {"conic", CapForm::conic},
      {"bell", CapForm::bell},     {"flat", CapForm::flat},       {"funnel", CapForm::funnel}};
  return forms.at(word);
}

GillAttachment attachment(const std::string& word) {
  static const std::map<std::string, GillAttachment> ways = {{"free", GillAttachment::free},
                                                             {"adnexed", GillAttachment::adnexed},
                                                             {"adnate", GillAttachment::adnate},
                                                             {"sinuate", GillAttachment::sinuate},
                                                             {"decurrent", GillAttachment::decurrent}};
  return ways.at(word);
}

MushroomShape shape_from(const KeyValues& values, bool one_sheet) {
  MushroomShape shape;
  shape.one_sheet = one_sheet;
  shape.form = cap_form(text(values, "cap_profile"));
  shape.cap_radius = 0.5 * number(values, "cap_diameter_mm");
  shape.cap_height = number(values, "cap_height_mm");
  shape.umbo = number(values, "umbo_mm");
  shape.depression = number(values, "depression_mm");
  shape.upturn = number(values, "upturn_mm");
  // An edge cannot roll in by more than the cap is wide, nor flesh be thicker than the cap is high.
  shape.inroll = std::min(number(values, "inroll_mm"), 0.35 * shape.cap_radius);
  if (!one_sheet) {
    shape.flesh = std::min(number(values, "flesh_mm"), 0.55 * shape.cap_radius);
    shape.margin = std::min(number(values, "margin_mm"), shape.flesh);
  } else {
    shape.flesh = shape.margin = 0.02 * shape.cap_radius;
  }
  shape.wave = number(values, "wave");
  shape.dent = number(values, "dent");
  shape.striae = number(values, "striae");
  shape.gill_count = whole(values, "gill_count");
  shape.gill_tiers = whole(values, "gill_tiers");
  shape.gill_depth = number(values, "gill_depth_mm");
  shape.attachment = attachment(text(values, "gill_attachment"));
  shape.stem_length = number(values, "stem_length_mm");
  shape.stem_radius = std::min(0.5 * number(values, "stem_diameter_mm"), 0.8 * shape.cap_radius);
  shape.bulb = number(values, "bulb_mm");
  shape.seed = seed_of(values);

  Random random(hash_bits(shape.seed, 0x1ea9u));
  const double lean = number(values, "lean_deg") * radians;
  // Leans to either side rather than to or from the front, where it would not be seen.
  const double side = random.chance(0.5) ? 1.0 : -1.0;
  const double towards = random.between(-0.9, 0.9);
  shape.tip = shape.stem_length * std::sin(lean) * glm::dvec2(side * std::cos(towards), std::sin(towards));
  const double back = number(values, "cap_tilt_deg") * radians;
  const double sideways = random.between(-0.07, 0.07);
  shape.cap_axis = glm::normalize(glm::dvec3(sideways, std::sin(back), std::cos(back)));
  return shape;
}

Mesh build(const KeyValues& values, const Setting& setting, bool one_sheet,
           const std::vector<KindPart>& parts) {
  const MushroomShape model = shape_from(values, one_sheet);
  const int count = whole(values, "count");
  std::vector<Individual> cluster(1);
  cluster[0].shape = model;
  if (count > 1) cluster = arrange_cluster(model, count, number(values, "spread_mm"));
  Mesh mesh;
  int individual = 0;
  for (const Individual& one : cluster) {
    Mesh mushroom = build_mushroom(one.shape, ++individual);
    scale_mesh(mushroom, 1e-3f);
    const glm::dvec2 base = 1e-3 * one.base;
    const glm::vec3 shift(base.x, base.y, ground_at(setting, base.x, base.y));
    for (glm::vec3& place : mushroom.position) place += shift;
    mesh.append(mushroom);
  }
  balance_tints(mesh, parts);
  return mesh;
}

struct MushroomDefaults {
  std::string profile, diameter, height, umbo, inroll, gills, tiers, depth, stem_length, stem_diameter, bulb,
      striae, tilt;
};

std::vector<KindKey> mushroom_keys(const MushroomDefaults& usual, bool one_sheet) {
  std::vector<KindKey> keys = {
      number_key("cap_diameter_mm", usual.diameter, 3, 400, "mean width of the cap, before it waves"),
      number_key("cap_height_mm", usual.height, 0.5, 300, "from the margin to the crown, without umbo"),
      choice_key("cap_profile", usual.profile, "convex cushion conic bell flat funnel",
                 "outline of the cap from the side"),
      number_key("umbo_mm", usual.umbo, 0, 60, "height of a rounded knob on the crown"),
      number_key("depression_mm", "0", 0, 150, "depth of a hollow in the crown"),
      number_key("upturn_mm", "0", 0, 60, "how far the margin has lifted with age"),
      number_key("inroll_mm", usual.inroll, 0, 40, "how far the margin curls in and down"),
      number_key("wave", "1", 0.2, 3, "how wavy and lobed the margin is; 1 is usual"),
      number_key("dent", "1", 0, 3, "how uneven the crown is; 1 is usual"),
      number_key("striae", usual.striae, 0, 1, "dark lines of the gills showing through the outer cap"),
      integer_key("gill_count", usual.gills, 6, 240, "full gills, that reach the stem"),
      integer_key("gill_tiers", usual.tiers, 0, 3, "sets of short gills between every two full ones"),
      number_key("gill_depth_mm", usual.depth, 0.1, 40, "greatest depth of a full gill"),
      choice_key("gill_attachment", "adnate", "free adnexed adnate sinuate decurrent",
                 "how the gills meet the stem"),
      number_key("stem_length_mm", usual.stem_length, 3, 500, "from the ground to the gills"),
      number_key("stem_diameter_mm", usual.stem_diameter, 0.3, 120, "at half height"),
      number_key("bulb_mm", usual.bulb, 0, 60, "how much farther the foot stands out on each side"),
      number_key("lean_deg", "6", 0, 60, "of the stem off the vertical, to the left or right by seed"),
      number_key("cap_tilt_deg", usual.tilt, -60, 60,
                 "tilts the cap back, so that from the front one sees under it"),
      integer_key("count", "1", 1, 40, "individuals; above 1 a cluster, the first the largest and oldest"),
      number_key("spread_mm", "11", 2, 3000, "radius within which the bases of a cluster stand"),
      seed_key(),
  };
  if (!one_sheet) {
    const auto after = keys.begin() + 7;
    keys.insert(after, {number_key("flesh_mm", "5", 0.2, 80, "thickness of the cap at its centre"),
                        number_key("margin_mm", "0.8", 0.1, 8, "thickness of the cap at its edge")});
  }
  return keys;
}

std::vector<KindPart> mushroom_parts() {
  return {part_of("cap", "honey_cap", false), part_of("gills", "gills", true),
          part_of("stem", "honey_stem", false)};
}

std::vector<KindPart> bonnet_parts() {
  return {part_of("cap", "bonnet_cap", true), part_of("gills", "bonnet_gills", true),
          part_of("stem", "bonnet_stem", false)};
}

}  // namespace

CapSeat::CapSeat(const MushroomShape& shape, const CapProfile& profile) {
  const double flat = glm::length(shape.tip);
  const double rise = std::sqrt(std::max(shape.stem_length * shape.stem_length - flat * flat,
                                         0.1 * shape.stem_length * shape.stem_length));
  tip_ = {shape.tip.x, shape.tip.y, rise};
  z_ = shape.cap_axis;
  x_ = glm::normalize(glm::dvec3(1, 0, 0) - z_.x * z_);
  y_ = glm::cross(z_, x_);
  // A sheet rests on the rim of the stem's top, flesh on its middle.
  seat_height_ = shape.one_sheet
                     ? profile.top(profile.q_at_way(profile.way_at_radius(1.2 * shape.stem_radius))).place.y
                     : profile.under(0).place.y;
}

glm::dvec3 CapSeat::place(const glm::dvec3& in_cap) const {
  return tip_ + in_cap.x * x_ + in_cap.y * y_ + (in_cap.z - seat_height_) * z_;
}

Mesh build_mushroom(const MushroomShape& shape, int individual) {
  const MushroomBuild build(shape, individual);
  Mesh mesh;
  add_cap(mesh, build);
  add_gills(mesh, build);
  add_stem(mesh, build);
  return mesh;
}

Kind mushroom_kind() {
  return {"mushroom", "a fleshy capped mushroom with gills, alone or in a cluster",
          mushroom_keys({"convex", "45", "17", "1.2", "1.2", "44", "2", "4.5", "55", "8", "1.6", "0", "8"},
                        false),
          mushroom_parts(), [](const KeyValues& values, const Setting& setting) {
            return build(values, setting, false, mushroom_parts());
          }};
}

Kind bonnet_kind() {
  return {"bonnet",
          "a small mushroom with a cap thin as a leaf, which light passes through; alone or in a cluster",
          mushroom_keys({"bell", "16", "13", "0.8", "0", "22", "1", "1.6", "48", "1.7", "0.2", "0.35", "4"},
                        true),
          bonnet_parts(), [](const KeyValues& values, const Setting& setting) {
            return build(values, setting, true, bonnet_parts());
          }};
}

}  // namespace undercap
