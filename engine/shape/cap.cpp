#include "engine/shape/cap.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr int sample_count = 257;
constexpr double pi = std::numbers::pi;

// Exponents of the superellipse r = R sin(t)^(2/n), z = H cos(t)^(2/m); 2 and 2 make the half ellipse.
glm::dvec2 exponents(CapForm form) {
  switch (form) {
    case CapForm::convex:
      return {2.05, 2.0};
    case CapForm::cushion:
      return {2.1, 2.7};
    case CapForm::conic:
      return {1.25, 1.3};
    case CapForm::bell:
      return {1.75, 1.5};
    case CapForm::flat:
      return {2.6, 2.6};
    case CapForm::funnel:
      return {2.0, 2.0};
  }
  return {2.0, 2.0};
}

double bump(double q, double width) { return std::exp(-(q * q) / (width * width)); }

// Height of the upper side at (q, t), before the radius is drawn in.
double height_at(const MushroomShape& shape, double q, double t, double exponent_m) {
  const double margin_curl = 0.6 * shape.inroll * ramp(0.9, 1.0, q);
  const double features = shape.umbo * bump(q, 0.30) - shape.depression * bump(q, 0.45) +
                          shape.upturn * std::pow(q, 4.0) - margin_curl;
  if (shape.form == CapForm::funnel) {
    // The bowl rises outwards and turns down over the last fifth.
    const double lip = 0.16 * shape.cap_height * std::pow(ramp(0.72, 1.0, q), 2.0);
    return shape.cap_height * (std::pow(q, 1.5) - 1) - lip + features;
  }
  return shape.cap_height * std::pow(std::max(std::cos(t), 0.0), 2 / exponent_m) + features;
}

double drawn_in_radius(const MushroomShape& shape, double q) {
  const double curl = 0.5 * shape.inroll / shape.cap_radius * std::pow(ramp(0.92, 1.0, q), 2.0);
  const double flare = shape.form == CapForm::bell ? 0.06 * ramp(0.88, 1.0, q) : 0.0;
  return q - curl + flare;
}

SectionPoint between(const SectionPoint& a, const SectionPoint& b, double share) {
  return {mix(a.q, b.q, share), a.place + (b.place - a.place) * share,
          glm::normalize(a.normal + (b.normal - a.normal) * share)};
}

}  // namespace

CapProfile::CapProfile(const MushroomShape& shape) : flesh_(shape.flesh), margin_(shape.margin) {
  const glm::dvec2 exponent = exponents(shape.form);
  double widest = 0;
  for (int i = 0; i < sample_count; ++i) {
    const double t = 0.5 * pi * i / (sample_count - 1);
    SectionPoint point;
    point.q = std::pow(std::sin(t), 2 / exponent.x);
    point.place = {shape.cap_radius * drawn_in_radius(shape, point.q),
                   height_at(shape, point.q, t, exponent.y)};
    widest = std::max(widest, point.place.x);
    samples_.push_back(point);
  }
  // The stated radius is the widest one, wherever the margin curls; a level margin's round edge reaches
  // farther out.
  const glm::dvec2 last = samples_[sample_count - 1].place - samples_[sample_count - 2].place;
  const double round_edge = 0.5 * shape.margin * std::clamp(1 + last.y / glm::length(last), 0.0, 1.0);
  for (SectionPoint& point : samples_) point.place.x *= (shape.cap_radius - round_edge) / widest;
  for (std::size_t i = 0; i < samples_.size(); ++i) {
    const glm::dvec2& before = samples_[i == 0 ? 0 : i - 1].place;
    const glm::dvec2& after = samples_[std::min(i + 1, samples_.size() - 1)].place;
    // Up across the direction of travel. Kept from turning level, so that the flesh of an inrolled margin
    // hangs below.
    glm::dvec2 normal(before.y - after.y, after.x - before.x);
    if (i == 0) normal = {0, 1};
    normal = glm::normalize(normal);
    normal.y = std::max(normal.y, 0.15);
    samples_[i].normal = glm::normalize(normal);
    way_.push_back(i == 0 ? 0.0 : way_.back() + glm::distance(samples_[i].place, before));
  }
}

SectionPoint CapProfile::top(double q) const {
  const auto after =
      std::lower_bound(samples_.begin(), samples_.end(), q,
                       [](const SectionPoint& point, double wanted) { return point.q < wanted; });
  if (after == samples_.begin()) return samples_.front();
  if (after == samples_.end()) return samples_.back();
  const SectionPoint& before = *(after - 1);
  return between(before, *after, (q - before.q) / (after->q - before.q));
}

double CapProfile::thickness(double q) const {
  return margin_ + (flesh_ - margin_) * std::pow(std::max(1 - q * q, 0.0), 1.3);
}

SectionPoint CapProfile::under(double q) const {
  SectionPoint point = top(q);
  const double outside = point.place.x;
  point.place -= thickness(q) * point.normal;
  // Under a pointed crown the two flanks would meet and cross: there the flesh only grows thicker downwards.
  point.place.x = std::max(point.place.x, 0.4 * outside);
  return point;
}

double CapProfile::q_at_way(double share) const {
  const double wanted = std::clamp(share, 0.0, 1.0) * way_.back();
  const auto after = std::lower_bound(way_.begin() + 1, way_.end() - 1, wanted) - way_.begin();
  const auto i = static_cast<std::size_t>(after);
  return mix(samples_[i - 1].q, samples_[i].q, (wanted - way_[i - 1]) / (way_[i] - way_[i - 1]));
}

std::vector<SectionPoint> CapProfile::margin(int count) const {
  const SectionPoint end = samples_.back();
  const double radius = 0.5 * margin_;
  const glm::dvec2 outward(end.normal.y, -end.normal.x);
  const glm::dvec2 centre = end.place - radius * end.normal;
  std::vector<SectionPoint> points;
  for (int i = 1; i <= count; ++i) {
    const double turn = pi * i / (count + 1);
    const glm::dvec2 normal = std::cos(turn) * end.normal + std::sin(turn) * outward;
    points.push_back({1.0, centre + radius * normal, normal});
  }
  return points;
}

double CapProfile::way_at_radius(double radius) const {
  std::size_t i = 0;
  while (i + 1 < samples_.size() && under(samples_[i].q).place.x < radius) ++i;
  return way_[i] / way_.back();
}

CapWarp::CapWarp(const MushroomShape& shape)
    : radius_(shape.cap_radius), wave_(0.042 * shape.wave), dent_(0.055 * shape.dent), seed_(shape.seed) {
  Random random(hash_bits(shape.seed, 0xca9u));
  for (double& phase : phase_) phase = random.between(0, 2 * pi);
  waves_around_ = std::floor(random.between(3, 6));
  offset_ = {random.between(0, 64), random.between(0, 64), random.between(0, 64)};
  const double ageing = 1 - 0.8 * shape.youth;
  wave_ *= 0.35 + 0.65 * ageing;
  const int nicks = static_cast<int>(std::floor(random.between(1, 5) * ageing * std::min(shape.wave, 1.5)));
  for (int i = 0; i < nicks; ++i) {
    nicks_.push_back({random.between(0, 2 * pi), random.between(0.035, 0.11), random.between(0.012, 0.05)});
  }
}

glm::dvec3 CapWarp::place(double q, double angle, const glm::dvec2& section) const {
  const double a = angle, k = waves_around_;
  double widen = 1 + 0.55 * wave_ * q *
                         (std::sin(2 * a + phase_[0]) + 0.6 * std::sin(3 * a + phase_[1]) +
                          0.25 * std::sin(7 * a + phase_[2]));
  for (const Nick& nick : nicks_) {
    const double off = std::remainder(a - nick.angle, 2 * pi) / nick.width;
    if (std::abs(off) < 3) widen -= nick.depth * std::exp(-off * off) * ramp(0.80, 1.0, q);
  }
  const double lift = wave_ * q * q * q *
                      (0.6 * std::sin(k * a + phase_[3]) + 0.35 * std::sin((k + 2) * a + phase_[4]) +
                       0.5 * std::sin(a + phase_[5]));
  const glm::dvec3 direction(std::cos(a), std::sin(a), 0);
  const double dents = dent_ * fbm(offset_ + 1.7 * q * direction, 2, seed_);
  return section.x * widen * direction + glm::dvec3(0, 0, section.y + radius_ * (lift + dents));
}

}  // namespace undercap
