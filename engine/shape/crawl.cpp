#include "engine/shape/crawl.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/kit.h"
#include "engine/shape/noise.h"

namespace undercap {

constexpr double pi = std::numbers::pi;

Crawl::Crawl(const Setting& setting, double reach) : setting_(setting), reach_(reach) {
  if (!setting.nearest_on_host) return;
  // How the host lies as a whole: one facet of its bark may look anywhere.
  glm::dvec3 normal(0);
  for (int i = 0; i < 26; ++i) {
    const int corner = i < 13 ? i : i + 1;  // of a cube of 27, without the middle
    const glm::dvec3 aside(corner % 3 - 1, corner / 3 % 3 - 1, corner / 9 - 1);
    normal += setting.nearest_on_host(0.4e-3 * reach * aside).normal;
  }
  normal = glm::length(normal) > 1 ? glm::normalize(normal) : glm::dvec3(0, 0, 1);
  const glm::dvec3 flat = std::abs(normal.x) < 0.9 ? glm::dvec3(1, 0, 0) : glm::dvec3(0, 1, 0);
  const glm::dvec3 x = glm::normalize(flat - glm::dot(flat, normal) * normal), y = glm::cross(normal, x);
  for (int i = 0; i < directions; ++i) {
    const double angle = 2 * pi * i / directions;
    walk(std::cos(angle) * x + std::sin(angle) * y, normal);
  }
}

// Steps of equal length; the way on is held level with the surface met so far, whose bark is smoothed out.
void Crawl::walk(glm::dvec3 ahead, const glm::dvec3& normal) {
  Foot here{1e3 * setting_.nearest_on_host(glm::dvec3(0)).point_m, normal};
  for (int ring = 0; ring <= rings; ++ring) {
    feet_.push_back(here);
    ahead = glm::normalize(ahead - glm::dot(ahead, here.normal) * here.normal);
    const HostPlace next = setting_.nearest_on_host(1e-3 * (here.place + reach_ / rings * ahead));
    // Only what looks the same way as before counts: the wall of a furrow is not the lie of the log.
    const double share = 0.35 * ramp(0.3, 1.0, glm::dot(next.normal, here.normal));
    here.normal = glm::normalize(mix(here.normal, next.normal, share));
    here.place = 1e3 * next.point_m;
  }
}

glm::dvec3 Crawl::at(const glm::dvec2& flat, double off) const {
  if (!setting_.nearest_on_host) return {flat, 1e3 * ground_at(setting_, 1e-3 * flat.x, 1e-3 * flat.y) + off};
  const double turn = std::atan2(flat.y, flat.x) / (2 * pi);
  const double way = (turn < 0 ? turn + 1 : turn) * directions;
  const double out = std::min(glm::length(flat) / reach_, 1.0) * rings;
  const int direction = std::min(static_cast<int>(way), directions - 1),
            ring = std::min(static_cast<int>(out), rings - 1);
  const double s = way - direction, t = out - ring;
  const auto between = [&](auto member) {
    return mix(mix(foot(direction, ring).*member, foot(direction + 1, ring).*member, s),
               mix(foot(direction, ring + 1).*member, foot(direction + 1, ring + 1).*member, s), t);
  };
  const HostPlace found = setting_.nearest_on_host(1e-3 * between(&Foot::place));
  return 1e3 * found.point_m + off * glm::normalize(0.5 * found.normal + between(&Foot::normal));
}

}  // namespace undercap
