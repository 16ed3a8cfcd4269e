#include "engine/shape/cap.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/core/errors.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr int sample_count = 257;
constexpr double pi = std::numbers::pi;

double bump(double q, double width) { return std::exp(-(q * q) / (width * width)); }
// A knob a tenth of the radius wide comes to a point; a broad one is round.
double knob(double q, double width) { return width < 0.15 ? std::exp(-std::abs(q) / width) : bump(q, width); }

// Height of the upper side at (q, t), before the margin curls.
double height_at(const MushroomShape& shape, double q, double t) {
  const CapForm& form = shape.form;
  const double radius = shape.cap_radius;
  double features = shape.umbo * bump(q, 0.30) + radius * form.knob * knob(q, form.knob_width) -
                    shape.depression * bump(q, 0.45) - radius * form.hollow * bump(q, form.hollow_width) +
                    shape.upturn * std::pow(q, 4.0);
  if (shape.margin_form == MarginForm::decurved) features -= 0.16 * radius * std::pow(q, 5.0);
  if (shape.margin_form == MarginForm::upturned) features += 0.26 * radius * std::pow(q, 3.0);
  if (form.is_bowl) {
    // The bowl rises outwards and turns down over the last fifth.
    const double lip = 0.16 * shape.cap_height * std::pow(ramp(0.72, 1.0, q), 2.0);
    return shape.cap_height * (std::pow(q, 1.5) - 1) - lip + features;
  }
  return shape.cap_height * std::pow(std::max(std::cos(t), 0.0), 2 / form.m) + features;
}

// How far the margin turns beyond where the profile leads it, rad: inwards above 0, outwards below.
double curl_of(const MushroomShape& shape) {
  const double by_length = std::min(14 * shape.inroll / shape.cap_radius, 2.5);
  switch (shape.margin_form) {
    case MarginForm::straight:
    case MarginForm::decurved:
      return 0;
    case MarginForm::incurved:
      return std::max(by_length, 0.9);
    case MarginForm::inrolled:
      return std::max(by_length, 2.3);
    case MarginForm::upturned:
      return -0.9;
    default:
      return by_length;
  }
}

SectionPoint between(const SectionPoint& a, const SectionPoint& b, double share) {
  return {mix(a.q, b.q, share), mix(a.way, b.way, share), a.place + (b.place - a.place) * share,
          glm::normalize(a.normal + (b.normal - a.normal) * share)};
}

}  // namespace

const std::vector<CapForm>& cap_forms() {
  static const std::vector<CapForm> forms = {
      {.word = "convex"},
      {.word = "cushion", .n = 2.1, .m = 2.7, .usual_height = 0.6},
      {.word = "hemispherical", .n = 2, .m = 2, .usual_height = 1},
      {.word = "ovoid", .n = 2, .m = 2.3, .usual_height = 1.3},
      {.word = "conic", .n = 1.25, .m = 1.3, .usual_height = 1.15},
      {.word = "bell", .n = 1.75, .m = 1.5, .usual_height = 1.1, .flare = 0.06},
      {.word = "parabolic", .n = 2, .m = 2.6, .usual_height = 1.5},
      {.word = "flat", .n = 2.6, .m = 2.6, .usual_height = 0.15},
      {.word = "umbonate", .n = 2.1, .m = 1.9, .usual_height = 0.36, .knob = 0.17},
      {.word = "papillate", .n = 2, .m = 2, .usual_height = 0.6, .knob = 0.13, .knob_width = 0.10},
      {.word = "cuspidate", .n = 1.6, .m = 1.6, .usual_height = 0.9, .knob = 0.26, .knob_width = 0.13},
      {.word = "depressed", .n = 2.3, .m = 2.5, .usual_height = 0.34, .hollow = 0.2},
      {.word = "umbilicate", .n = 2, .m = 2.2, .usual_height = 0.5, .hollow = 0.17, .hollow_width = 0.15},
      {.word = "funnel", .n = 2, .m = 2, .usual_height = 0.75, .is_bowl = true},
  };
  return forms;
}

const CapForm& cap_form(const std::string& word) {
  const auto& forms = cap_forms();
  const auto found =
      std::find_if(forms.begin(), forms.end(), [&](const CapForm& f) { return f.word == word; });
  UNDERCAP_CHECK(found != forms.end(), "the outline of a cap is one of the choices");
  return *found;
}

CapProfile::CapProfile(const MushroomShape& shape)
    : flesh_(shape.flesh), margin_(shape.margin), tubes_(shape.pores ? shape.gill_depth : 0) {
  for (int i = 0; i < sample_count; ++i) {
    const double t = 0.5 * pi * i / (sample_count - 1);
    SectionPoint point;
    point.q = std::pow(std::sin(t), 2 / shape.form.n);
    point.place = {shape.cap_radius * (point.q + shape.form.flare * ramp(0.88, 1.0, point.q)),
                   height_at(shape, point.q, t)};
    samples_.push_back(point);
  }
  finish();
  curl_margin(shape);
  // The stated radius is the widest one, wherever the margin curls; a level margin's round edge reaches
  // farther out.
  double widest = 0;
  for (const SectionPoint& point : samples_) widest = std::max(widest, point.place.x);
  const SectionPoint& end = samples_.back();
  const double edge_reach = end.place.x + 0.5 * margin_ * (1 - end.normal.x);
  const double scale = shape.cap_radius / std::max(widest, edge_reach);
  for (SectionPoint& point : samples_) point.place.x *= scale;
  finish();
}

// The last part of the way is laid anew, each step turned a little more than the one before.
void CapProfile::curl_margin(const MushroomShape& shape) {
  const double curl = curl_of(shape);
  if (curl == 0) return;
  const double zone = curl > 1.2 ? 0.17 : 0.13;
  const std::vector<SectionPoint> before = samples_;
  for (std::size_t i = 1; i < samples_.size(); ++i) {
    const double turn = curl * std::pow(ramp(1 - zone, 1 + 0.1 * zone, before[i].way), 1.2);
    const glm::dvec2 step = before[i].place - before[i - 1].place;
    const double c = std::cos(turn), s = std::sin(turn);
    samples_[i].place = samples_[i - 1].place + glm::dvec2(c * step.x + s * step.y, c * step.y - s * step.x);
  }
  if (curl > 0) curl_way_ = 1 - zone * std::min(0.65 * curl / 1.6, 0.8);
}

// Way and normals from the places.
void CapProfile::finish() {
  double length = 0;
  for (std::size_t i = 0; i < samples_.size(); ++i) {
    const glm::dvec2& before = samples_[i == 0 ? 0 : i - 1].place;
    const glm::dvec2& after = samples_[std::min(i + 1, samples_.size() - 1)].place;
    // Left of the direction of travel, which is up over the crown.
    samples_[i].normal =
        i == 0 ? glm::dvec2(0, 1) : glm::normalize(glm::dvec2(before.y - after.y, after.x - before.x));
    length += glm::distance(samples_[i].place, before);
    samples_[i].way = length;
  }
  for (SectionPoint& point : samples_) point.way /= length;
}

SectionPoint CapProfile::top(double way) const {
  const auto after =
      std::lower_bound(samples_.begin(), samples_.end(), way,
                       [](const SectionPoint& point, double wanted) { return point.way < wanted; });
  if (after == samples_.begin()) return samples_.front();
  if (after == samples_.end()) return samples_.back();
  const SectionPoint& before = *(after - 1);
  return between(before, *after, (way - before.way) / (after->way - before.way));
}

double CapProfile::thickness(double q) const {
  const double inside = std::max(1 - q * q, 0.0);
  return margin_ + (flesh_ - margin_) * std::pow(inside, 1.3) + tubes_ * std::pow(inside, 0.45);
}

SectionPoint CapProfile::under(double way) const {
  SectionPoint point = top(way);
  const double outside = point.place.x;
  point.place -= thickness(point.q) * point.normal;
  // Under a pointed crown the two flanks would meet and cross: there the flesh only grows thicker downwards.
  point.place.x = std::max(point.place.x, 0.4 * outside);
  return point;
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
    points.push_back({1.0, 1.0, centre + radius * normal, normal});
  }
  return points;
}

double CapProfile::way_at_radius(double radius) const {
  for (const SectionPoint& point : samples_)
    if (under(point.way).place.x >= radius) return point.way;
  return 1;
}

double CapProfile::way_at_thin_flesh() const {
  const double thin = std::max(1.5 * margin_, margin_ + 0.7);
  for (const SectionPoint& point : samples_)
    if (thickness(point.q) < thin) return point.way;
  return 1;
}

CapWarp::CapWarp(const MushroomShape& shape)
    : radius_(shape.cap_radius), wave_(0.042 * shape.wave), dent_(0.045 * shape.dent), seed_(shape.seed) {
  Random random(hash_bits(shape.seed, 0xca9u));
  for (double& phase : phase_) phase = random.between(0, 2 * pi);
  waves_around_ = std::floor(random.between(3, 6));
  offset_ = {random.between(0, 64), random.between(0, 64), random.between(0, 64)};
  const double ageing = 1 - 0.8 * shape.youth;
  wave_ *= 0.35 + 0.65 * ageing;
  const double many = random.between(1, 3 + 5 * shape.wear) * ageing * std::min(shape.wave, 1.5);
  for (int i = 0; i < static_cast<int>(many); ++i) {
    nicks_.push_back({random.between(0, 2 * pi), random.between(0.035, 0.11), random.between(0.012, 0.05)});
  }
  switch (shape.margin_form) {
    case MarginForm::split:
      for (int i = 0; i < 4 + static_cast<int>(3 * random.unit()); ++i)
        nicks_.push_back({random.between(0, 2 * pi), random.between(0.03, 0.06), random.between(0.10, 0.24)});
      break;
    case MarginForm::crenate:
      scallops_ = std::clamp(std::round(0.5 * shape.gill_count), 10.0, 40.0);
      break;
    case MarginForm::sulcate:
      scallops_ = std::clamp<double>(shape.gill_count, 10.0, 48.0);
      break;
    case MarginForm::lobed:
      lobes_ = std::floor(random.between(4, 7));
      lobe_depth_ = 0.075;
      break;
    case MarginForm::eroded:
      erosion_ = 0.06;
      break;
    default:
      break;
  }
}

double CapWarp::widening(double q, double angle) const {
  const double a = angle;
  double widen = 1 + 0.55 * wave_ * q *
                         (std::sin(2 * a + phase_[0]) + 0.6 * std::sin(3 * a + phase_[1]) +
                          0.25 * std::sin(7 * a + phase_[2]));
  for (const Nick& nick : nicks_) {
    const double off = std::remainder(a - nick.angle, 2 * pi) / nick.width;
    if (std::abs(off) < 3) widen -= nick.depth * std::exp(-off * off) * ramp(0.94 - 1.2 * nick.depth, 1.0, q);
  }
  if (scallops_ > 0)
    widen +=
        0.018 * std::abs(std::sin(0.5 * scallops_ * a)) * ramp(0.86, 1.0, q) - 0.011 * ramp(0.86, 1.0, q);
  if (lobes_ > 0) {
    const double lobe = std::sin(lobes_ * a + phase_[3] + 0.5 * std::sin(a + phase_[4]));
    widen += lobe_depth_ * (lobe - 0.35 * lobe * lobe) * std::pow(q, 3.0);
  }
  if (erosion_ > 0) {
    const double bite = fbm(glm::dvec3(5 * std::cos(a), 5 * std::sin(a), 0.5) + offset_, 3, seed_ + 9);
    widen -= erosion_ * std::max(bite + 0.1, 0.0) * ramp(0.88, 1.0, q);
  }
  return widen;
}

glm::dvec3 CapWarp::place(double q, double angle, const glm::dvec2& section) const {
  const double a = angle, k = waves_around_;
  double lift = wave_ * q * q * q *
                (0.6 * std::sin(k * a + phase_[3]) + 0.35 * std::sin((k + 2) * a + phase_[4]) +
                 0.5 * std::sin(a + phase_[5]));
  if (lobes_ > 0) lift += 1.1 * lobe_depth_ * std::sin(lobes_ * a + phase_[4]) * std::pow(q, 3.0);
  const glm::dvec3 direction(std::cos(a), std::sin(a), 0);
  const double dents = dent_ * fbm(offset_ + 1.7 * q * direction, 2, seed_);
  return section.x * widening(q, a) * direction + glm::dvec3(0, 0, section.y + radius_ * (lift + dents));
}

}  // namespace undercap
