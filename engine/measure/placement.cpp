#include "engine/measure/placement.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <limits>
#include <numbers>

#include "engine/core/errors.h"
#include "engine/measure/exposing.h"
#include "engine/measure/readings.h"

namespace undercap {
namespace {

constexpr double degrees = 180 / std::numbers::pi;

bool contains(const std::vector<std::uint32_t>& sorted, std::uint32_t part) {
  return std::binary_search(sorted.begin(), sorted.end(), part);
}

// Points in the order of a curve that keeps neighbours together (Morton 1966, from memory).
struct Seen {
  std::uint32_t order = 0;
  SeenPoint point;
};
std::uint32_t morton(unsigned x, unsigned y) {
  std::uint32_t code = 0;
  for (unsigned bit = 0; bit < 16; ++bit)
    code |= ((x >> bit) & 1u) << (2 * bit) | ((y >> bit) & 1u) << (2 * bit + 1);
  return code;
}

// As many as wanted, evenly along the curve.
void append_spread(std::vector<Seen>& from, unsigned wanted, std::vector<SeenPoint>& to) {
  std::stable_sort(from.begin(), from.end(), [](const Seen& a, const Seen& b) { return a.order < b.order; });
  const std::size_t count = std::min<std::size_t>(wanted, from.size());
  for (std::size_t i = 0; i < count; ++i) to.push_back(from[(2 * i + 1) * from.size() / (2 * count)].point);
}

// Means of the darkest and the brightest of so many equal parts. Means, not percentiles: light that meets
// little of a target is all in its brightest part.
struct Ends {
  double dark = 0, bright = 0;
};
Ends ends_of(std::vector<double> values, std::size_t parts) {
  std::sort(values.begin(), values.end());
  const std::size_t count = std::max<std::size_t>(1, values.size() / parts);
  Ends ends;
  for (std::size_t i = 0; i < count; ++i) {
    ends.dark += values[i] / static_cast<double>(count);
    ends.bright += values[values.size() - 1 - i] / static_cast<double>(count);
  }
  return ends;
}

// (1 + a l / m) / (1 + a d / m) = 2^s for the means l and d of the brightest and the darkest third of the
// lamp's light, m that of all: a = (2^s - 1) m / (l - 2^s d). None where the lamp is too even for it.
std::optional<double> added_for_sides(const std::vector<double>& lux, double mean, double stops) {
  const Ends thirds = ends_of(lux, 3);
  const double apart = thirds.bright - std::exp2(stops) * thirds.dark;
  if (apart <= 0) return std::nullopt;
  return (std::exp2(stops) - 1) * mean / apart;
}

double rise_of(double added, double before) { return std::log2(1 + added / before); }

}  // namespace

std::string_view limit_words(PlaceLimit limit) {
  switch (limit) {
    case PlaceLimit::in_picture:
      return "the lamp would be in the picture";
    case PlaceLimit::in_the_way:
      return "it would touch something";
    case PlaceLimit::photographer:
      return "the photographer is there";
    case PlaceLimit::near_subject:
      return "too near to the subject";
    case PlaceLimit::near_axis:
      return "too near to the lens axis";
    case PlaceLimit::out_of_reach:
      return "out of a hand's reach";
    case PlaceLimit::arm_in_picture:
      return "the arm would be in the picture";
    case PlaceLimit::flat:
      return "too near to the camera's direction";
    case PlaceLimit::no_light:
      return "hardly any light arrives";
    case PlaceLimit::spill:
      return "too much spill";
    case PlaceLimit::power:
      return "more power than the lamp has";
    case PlaceLimit::even:
      return "too even for sides that differ so";
  }
  return "";
}

double lamp_radius(const Lamp& lamp) {
  constexpr double rim_m = 0.004;
  return rim_m + (lamp.rectangle ? std::hypot(lamp.half_width_m, lamp.half_height_m) : lamp.half_width_m);
}

namespace {

// A place in the camera's own axes, m: right, up, ahead of the entrance pupil.
glm::dvec3 from_camera(const CameraRig& rig, const glm::dvec3& place_m) {
  const glm::dvec3 off = place_m - rig.pupil_m;
  return {glm::dot(off, rig.right), glm::dot(off, rig.up), glm::dot(off, rig.forward)};
}

// Whether a ball meets the rays that make the picture: from the whole pupil through the frame in focus, with
// all that is out of focus.
bool meets_frame(const CameraRig& rig, const glm::dvec3& in_camera, double radius_m) {
  if (in_camera.z < -radius_m) return false;
  const double ahead = std::max(in_camera.z, 0.0), focus = rig.pupil_distance.value();
  const double pupil = entrance_pupil_diameter(rig.lens).value() / 2 * std::abs(1 - ahead / focus);
  const auto beyond = [&](double off, double half_tan) {
    // Distance from the side of the pyramid, which leans by half_tan.
    return (std::abs(off) - half_tan * ahead - pupil) / std::hypot(1, half_tan);
  };
  return std::max(beyond(in_camera.x, rig.width / rig.image_distance / 2),
                  beyond(in_camera.y, rig.height / rig.image_distance / 2)) < radius_m;
}

bool arm_shows(const World& world, const glm::dvec3& in_camera) {
  constexpr double arm_radius_m = 0.04, hand_m = 0.09;  // the hand is behind the lamp's front
  const glm::dvec3 shoulder(in_camera.x < 0 ? -shoulder_beside_m : shoulder_beside_m, -0.05,
                            -shoulder_behind_m);
  const double length = glm::distance(shoulder, in_camera);
  constexpr int steps = 24;
  for (int i = 0; i <= steps; ++i) {
    const double share = std::max(0.0, 1 - hand_m / length) * i / steps;
    const glm::dvec3 place = shoulder + share * (in_camera - shoulder);
    if (place.z > 0 && meets_frame(world.camera, place, arm_radius_m)) return true;
  }
  return false;
}

}  // namespace

double axis_angle_deg(const CameraRig& rig, const glm::dvec3& target_m, const glm::dvec3& place_m) {
  const glm::dvec3 to_camera = glm::normalize(rig.pupil_m - target_m), way = place_m - target_m;
  const double cosine = glm::dot(way, to_camera) / std::max(glm::length(way), 1e-9);
  return std::acos(std::clamp(cosine, -1.0, 1.0)) * degrees;
}

PlaceLimits geometric_limits(const World& world, const PlaceWish& wish, const glm::dvec3& target_m,
                             const glm::dvec3& place_m, double radius_m) {
  const CameraRig& rig = world.camera;
  const glm::dvec3 in_camera = from_camera(rig, place_m);
  const double off_axis = std::hypot(in_camera.x, in_camera.y);
  // The lens, with or without a barrel that takes light, and a head and shoulders behind it.
  constexpr double body_half_m = 0.25, behind_m = 0.05, lens_behind_m = 0.15;
  const double lens_m = world.scene.camera.front_diameter_mm * 0.5e-3;
  PlaceLimits limits = 0;
  if (meets_frame(rig, in_camera, radius_m)) limits = limits | PlaceLimit::in_picture;
  const bool in_lens = in_camera.z > -lens_behind_m && in_camera.z < rig.clear_ahead.value() + radius_m &&
                       off_axis < lens_m + radius_m;
  const bool in_body = in_camera.z < -behind_m && off_axis < body_half_m + radius_m;
  if (in_lens || in_body) limits = limits | PlaceLimit::photographer;
  if (in_camera.z > 0 && in_camera.z < glm::distance(rig.pupil_m, target_m) &&
      off_axis - radius_m < wish.off_axis_m)
    limits = limits | PlaceLimit::near_axis;
  if (wish.hand && glm::length(in_camera) > hand_reach_m) limits = limits | PlaceLimit::out_of_reach;
  if (wish.hand && arm_shows(world, in_camera)) limits = limits | PlaceLimit::arm_in_picture;
  if (axis_angle_deg(rig, target_m, place_m) < wish.least_angle_deg) limits = limits | PlaceLimit::flat;
  return limits;
}

Placement::Placement(const LightProbe& probe, Tracer& tracer, const World& world, const Survey& base,
                     const Mix& without, PlaceWish wish, Counts counts)
    : probe_(probe), world_(world), wish_(std::move(wish)) {
  choose_points(tracer, counts);
  if (targets_ == 0)
    throw Refusal("the camera sees nothing of the target; choose another target, or move the camera");
  for (std::size_t i = 0; i < targets_; ++i)
    middle_m_ += glm::dvec3(points_[i].place_m()) / static_cast<double>(targets_);
  RegionSums target(world.groups.size());
  for (const std::uint32_t part : wish_.target) target.merge(base.part[part]);
  const auto luminance = mean_luminance(target, without);
  if (!luminance || !(luminance->value > 0))
    throw Refusal(
        "the target gets no light without the lamp, so that no lamp raises it by stops; turn sky or sun on");
  target_ = *luminance;
  const auto light_of = [&](const RegionSums& region) -> std::optional<double> {
    const auto mean = mean_luminance(region, without);
    if (!mean || !(mean->value > 0)) return std::nullopt;
    return mean->value;
  };
  backdrop_ = light_of(base.backdrop);
  foreground_ = light_of(base.foreground);
}

void Placement::choose_points(Tracer& tracer, const Counts& counts) {
  constexpr int height = 96;
  constexpr unsigned most_looks = 32;
  const View view{
      .width =
          std::max(16, static_cast<int>(std::lround(height * (world_.camera.width / world_.camera.height)))),
      .height = height};
  const double focus = world_.camera.pupil_distance.value();
  std::vector<Seen> target, backdrop, foreground;
  // A small target takes more looks.
  for (unsigned look = 0; look < most_looks && (look < 2 || target.size() < 8 * counts.target); ++look) {
    const std::vector<SeenPoint> seen =
        probe_.see(tracer, view, look, static_cast<std::uint32_t>(world_.scene.seed));
    for (std::size_t i = 0; i < seen.size(); ++i) {
      if (!seen[i].met()) continue;
      const auto width = static_cast<std::size_t>(view.width);
      const Seen point{morton(static_cast<unsigned>(i % width), static_cast<unsigned>(i / width)), seen[i]};
      const std::uint32_t part = seen[i].part();
      const bool subject = contains(world_.subject, part);
      if (contains(wish_.target, part)) target.push_back(point);
      if (subject || look >= 2) continue;
      const bool behind = world_.backdrop ? contains(*world_.backdrop, part)
                                          : static_cast<double>(seen[i].distance_m()) > focus;
      (behind ? backdrop : foreground).push_back(point);
    }
  }
  append_spread(target, counts.target, points_);
  targets_ = points_.size();
  append_spread(backdrop, counts.backdrop, points_);
  backdrops_ = points_.size() - targets_;
  append_spread(foreground, counts.foreground, points_);
}

namespace {

// Rays from the pupil to a ball: to points of its rim as the pupil sees it, from the pupil's edge on that
// side and on the other and from its middle; and to points within the rim. What is hidden from all of them is
// hidden but for chinks.
constexpr std::size_t rim_points = 24, inner_points = 8, sights = 3 * rim_points + inner_points;
void add_sights(const CameraRig& rig, const glm::dvec3& place_m, double radius_m,
                std::vector<ProbeRay>& rays) {
  constexpr double a_hair = 1.03;  // so that between two points of the rim nothing shows
  const double pupil = entrance_pupil_diameter(rig.lens).value() / 2;
  const auto add = [&](const glm::dvec3& from, const glm::dvec3& to) {
    const glm::dvec3 line = glm::normalize(to - from);
    // Camera rays begin past the barrel's front.
    const double skipped = rig.clear_ahead.value() / std::max(glm::dot(line, rig.forward), 1e-3);
    rays.push_back({glm::vec3(from + skipped * line), glm::vec3(line),
                    static_cast<float>(std::max(glm::distance(from, to) - skipped, 0.0))});
  };
  for (std::size_t i = 0; i < rim_points + inner_points; ++i) {
    const bool inner = i >= rim_points;
    const double angle = 2 * std::numbers::pi * static_cast<double>(i) /
                         static_cast<double>(inner ? inner_points : rim_points);
    const glm::dvec3 side = std::cos(angle) * rig.right + std::sin(angle) * rig.up;
    const glm::dvec3 to = place_m + side * radius_m * (inner ? 0.5 : a_hair);
    add(rig.pupil_m, to);
    if (inner) continue;
    add(rig.pupil_m + pupil * side, to);
    add(rig.pupil_m - pupil * side, to);
  }
}

}  // namespace

// What stands where the lamp would, and what hides it from the camera.
void Placement::find_room(Tracer& tracer, double radius_m, std::vector<PlaceFields>& places) const {
  const auto radius = static_cast<float>(radius_m);
  std::vector<glm::vec3> centres;
  std::vector<ProbeRay> sight;
  std::vector<PlaceFields*> seen;
  for (PlaceFields& place : places) {
    centres.emplace_back(place.position_m);
    if (!has(place.limits, PlaceLimit::in_picture)) continue;
    seen.push_back(&place);
    add_sights(world_.camera, place.position_m, radius_m, sight);
  }
  const std::vector<float> free = probe_.room(tracer, centres, radius), open = probe_.reach(tracer, sight);
  for (std::size_t i = 0; i < places.size(); ++i)
    if (free[i] < radius) places[i].limits = places[i].limits | PlaceLimit::in_the_way;
  for (std::size_t i = 0; i < seen.size(); ++i) {
    bool shows = false;
    for (std::size_t k = 0; k < sights; ++k)
      shows = shows || !(open[i * sights + k] < sight[i * sights + k].length_m);
    if (shows) continue;
    seen[i]->hidden = true;
    seen[i]->limits &= static_cast<PlaceLimits>(~static_cast<PlaceLimits>(PlaceLimit::in_picture));
  }
}

void Placement::measure_light(Tracer& tracer, const ProbeLamp& lamp, double full_peak,
                              std::vector<PlaceFields*> places, unsigned samples) const {
  std::vector<LampPlace> poses;
  for (const PlaceFields* place : places) poses.push_back({place->position_m, place->direction});
  const std::vector<Received> all = probe_.light(tracer, lamp, poses, points_, samples);
  const double width_m = lamp.lamp.rectangle ? std::sqrt(lamp.lamp.area()) : 2 * lamp.lamp.half_width_m;
  constexpr double hardly_lit = 0.02;
  for (std::size_t i = 0; i < places.size(); ++i) {
    PlaceFields& place = *places[i];
    const std::span<const Received> got = std::span(all).subspan(i * points_.size(), points_.size());
    double share = 0;
    std::vector<double> lux, penumbra;
    const auto mean = [&](std::size_t from, std::size_t count) {
      double sum = 0;
      for (std::size_t k = from; k < from + count; ++k) sum += static_cast<double>(got[k].luminance);
      return count > 0 ? sum / static_cast<double>(count) : 0;
    };
    double lux_sum = 0;
    for (std::size_t k = 0; k < targets_; ++k) {
      share += static_cast<double>(got[k].share) / static_cast<double>(targets_);
      lux.push_back(static_cast<double>(got[k].lux));
      lux_sum += lux.back();
      if (got[k].penumbra_ratio >= 0)
        penumbra.push_back(static_cast<double>(got[k].penumbra_ratio) * width_m * 1e3);
    }
    place.target_cd_m2 = mean(0, targets_);
    place.lit_share = share;
    if (!penumbra.empty()) place.penumbra_mm = percentile_in(penumbra, 50);
    place.size_deg = 2 * std::atan(width_m / 2 / place.distance_m) * degrees;
    if (place.target_cd_m2 <= 0 || share < hardly_lit) place.limits = place.limits | PlaceLimit::no_light;
    if (place.target_cd_m2 <= 0) {
      place.power_pct = std::numeric_limits<double>::infinity();
      continue;
    }
    // What the lamp adds to the target, in units of the light before, which counts as even.
    const double mean_lux = lux_sum / static_cast<double>(targets_);
    double added = std::exp2(wish_.rise_stops) - 1;
    if (wish_.sides_stops) {
      const auto sides = added_for_sides(lux, mean_lux, *wish_.sides_stops);
      if (!sides) {
        place.limits = place.limits | PlaceLimit::even;
        place.power_pct = std::numeric_limits<double>::infinity();
        continue;
      }
      added = *sides;
    }
    place.rise_stops = std::log2(1 + added);
    const double peak = added * target_.value / place.target_cd_m2;
    place.power_pct = 100 * peak / full_peak;
    if (backdrop_) place.backdrop_stops = rise_of(peak * mean(targets_, backdrops_), *backdrop_);
    if (foreground_)
      place.foreground_stops =
          rise_of(peak * mean(targets_ + backdrops_, points_.size() - targets_ - backdrops_), *foreground_);
    const Ends tenths = ends_of(lux, 10);
    place.evenness_stops =
        std::log2((1 + added * tenths.bright / mean_lux) / (1 + added * tenths.dark / mean_lux));
    if (std::max(place.backdrop_stops, place.foreground_stops) > wish_.spill_stops)
      place.limits = place.limits | PlaceLimit::spill;
    if (place.power_pct > 100) place.limits = place.limits | PlaceLimit::power;
  }
}

PlaceFields Placement::posed(const LampPlace& place) const {
  PlaceFields one;
  one.position_m = place.position_m;
  one.direction = place.direction;
  one.distance_m = std::max(glm::distance(place.position_m, middle_m_), 1e-6);
  one.angle_deg = axis_angle_deg(world_.camera, middle_m_, place.position_m);
  return one;
}

std::vector<PlaceFields> Placement::fields(Tracer& tracer, const ProbeLamp& lamp, double full_peak,
                                           std::span<const glm::dvec3> places, unsigned samples) const {
  std::vector<PlaceFields> all;
  const double radius = lamp_radius(lamp.lamp);
  const glm::dvec3 aim = wish_.aim_m.value_or(middle_m_);
  for (const glm::dvec3& place : places) {
    const glm::dvec3 line = aim - place;
    PlaceFields& one = all.emplace_back(
        posed({place, glm::length(line) > 1e-6 ? glm::normalize(line) : glm::dvec3(0, 0, -1)}));
    one.limits = geometric_limits(world_, wish_, middle_m_, place, radius);
    one.nearest_m = one.distance_m;
    for (std::size_t i = 0; i < targets_; ++i)
      one.nearest_m = std::min(one.nearest_m, glm::distance(glm::dvec3(points_[i].place_m()), place));
    if (one.nearest_m < wish_.nearest_m) one.limits = one.limits | PlaceLimit::near_subject;
  }
  find_room(tracer, radius, all);
  std::vector<PlaceFields*> lit;
  for (PlaceFields& one : all)
    if ((one.limits & impossible) == 0) lit.push_back(&one);
  measure_light(tracer, lamp, full_peak, lit, samples);
  return all;
}

PlaceFields Placement::at(Tracer& tracer, const ProbeLamp& lamp, double full_peak, const LampPlace& place,
                          unsigned samples) const {
  PlaceFields one = posed(place);
  measure_light(tracer, lamp, full_peak, {&one}, samples);
  return one;
}

}  // namespace undercap
