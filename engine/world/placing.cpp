#include "engine/world/placing.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <glm/matrix.hpp>
#include <glm/trigonometric.hpp>
#include <limits>
#include <numbers>

#include "engine/shape/kit.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

const glm::dvec3 upward(0, 0, 1);

// Bark, cracks and gills are finer than what a stem takes its direction from.
constexpr double normal_radius_m = 0.012;

// Turn about z, after a tilt about the prop's own x.
glm::dmat3 turned(double turn_rad, double tilt_rad) {
  const double ct = std::cos(turn_rad), st = std::sin(turn_rad), cx = std::cos(tilt_rad),
               sx = std::sin(tilt_rad);
  const glm::dmat3 turn(ct, st, 0, -st, ct, 0, 0, 0, 1);
  const glm::dmat3 tilt(1, 0, 0, 0, cx, sx, 0, -sx, cx);
  return turn * tilt;
}

// A frame whose columns are the world's directions of a prop's x, y and z.
glm::dmat3 frame(const glm::dvec3& y, const glm::dvec3& z) { return {glm::cross(y, z), y, z}; }

// Lying along a surface, y uphill.
glm::dmat3 lying(const glm::dvec3& normal) {
  const glm::dvec3 uphill = upward - glm::dot(upward, normal) * normal;
  const glm::dvec3 y = glm::length(uphill) > 0.05
                           ? uphill
                           : glm::dvec3(0, 1, 0) - glm::dot(glm::dvec3(0, 1, 0), normal) * normal;
  return frame(glm::normalize(y), normal);
}

// The back, +y, level in the host. 'asked' is where the scene put it, which decides where the surface is
// level.
glm::dmat3 hanging(const HostPlace& place, const glm::dvec3& normal, const glm::dvec3& asked) {
  glm::dvec3 outward(normal.x, normal.y, 0);
  if (glm::length(outward) < 0.15) outward = {asked.x - place.point_m.x, asked.y - place.point_m.y, 0};
  if (glm::length(outward) < 1e-6) outward = {0, -1, 0};
  return frame(-glm::normalize(outward), upward);
}

// Out of a flank, and never so flat that a stem would lie on it.
glm::dvec3 growth(const glm::dvec3& normal) {
  constexpr double steepest = 1.2;  // rad from upright
  const glm::dvec3 level(normal.x, normal.y, 0);
  const double angle = std::min(std::acos(std::clamp(normal.z, -1.0, 1.0)), steepest);
  if (glm::length(level) < 1e-9) return upward;
  return std::sin(angle) * glm::normalize(level) + std::cos(angle) * upward;
}

// Takes the upright to a lean of 'angle' towards the side that 'start' leans to; turns nothing about the
// axis.
glm::dmat3 leant(const glm::dvec3& start, double angle) {
  const glm::dvec3 level(start.x, start.y, 0);
  if (glm::length(level) < 1e-9) return glm::dmat3(1);
  const glm::dvec3 out = glm::normalize(level), side = glm::cross(upward, out);
  const glm::dmat3 from(out, side, upward);
  const glm::dmat3 to(std::cos(angle) * out - std::sin(angle) * upward, side,
                      std::sin(angle) * out + std::cos(angle) * upward);
  return to * glm::transpose(from);
}

double lean_of(const glm::dvec3& start) { return std::acos(std::clamp(start.z, -1.0, 1.0)); }
bool leans(const Stand& stand) { return stand.start.z < 0.995; }

class Placer {
 public:
  Placer(const Scene& scene, const Prop& prop, std::shared_ptr<const HostSurface> host)
      : scene_(scene), prop_(prop), host_(std::move(host)) {}

  double floor(double x, double y) const { return floor_height_m(scene_.ground, x, y); }

  // The place of what the prop stands on, below a place or, with a height, nearest to it. Nothing when the
  // host does not reach there.
  std::optional<HostPlace> footing(const glm::dvec2& at, const std::optional<double>& z) const {
    if (!host_) return HostPlace{{at, z ? *z : floor(at.x, at.y)}, upward};
    if (z) return host_->nearest({at, *z});
    return host_->first_along({at, host_->high().z + 1}, -upward);
  }

  Stand stand(const HostPlace& place, const glm::dvec3& asked, double turn_rad, double scale) const {
    Stand stand{.prop = &prop_, .host = host_, .values = prop_.values};
    stand.free = prop_.at_z_m && !host_;
    stand.placement.origin_m = place.point_m;
    stand.placement.scale = scale;
    const Hold hold = prop_.kind->hold;
    const glm::dvec3 normal = host_ ? host_->mean_normal(place, normal_radius_m) : upward;
    glm::dmat3 base(1);
    if (host_ && hold == Hold::lies) base = lying(normal);
    if (host_ && hold == Hold::hangs) base = hanging(place, normal, asked);
    stand.placement.turn = base * turned(turn_rad, glm::radians(prop_.tilt_deg));
    if (host_ && hold == Hold::stands && prop_.at_z_m)
      stand.start = glm::transpose(stand.placement.turn) * growth(normal);
    return stand;
  }

  [[noreturn]] void refuse_miss() const {
    const glm::dvec3 low = host_->low(), high = host_->high();
    throw Refusal(
        prop_.place,
        fmt::format("prop.{}.at_m = [{:g}, {:g}]: nothing of '{}' lies below it; that reaches from "
                    "x {:.3f} to {:.3f} and from y {:.3f} to {:.3f} m",
                    prop_.name, prop_.at_m[0], prop_.at_m[1], prop_.on, low.x, high.x, low.y, high.y));
  }

  std::vector<Stand> scattered(std::vector<std::string>& notes) const;

 private:
  const Scene& scene_;
  const Prop& prop_;
  std::shared_ptr<const HostSurface> host_;
};

// Even-odd rule: a ray toward +x crosses the outline an odd number of times from inside.
bool inside(const Rows& outline, double x, double y) {
  bool odd = false;
  for (std::size_t i = 0, j = outline.size() - 1; i < outline.size(); j = i++) {
    const auto &a = outline[i], &b = outline[j];
    if ((a[1] > y) != (b[1] > y) && x < (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]) + a[0]) odd = !odd;
  }
  return odd;
}

bool may_lie(const Prop& prop, double x, double y) {
  return (prop.within.empty() || inside(prop.within, x, y)) &&
         (prop.without.empty() || !inside(prop.without, x, y));
}

// Darts into the disc, or into the ball about a place of a host, which keep their distance (Cook 1986).
std::vector<Stand> Placer::scattered(std::vector<std::string>& notes) const {
  const Scatter& scatter = *prop_.scatter;
  const auto wanted = static_cast<std::size_t>(scatter.wanted());
  const double area = std::numbers::pi * scatter.radius_m * scatter.radius_m;
  const double spacing =
      scatter.spacing_mm ? 1e-3 * *scatter.spacing_mm : 0.5 * std::sqrt(area / static_cast<double>(wanted));
  glm::dvec2 middle(prop_.at_m[0], prop_.at_m[1]);
  constexpr double round = 2 * std::numbers::pi, roll = 0.1;  // rad: tiles of a shelf roll by 6 degrees
  Random random(hash_bits(static_cast<std::uint32_t>(scatter.seed), 0x5ca7u));
  // A place beside a host means the host's place nearest to it.
  std::optional<double> height = prop_.at_z_m;
  if (height && host_) {
    const glm::dvec3 anchor = host_->nearest({middle, *height}).point_m;
    middle = glm::dvec2(anchor);
    height = anchor.z;
  }
  std::vector<Stand> all;
  for (std::size_t dart = 0; dart < 60 * wanted && all.size() < wanted; ++dart) {
    const double angle = random.between(0, round), r = scatter.radius_m * std::sqrt(random.unit());
    const double rise = random.between(-1, 1), size = std::exp(scatter.size_spread * random.spread());
    const double turn = random.unit();
    const std::uint32_t seed = random.bits();
    const glm::dvec2 at = middle + r * glm::dvec2(std::cos(angle), std::sin(angle));
    std::optional<double> z = height;
    if (z && host_) *z += rise * std::sqrt(scatter.radius_m * scatter.radius_m - r * r);
    const auto place = footing(at, z);
    if (!place || !may_lie(prop_, place->point_m.x, place->point_m.y)) continue;
    if (z && host_ && glm::distance(place->point_m, glm::dvec3(middle, *height)) > scatter.radius_m) continue;
    if (std::any_of(all.begin(), all.end(), [&](const Stand& other) {
          return glm::distance(other.placement.origin_m, place->point_m) < spacing;
        }))
      continue;
    const bool hangs = host_ && prop_.kind->hold == Hold::hangs;
    const double turn_rad = glm::radians(prop_.turn_deg) + (hangs ? roll * (2 * turn - 1) : round * turn);
    all.push_back(stand(*place, {at, z.value_or(0)}, turn_rad, prop_.scale * size));
    if (const auto own = all.back().values.find("seed"); own != all.back().values.end())
      own->second = static_cast<double>(hash_bits(seed_of(prop_.values), seed));
  }
  if (all.size() < wanted)
    notes.push_back(fmt::format("prop.{}.scatter: {} of {} found room; widen radius_m or lessen spacing_mm",
                                prop_.name, all.size(), wanted));
  return all;
}

// The largest gap between a side of the mesh and its host, along a direction of the prop's own space. A
// corner that is inside has none, and one beyond the host's edge counts for nothing.
double gap_along(const Mesh& mesh, const Stand& stand, const glm::dvec3& own_direction) {
  const Placement& p = stand.placement;
  double least = std::numeric_limits<double>::infinity(), most = -least;
  for (const glm::vec3& place : mesh.position) {
    const double along = glm::dot(glm::dvec3(place), own_direction);
    least = std::min(least, along);
    most = std::max(most, along);
  }
  constexpr double side = 0.03;       // of the mesh's depth counts as the side that meets the host
  constexpr double most_sunk = 0.25;  // likewise
  const glm::dvec3 direction = p.turn * own_direction;
  double gap = 0;
  for (const glm::vec3& place : mesh.position) {
    if (glm::dot(glm::dvec3(place), own_direction) < most - side * (most - least)) continue;
    const glm::dvec3 corner = p.turn * (glm::dvec3(place) * p.scale) + p.origin_m;
    const auto below = stand.host->first_along(corner, direction);
    if (below && glm::dot(below->normal, direction) < 0)
      gap = std::max(gap, glm::distance(below->point_m, corner));
  }
  return std::min(gap, most_sunk * (most - least) * p.scale);
}

// Bends a mesh so that it leaves the origin along 'start' and stands upright from 'reach_m' on: its axis
// becomes an arc of a circle, as long as before, and every cross-section stays square to it.
void bend(Mesh& mesh, const glm::dvec3& start, double reach_m) {
  const double whole = lean_of(start), radius = reach_m / whole;
  const glm::dvec3 out = glm::normalize(glm::dvec3(start.x, start.y, 0));
  for (std::size_t i = 0; i < mesh.position.size(); ++i) {
    const glm::dvec3 p(mesh.position[i]);
    const double s = std::clamp(p.z, 0.0, reach_m), angle = whole * (1 - s / reach_m);
    // The arc's tangent leans by 'angle' towards 'out'; its integral from the origin, then straight on.
    const glm::dvec3 axis = radius * (std::cos(angle) - std::cos(whole)) * out +
                            radius * (std::sin(whole) - std::sin(angle)) * upward;
    const glm::dmat3 lean = leant(start, angle);
    mesh.position[i] = glm::vec3(axis + lean * glm::dvec3(p.x, p.y, p.z - s));
    if (!mesh.normal.empty()) mesh.normal[i] = glm::vec3(lean * glm::dvec3(mesh.normal[i]));
  }
}

// How wide a pixel a prop is made for, in pixels of the picture: a draft keeps nearly whole the subject,
// whose readings it gives, and what carries other props, so that they stand where they do.
double pixel_for(const Scene& scene, const Prop& prop, bool draft) {
  if (!draft) return 1;
  const std::vector<Address>& parts = scene.subject.parts;
  const bool subject = parts.empty()
                           ? &prop == &scene.props.front()
                           : std::any_of(parts.begin(), parts.end(), [&prop](const Address& address) {
                               return address.of == Address::Of::prop && address.name == prop.name;
                             });
  const bool carries = std::any_of(scene.props.begin(), scene.props.end(),
                                   [&prop](const Prop& other) { return other.on == prop.name; });
  return subject || carries ? std::numbers::sqrt2 : 12;
}

}  // namespace

std::vector<Stand> stands_of(const Scene& scene, const Prop& prop, std::shared_ptr<const HostSurface> host,
                             std::vector<std::string>& notes) {
  const Placer placer(scene, prop, std::move(host));
  if (prop.scatter) return placer.scattered(notes);
  const glm::dvec2 at(prop.at_m[0], prop.at_m[1]);
  const auto place = placer.footing(at, prop.at_z_m);
  if (!place) placer.refuse_miss();
  return {placer.stand(*place, {at, prop.at_z_m.value_or(0)}, glm::radians(prop.turn_deg), prop.scale)};
}

Setting setting_of(const Scene& scene, const Stand& stand, const View& view) {
  const Placement& p = stand.placement;
  // What will be bent is built upright on the surface that it grows from.
  const glm::dmat3 axes = p.turn * (leans(stand) ? leant(stand.start, lean_of(stand.start)) : glm::dmat3(1));
  const glm::dmat3 back = glm::transpose(axes);
  const auto world_of = [&p, axes](const glm::dvec3& own) { return axes * (own * p.scale) + p.origin_m; };
  const auto own_of = [&p, back](const glm::dvec3& world) { return back * (world - p.origin_m) / p.scale; };
  Setting setting;
  setting.up = leans(stand) ? upward : back * upward;
  setting.eye_m = own_of(view.eye_m);
  setting.pixel_m = pixel_for(scene, *stand.prop, view.draft) * view.pixel_at(p.origin_m) / p.scale;
  const auto floor = [&scene, world_of, &p](double x, double y) {
    const glm::dvec3 place = world_of({x, y, 0});
    return (floor_height_m(scene.ground, place.x, place.y) - p.origin_m.z) / p.scale;
  };
  if (stand.host) {
    const HostSurface& host = *stand.host;
    setting.nearest_on_host = [&host, world_of, own_of, back](const glm::dvec3& own) {
      const HostPlace found = host.nearest(world_of(own));
      return HostPlace{own_of(found.point_m), back * host.mean_normal(found, normal_radius_m)};
    };
    // A prop against a flank asks from close by, so as not to meet what else of the host stands there.
    const bool upright = axes[2].z > 0.999;
    const double above = upright ? (host.high().z - p.origin_m.z) / p.scale + 1 : 0.05 / p.scale;
    setting.ground_height_m = [&host, world_of, own_of, floor, upright, above, axes](double x, double y) {
      const auto found = host.first_along(world_of({x, y, above}), -axes[2]);
      if (found) return own_of(found->point_m).z;
      return upright ? floor(x, y) : 0.0;
    };
  } else if (!stand.free) {
    setting.ground_height_m = floor;
  }
  const Prop& prop = *stand.prop;
  if (!prop.within.empty() || !prop.without.empty())
    setting.allowed = [&prop, world_of](double x, double y) {
      const glm::dvec3 place = world_of({x, y, 0});
      return may_lie(prop, place.x, place.y);
    };
  return setting;
}

void settle(Mesh& mesh, Stand& stand) {
  const Kind& kind = *stand.prop->kind;
  // What lies along its host has asked where that is, and what spreads has asked for every piece.
  if (!stand.host || mesh.position.empty() || kind.spreads || kind.hold == Hold::lies) return;
  if (leans(stand)) {
    double top = 0;
    for (const glm::vec3& place : mesh.position) top = std::max(top, static_cast<double>(place.z));
    constexpr double share = 0.5;  // of its height, below the cap
    if (top > 0) bend(mesh, stand.start, share * top);
    return;
  }
  const bool hangs = kind.hold == Hold::hangs;
  const glm::dvec3 inward = hangs ? glm::dvec3(0, 1, 0) : glm::dvec3(0, 0, -1);
  stand.placement.origin_m += gap_along(mesh, stand, inward) * (stand.placement.turn * inward);
}

}  // namespace undercap
