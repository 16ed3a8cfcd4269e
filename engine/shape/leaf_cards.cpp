// The kind 'leaf_cards': thin branches in leaf that hang into the view from crowns above, 3 to 14 m away.
// Blurred, each leaf before the sky or before dark stems is a disc of the iris. Lengths in mm.
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/spray.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

std::vector<KindPart> card_parts() {
  return {part_of("leaf", "thicket_leaf", true), part_of("twig", "thicket_twig", false)};
}

Mesh build(const KeyValues& values, const Setting& setting) {
  const std::uint32_t seed = seed_of(values);
  Random random(hash_bits(seed, 0xca4du));
  const double width = 1e3 * number(values, "width_m"), depth = 1e3 * number(values, "depth_m");
  const double low = 1e3 * number(values, "low_m"), high = 1e3 * number(values, "high_m");
  const double leaf_length = number(values, "leaf_length_mm");
  const LeafColours colours{number(values, "yellow_share"), number(values, "green_share")};
  Mesh mesh;
  const SprayParts parts{mesh.part_index("leaf"), mesh.part_index("twig")};
  for (int left = whole(values, "count"); left > 0;) {
    Spray spray;
    spray.leaves = std::min(left, 6 + static_cast<int>(7 * random.unit()));
    left -= spray.leaves;
    spray.leaf_length = leaf_length;
    spray.colours = colours;
    const double back = depth * std::sqrt(random.unit());
    const double across = (random.unit() - 0.5) * (width + number(values, "fan") * back);
    // Most hang high; 'low_share' of them come down to the lowest height.
    const double share = random.chance(number(values, "low_share")) ? 0.35 * random.unit() : random.unit();
    const double towards = random.between(0, 2 * pi), length = leaf_length * random.between(3.5, 7);
    spray.reach = length * glm::normalize(glm::dvec3(std::cos(towards), std::sin(towards), -0.5));
    spray.droop = 0.45 * length * random.unit();
    spray.start = {across, back - 0.5 * depth, mix(low, std::max(low, high), share) + length};
    spray.small = 8e3 * pixel_at(setting, 1e-3 * spray.start) > leaf_length;
    const double hung = 4 * length;
    const glm::dvec3 sway{0.1 * hung * random.spread(), 0.1 * hung * random.spread(), 0};
    add_rod(
        mesh, parts.twig,
        {spray.start + glm::dvec3(0, 0, hung) + sway, spray.start + glm::dvec3(0, 0, 0.5 * hung) + 0.3 * sway,
         spray.start - glm::dvec3(0, 0, spray.radius)},
        2 * spray.radius, spray.radius, 4, glm::vec3(1));
    add_spray(mesh, parts, spray, random);
  }
  smooth_normals(mesh);
  scale_mesh(mesh, 1e-3f);
  mesh.parts[parts.leaf].pattern = spray_leaf_pattern(leaf_length, seed);
  mesh.parts[parts.twig].pattern = spray_twig_pattern(seed);
  balance_tints(mesh, card_parts());
  return mesh;
}

}  // namespace

Kind leaf_cards_kind() {
  return {"leaf_cards",
          "branches in leaf hanging into the view from above; blurred, each leaf becomes a disc of the iris",
          {integer_key("count", "1500", 1, 20000, "leaves, on branches of 6 to 12"),
           number_key("width_m", "3", 0.1, 60, "over which they hang, at the front"),
           number_key("depth_m", "8", 0, 60, "from the front to the back, the base in the middle"),
           number_key("fan", "0.4", 0, 4, "how much wider for each m farther back"),
           number_key("low_m", "0.4", 0, 20, "lowest leaf above the base"),
           number_key("high_m", "4.5", 0, 30, "highest branch above the base"),
           number_key("low_share", "0.1", 0, 1, "share that hangs in the lowest third"),
           number_key("leaf_length_mm", "60", 8, 250, "mean length of a blade"),
           number_key("yellow_share", "0.55", 0, 1, "share of the leaves turned yellow"),
           number_key("green_share", "0.2", 0, 1, "share of the leaves still green"), seed_key()},
          card_parts(),
          build};
}

}  // namespace undercap
