// The kind 'twig': one dead twig with its side twigs, lying on the ground.
#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/twig.h"

namespace undercap {
namespace {

std::vector<KindPart> twig_parts() { return {part_of("twig", "litter_twig", false)}; }

Mesh build_twig(const KeyValues& values, const Setting& setting) {
  const double thick = number(values, "diameter_mm");
  const double pixels = setting.pixel_m > 0 ? 1e-3 * thick / setting.pixel_m : 1e9;
  TwigShape shape;
  shape.length = number(values, "length_mm");
  shape.radius = 0.5 * thick;
  shape.sides = pixels > 30 ? 14 : pixels > 8 ? 8 : 5;
  shape.orders = whole(values, "orders");
  shape.seed = seed_of(values);
  Mesh twig = make_twig(shape);
  for (glm::vec3& p : twig.position) {
    // The ground a little inwards, so that a twig bridges hollows rather than follow them.
    const double x = static_cast<double>(p.x), y = static_cast<double>(p.y);
    p.z += static_cast<float>(1e3 * ground_at(setting, 0.8e-3 * x, 0.8e-3 * y));
  }
  smooth_normals(twig);
  scale_mesh(twig, 1e-3f);
  balance_tints(twig, twig_parts());
  return twig;
}

}  // namespace

Kind twig_kind() {
  return {"twig",
          "a dead twig with side twigs, lying along its x axis",
          {number_key("length_mm", "160", 10, 1500, "of the main twig, about"),
           number_key("diameter_mm", "4", 0.5, 40, "where it is thickest"),
           integer_key("orders", "2", 1, 3, "1 without side twigs, 2 with them, 3 with theirs"), seed_key()},
          twig_parts(),
          build_twig};
}

}  // namespace undercap
