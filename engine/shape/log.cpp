// The kind 'log': a fallen stem with bark, lying along its own x axis.
#include <cmath>
#include <glm/geometric.hpp>

#include "engine/shape/kit.h"
#include "engine/shape/log_build.h"
#include "engine/shape/mesh_build.h"

namespace undercap {
namespace {

constexpr double sunk_share = 0.10;  // of the radius, into the litter

// The ground under the log as a straight line z = level + slope x, by least squares over its length, m.
struct GroundLine {
  double level = 0, slope = 0;
};

GroundLine ground_line(const Setting& setting, double length_m) {
  constexpr int samples = 9;
  double sum = 0, moment = 0, squares = 0;
  for (int i = 0; i < samples; ++i) {
    const double x = length_m * (static_cast<double>(i) / (samples - 1) - 0.5);
    const double height = ground_at(setting, x, 0);
    sum += height;
    moment += x * height;
    squares += x * x;
  }
  return {sum / samples, moment / squares};
}

Mesh build(const KeyValues& values, const Setting& setting) {
  LogShape shape;
  shape.length = number(values, "length_mm");
  shape.radius = 0.5 * number(values, "diameter_mm");
  shape.relief = std::min(number(values, "bark_relief_mm"), 0.4 * shape.radius);
  shape.plate = std::min(number(values, "plate_mm"), 2 * shape.radius);
  shape.taper = number(values, "taper");
  shape.bend = number(values, "bend_mm");
  shape.bark_loss = number(values, "bark_loss");
  shape.left_broken = shape.right_broken = text(values, "ends") == "broken";
  shape.detail = number(values, "detail");
  shape.pixel = 1e3 * setting.pixel_m;
  shape.age = number(values, "age");
  shape.bark = bark_form(text(values, "bark"));
  shape.seed = seed_of(values);

  Mesh mesh = build_log(shape);
  const GroundLine ground = ground_line(setting, 1e-3 * shape.length);
  const double axis_height = 1e-3 * shape.radius * (1 - sunk_share);
  for (glm::vec3& place : mesh.position) {
    place.z += static_cast<float>(axis_height + ground.level + ground.slope * static_cast<double>(place.x));
  }
  balance_tints(mesh, log_parts());
  return mesh;
}

}  // namespace

Kind log_kind() {
  return {"log",
          "a fallen stem with rough bark, lying along its own x axis, sunk a little into the ground",
          {number_key("length_mm", "600", 40, 5000, "over the bark, from end to end"),
           number_key("diameter_mm", "120", 15, 1500, "mean diameter over the bark"), bark_key("ridged"),
           number_key("bark_relief_mm", "5", 0, 40, "from the furrows to the tops of the plates"),
           number_key("plate_mm", "14", 4, 100,
                      "width of a ridge or a plate of bark; ridges are four times as long"),
           number_key("taper", "0.1", 0, 0.8, "share of the diameter lost from the left end to the right"),
           number_key("bend_mm", "15", 0, 500, "how far its middle is out of line"),
           number_key("bark_loss", "0.12", 0, 0.9, "share of the surface where the bark has come off"),
           choice_key("ends", "broken", "broken sawn", "torn with splinters, or cut flat"),
           number_key("age", "0.5", 0, 1, "0 fresh fallen .. 1 old: algae, lichen, rot"),
           number_key("detail", "1", 0.1, 1, "of its mesh; less will do for a log out of focus"), seed_key()},
          log_parts(),
          build};
}

}  // namespace undercap
