#include "engine/report/outlines.h"

#include <algorithm>
#include <array>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <limits>
#include <map>
#include <string_view>

#include "engine/report/mask.h"
#include "engine/report/places.h"

namespace undercap {
namespace {

// More individuals than these are one silhouette: a carpet, not a group.
constexpr int most_individuals = 64;
// A raster finer than this shows nothing on paper, m.
constexpr double finest_cell_m = 2.5e-4;

constexpr std::uint32_t no_body = 0xffffffffu;

// What gets a silhouette of its own.
struct Body {
  std::size_t outline = 0;  // into the result
  bool flat = false;        // its hull is its silhouette, and may be a line
  glm::dvec2 low{std::numeric_limits<double>::infinity()}, high{-std::numeric_limits<double>::infinity()};
  std::vector<std::uint32_t> triangles{};  // within reach
};

struct Bodies {
  std::vector<PropOutline> outline;
  std::vector<Body> body;
  std::vector<std::uint32_t> of_part;  // no_body: not drawn
};

bool is_drawn(std::string_view kind) {
  constexpr std::array<std::string_view, 4> left_out{"litter", "leaf_cards", "haze", "thicket"};
  return std::find(left_out.begin(), left_out.end(), kind) == left_out.end();
}

bool is_flat(std::string_view kind) { return kind == "card" || kind == "plane" || kind == "disc"; }

Bodies bodies_of(const World& world) {
  Bodies bodies;
  bodies.of_part.assign(world.parts.size(), no_body);
  for (const Prop& prop : world.scene.props) {
    if (!prop.visible || !prop.kind || !is_drawn(prop.kind->name)) continue;
    const std::vector<std::uint32_t> parts = parts_of(world, {Address::Of::prop, prop.name, 0, {}});
    if (parts.empty()) continue;
    PropOutline outline{.prop = prop.name, .rings_m = {}};
    int individuals = 0;
    for (const std::uint32_t part : parts) {
      individuals = std::max(individuals, world.parts[part].individual);
      outline.subject |= std::binary_search(world.subject.begin(), world.subject.end(), part);
    }
    std::map<int, std::uint32_t> made;
    for (const std::uint32_t part : parts) {
      const int individual = individuals <= most_individuals ? world.parts[part].individual : 0;
      const auto [found, is_new] = made.emplace(individual, static_cast<std::uint32_t>(bodies.body.size()));
      if (is_new) bodies.body.push_back({.outline = bodies.outline.size(), .flat = is_flat(prop.kind->name)});
      bodies.of_part[part] = found->second;
    }
    outline.low_m = std::numeric_limits<double>::infinity();
    outline.high_m = -std::numeric_limits<double>::infinity();
    bodies.outline.push_back(std::move(outline));
  }
  return bodies;
}

// Andrew's monotone chain, 1979.
std::vector<glm::dvec2> hull_of(std::vector<glm::dvec2> points) {
  std::sort(points.begin(), points.end(),
            [](const glm::dvec2& a, const glm::dvec2& b) { return a.x != b.x ? a.x < b.x : a.y < b.y; });
  std::vector<glm::dvec2> hull;
  const auto left_of = [](const glm::dvec2& a, const glm::dvec2& b, const glm::dvec2& p) {
    return (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x) > 0;
  };
  const auto go_over = [&](auto from, auto to) {
    const std::size_t first = hull.size();
    for (; from != to; ++from) {
      while (hull.size() >= first + 2 && !left_of(hull[hull.size() - 2], hull.back(), *from)) hull.pop_back();
      hull.push_back(*from);
    }
    if (!hull.empty()) hull.pop_back();
  };
  go_over(points.begin(), points.end());
  go_over(points.rbegin(), points.rend());
  return hull;
}

// What of the world lies about a place, by body.
template <class Projection>
void gather(const World& world, const glm::dvec3& look, double within_m, const Projection& project,
            Bodies& bodies) {
  const glm::vec3 nearest(look - within_m), furthest(look + within_m);
  for (std::uint32_t i = 0; i < world.triangle.size(); ++i) {
    const WorldTriangle& t = world.triangle[i];
    const std::uint32_t number = bodies.of_part[t.part];
    if (number == no_body) continue;
    const glm::vec3 &a = world.position[t.a], &b = world.position[t.b], &c = world.position[t.c];
    const glm::vec3 low = glm::min(a, glm::min(b, c)), high = glm::max(a, glm::max(b, c));
    if (low.x > furthest.x || low.y > furthest.y || low.z > furthest.z || high.x < nearest.x ||
        high.y < nearest.y || high.z < nearest.z)
      continue;
    Body& body = bodies.body[number];
    body.triangles.push_back(i);
    for (const glm::vec3* place : {&a, &b, &c}) {
      const glm::dvec2 p = project(glm::dvec3(*place));
      body.low = glm::min(body.low, p);
      body.high = glm::max(body.high, p);
    }
    PropOutline& outline = bodies.outline[body.outline];
    outline.low_m = std::min(outline.low_m, std::max<double>(low.z, nearest.z));
    outline.high_m = std::max(outline.high_m, std::min<double>(high.z, furthest.z));
  }
}

// Individuals that stand close together are one silhouette: lines through one another would be a blot.
void join_close_ones(std::vector<Body>& bodies) {
  constexpr double close_m = 0.4;
  for (std::size_t first = 0, end = 0; first < bodies.size(); first = end) {
    Body all = bodies[first];
    for (end = first + 1; end < bodies.size() && bodies[end].outline == all.outline; ++end) {
      all.low = glm::min(all.low, bodies[end].low);
      all.high = glm::max(all.high, bodies[end].high);
    }
    if (std::max(all.high.x - all.low.x, all.high.y - all.low.y) > close_m) continue;
    for (std::size_t i = first + 1; i < end; ++i) {
      all.triangles.insert(all.triangles.end(), bodies[i].triangles.begin(), bodies[i].triangles.end());
      bodies[i].triangles.clear();
    }
    bodies[first] = std::move(all);
  }
}

template <class Projection>
std::vector<std::vector<glm::dvec2>> rings_of(const World& world, const Body& body, const glm::dvec2& low,
                                              const glm::dvec2& high, const Projection& project) {
  const auto corners = [&](std::uint32_t i) {
    const WorldTriangle& t = world.triangle[i];
    return std::array{project(glm::dvec3(world.position[t.a])), project(glm::dvec3(world.position[t.b])),
                      project(glm::dvec3(world.position[t.c]))};
  };
  if (body.flat) {
    std::vector<glm::dvec2> points;
    for (const std::uint32_t i : body.triangles)
      for (const glm::dvec2& p : corners(i)) points.push_back(p);
    return {hull_of(std::move(points))};
  }
  if (low.x >= high.x || low.y >= high.y) return {};
  Mask mask(low, high, outline_cells, finest_cell_m);
  for (const std::uint32_t i : body.triangles) {
    const auto p = corners(i);
    mask.cover_triangle(p[0], p[1], p[2]);
  }
  mask.settle();
  return mask.contours();
}

template <class Projection>
std::vector<PropOutline> outlines(const World& world, double within_m, const Projection& project) {
  const glm::dvec3 look = look_at_place(world);
  const glm::dvec2 middle = project(look);
  Bodies bodies = bodies_of(world);
  gather(world, look, within_m, project, bodies);
  join_close_ones(bodies.body);
  for (const Body& body : bodies.body) {
    if (body.triangles.empty()) continue;
    std::vector<std::vector<glm::dvec2>>& rings = bodies.outline[body.outline].rings_m;
    for (auto& ring : rings_of(world, body, glm::max(body.low, middle - within_m),
                               glm::min(body.high, middle + within_m), project))
      rings.push_back(std::move(ring));
  }
  std::erase_if(bodies.outline, [](const PropOutline& outline) { return outline.rings_m.empty(); });
  return std::move(bodies.outline);
}

}  // namespace

std::vector<PropOutline> plan_outlines(const World& world, double within_m) {
  return outlines(world, within_m, [](const glm::dvec3& place) { return glm::dvec2(place.x, place.y); });
}

std::vector<PropOutline> elevation_outlines(const World& world, const glm::dvec2& forward, double within_m) {
  return outlines(world, within_m, [&](const glm::dvec3& place) {
    return glm::dvec2(place.x * forward.x + place.y * forward.y, place.z);
  });
}

}  // namespace undercap
