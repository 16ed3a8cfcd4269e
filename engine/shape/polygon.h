// A polygon in space cut into triangles.
#pragma once

#include <array>
#include <cstddef>
#include <glm/vec3.hpp>
#include <optional>
#include <vector>

namespace undercap {

// The corners of its triangles, counter-clockwise as the polygon's own, by ear clipping (Meisters 1975, 'two
// ears') in the plane of the polygon's vector area. n corners give n - 2 triangles, some of them without area
// where corners coincide or lie on a line. Nothing where the outline crosses itself.
std::optional<std::vector<std::array<std::size_t, 3>>> cut_polygon(const std::vector<glm::dvec3>& corner);

}  // namespace undercap
