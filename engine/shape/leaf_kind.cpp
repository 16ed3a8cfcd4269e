// The kind 'leaf': one fallen leaf, to be put where one wants it.
#include <cmath>
#include <numbers>

#include "engine/shape/kit.h"
#include "engine/shape/leaf.h"
#include "engine/shape/leaf_bed.h"
#include "engine/shape/litter.h"
#include "engine/shape/mesh_build.h"

namespace undercap {
namespace {

constexpr double degree = std::numbers::pi / 180;

std::vector<KindPart> leaf_parts() { return {part_of("leaf", "litter_leaf", true)}; }

LeafForm form_of(const std::string& word) {
  if (word == "lobed") return LeafForm::lobed;
  if (word == "toothed") return LeafForm::toothed;
  if (word == "palmate") return LeafForm::palmate;
  return word == "narrow" ? LeafForm::narrow : LeafForm::elliptic;
}

Mesh build_leaf(const KeyValues& values, const Setting& setting) {
  Random random(hash_bits(seed_of(values), 0x1eafu));
  const double length = number(values, "length_mm"), curl = number(values, "curl");
  LeafShape shape = fallen_leaf(random, length, 1 - std::min(curl, 1.0), 0);
  shape.form = form_of(text(values, "form"));
  shape.length = length;
  shape.age = number(values, "age");
  curl_up(shape, random, curl);
  const double tilt = 0.12 * curl;
  Pose pose{tilt * random.spread(), tilt * random.spread() + degree * number(values, "tip_deg"), 0};
  if (flag(values, "face_down")) pose.roll += std::numbers::pi;
  const double pixels = setting.pixel_m > 0 ? 1e-3 * length / setting.pixel_m : 1e9;
  Mesh leaf = pixels > 300  ? leaf_mesh(shape, 41, 15)
              : pixels > 70 ? leaf_mesh(shape, 25, 9)
                            : leaf_mesh(shape, 13, 5);
  const LeafBed bed([&](double x, double y) { return 1e3 * ground_at(setting, 1e-3 * x, 1e-3 * y); }, length);
  pose.slope = bed.slope({0, 0}, length);
  turn_and_move(leaf, pose, {0, 0});
  raise(leaf, bed.lift(leaf, 0) + 0.2);
  scale_mesh(leaf, 1e-3f);
  balance_tints(leaf, leaf_parts());
  return leaf;
}

}  // namespace

Kind leaf_kind() {
  return {"leaf",
          "one fallen leaf, tip away from the front, its middle at its place",
          {choice_key("form", "elliptic", "elliptic lobed toothed palmate narrow",
                      "outline: wavy ellipse, rounded lobes, toothed rhomb, five-lobed hand, lance"),
           number_key("length_mm", "70", 8, 300, "of the blade, flat, without the stalk"),
           number_key("curl", "0.8", 0, 2, "0 flat and wet, 1 usual, 2 dry and rolled up"),
           number_key("age", "0.5", 0, 1, "0 just fallen, 1 spotted and dark at the margin"),
           number_key("tip_deg", "0", -90, 90, "raises the tip, as where it leans on something"),
           boolean_key("face_down", "false", "shows its under side"), seed_key()},
          leaf_parts(),
          build_leaf};
}

}  // namespace undercap
