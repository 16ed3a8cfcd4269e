// The kind 'stump': what stays in the ground of a felled or broken tree. A log set upright on its roots.
#include <cmath>
#include <utility>

#include "engine/shape/kit.h"
#include "engine/shape/log_build.h"
#include "engine/shape/mesh_build.h"

namespace undercap {
namespace {

Mesh build(const KeyValues& values, const Setting& setting) {
  LogShape shape;
  shape.radius = 0.5 * number(values, "diameter_mm");
  // Deep enough for ground that falls away under the roots.
  shape.root_depth = 0.35 * shape.radius + 20;
  shape.length = number(values, "height_mm") + shape.root_depth;
  shape.root_flare = number(values, "root_flare");
  shape.relief = std::min(number(values, "bark_relief_mm"), 0.3 * shape.radius);
  shape.plate = std::min(number(values, "plate_mm"), 2 * shape.radius);
  shape.bark = bark_form(text(values, "bark"));
  shape.bark_loss = number(values, "bark_loss");
  shape.taper = 0.12;
  shape.bend = 0.04 * shape.length;
  shape.age = number(values, "age");
  shape.left_broken = false;
  shape.right_broken = text(values, "top") == "broken";
  shape.pixel = 1e3 * setting.pixel_m;
  shape.seed = seed_of(values);
  Mesh mesh = build_log(shape);
  // The log's right end is the stump's top.
  const auto upright = [](const glm::vec3& p) { return glm::vec3(-p.z, p.y, p.x); };
  const auto lift =
      static_cast<float>(1e-3 * (0.5 * shape.length - shape.root_depth) + ground_at(setting, 0, 0));
  for (glm::vec3& p : mesh.position) p = upright(p) + glm::vec3(0, 0, lift);
  for (glm::vec3& n : mesh.normal) n = upright(n);
  mesh.parts[mesh.part_index("bark")].pattern.upright = true;
  balance_tints(mesh, log_parts());
  return mesh;
}

}  // namespace

Kind stump_kind() {
  return {"stump",
          "a stump on spreading roots, felled or broken off",
          {number_key("height_mm", "260", 20, 3000, "from the ground to the highest point of its bark"),
           number_key("diameter_mm", "280", 30, 2000, "mean diameter over the bark, above the roots"),
           number_key("root_flare", "0.6", 0, 2, "how far the roots spread at the ground, in radii"),
           choice_key("top", "sawn", "sawn broken", "cut flat, or torn with splinters"), bark_key("ridged"),
           number_key("bark_relief_mm", "8", 0, 60, "from the furrows to the tops of the plates"),
           number_key("plate_mm", "22", 4, 200, "width of a ridge or a plate of bark"),
           number_key("bark_loss", "0.15", 0, 0.9, "share of the surface where the bark has come off"),
           number_key("age", "0.6", 0, 1, "0 fresh .. 1 old: algae, lichen, rot"), seed_key()},
          log_parts(),
          build};
}

}  // namespace undercap
