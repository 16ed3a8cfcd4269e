#include "engine/report/from_source.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/report/lux_lines.h"
#include "engine/report/mask.h"

namespace undercap {
namespace {

constexpr float nearest_m = 1e-3f;  // what is nearer to the lamp than this is the lamp
constexpr int darkest = 70;         // of the grey, so that a black contour shows on what has no light
constexpr std::uint32_t nothing = 0xffffffffu;

// Lamp space: x along right, y along up, z along the direction, m.
struct LampSpace {
  glm::dvec3 right, up, direction, origin;
  explicit LampSpace(const Lamp& lamp)
      : right(lamp.right),
        up(glm::cross(lamp.right, lamp.direction)),
        direction(lamp.direction),
        origin(lamp.position_m) {}
  glm::vec3 operator()(const glm::vec3& place) const {
    const glm::dvec3 from = glm::dvec3(place) - origin;
    return {glm::dot(from, right), glm::dot(from, up), glm::dot(from, direction)};
  }
};

// Which triangle is seen at each pixel, and 1 / z there.
class DepthRaster {
 public:
  DepthRaster(int side, float half_tan)
      : side_(side),
        scale_(static_cast<float>(side) / (2 * half_tan)),
        near_(pixels(), 0),
        seen_(pixels(), nothing) {}

  void add(std::uint32_t triangle, const glm::vec3& a, const glm::vec3& b, const glm::vec3& c) {
    if (a.z >= nearest_m && b.z >= nearest_m && c.z >= nearest_m) return add_seen(triangle, a, b, c);
    // Sutherland & Hodgman 1974, at one plane.
    const std::array<glm::vec3, 3> corner{a, b, c};
    std::array<glm::vec3, 4> kept;
    std::size_t count = 0;
    for (std::size_t i = 0; i < 3; ++i) {
      const glm::vec3 &p = corner[i], &q = corner[(i + 1) % 3];
      if (p.z >= nearest_m) kept[count++] = p;
      if ((p.z >= nearest_m) != (q.z >= nearest_m))
        kept[count++] = glm::mix(p, q, (nearest_m - p.z) / (q.z - p.z));
    }
    for (std::size_t i = 2; i < count; ++i) add_seen(triangle, kept[0], kept[i - 1], kept[i]);
  }
  std::uint32_t triangle_at(int x, int y) const { return seen_[index(x, y)]; }
  float depth_at(int x, int y) const { return 1 / near_[index(x, y)]; }
  // Tangents of a pixel's middle, to the right and upward.
  glm::dvec2 tangents(int x, int y) const {
    return glm::dvec2(x + 0.5 - side_ / 2.0, side_ / 2.0 - y - 0.5) / static_cast<double>(scale_);
  }

 private:
  std::size_t pixels() const { return static_cast<std::size_t>(side_) * static_cast<std::size_t>(side_); }
  std::size_t index(int x, int y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(side_) + static_cast<std::size_t>(x);
  }
  glm::vec2 on_raster(const glm::vec3& p) const {
    const float half = static_cast<float>(side_) / 2;
    return {half + scale_ * p.x / p.z, half - scale_ * p.y / p.z};
  }
  void add_seen(std::uint32_t triangle, const glm::vec3& a, const glm::vec3& b, const glm::vec3& c) {
    const glm::vec2 p = on_raster(a), q = on_raster(b), r = on_raster(c);
    const glm::vec2 low = glm::min(p, glm::min(q, r)), high = glm::max(p, glm::max(q, r));
    const float last = static_cast<float>(side_ - 1);
    // Middles of pixels lie at halves.
    const int x0 = static_cast<int>(std::ceil(std::clamp(low.x - 0.5f, 0.0f, last + 1))),
              x1 = static_cast<int>(std::floor(std::clamp(high.x - 0.5f, -1.0f, last))),
              y0 = static_cast<int>(std::ceil(std::clamp(low.y - 0.5f, 0.0f, last + 1))),
              y1 = static_cast<int>(std::floor(std::clamp(high.y - 0.5f, -1.0f, last)));
    if (x0 > x1 || y0 > y1) return;
    const float area = (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    if (area == 0) return;
    for (int y = y0; y <= y1; ++y)
      for (int x = x0; x <= x1; ++x) {
        const glm::vec2 m(static_cast<float>(x) + 0.5f, static_cast<float>(y) + 0.5f);
        const float v = ((m.x - p.x) * (r.y - p.y) - (m.y - p.y) * (r.x - p.x)) / area,
                    w = ((q.x - p.x) * (m.y - p.y) - (q.y - p.y) * (m.x - p.x)) / area;
        if (v < 0 || w < 0 || v + w > 1) continue;
        // 1 / z is linear on the picture.
        const float near = (1 - v - w) / a.z + v / b.z + w / c.z;
        const std::size_t at = index(x, y);
        if (near <= near_[at]) continue;
        near_[at] = near;
        seen_[at] = triangle;
      }
  }

  int side_;
  float scale_;  // pixels per tangent
  std::vector<float> near_;
  std::vector<std::uint32_t> seen_;
};

// The surface's direction at a place of a triangle, as smooth as it is rendered.
glm::dvec3 normal_at(const World& world, const WorldTriangle& t, const glm::dvec3& place) {
  const glm::dvec3 a(world.position[t.a]), b(world.position[t.b]), c(world.position[t.c]);
  const glm::dvec3 own = glm::cross(b - a, c - a);
  const double square = glm::dot(own, own);
  if (square == 0) return glm::dvec3(0);
  const double v = glm::dot(glm::cross(place - a, c - a), own) / square,
               w = glm::dot(glm::cross(b - a, place - a), own) / square;
  const glm::dvec3 smooth = (1 - v - w) * glm::dvec3(world.normal[t.a]) + v * glm::dvec3(world.normal[t.b]) +
                            w * glm::dvec3(world.normal[t.c]);
  return glm::normalize(glm::dot(smooth, smooth) > 0.01 ? smooth : own);
}

double half_field_tan(const Lamp& lamp) {
  const glm::dvec3 up = glm::cross(lamp.right, lamp.direction);
  constexpr double field_share = 0.1, degree = std::numbers::pi / 180;
  double angle = 0;
  for (const glm::dvec3& across : {lamp.right, up}) {
    const BeamSection section(lamp, across);
    for (const bool toward : {false, true}) angle = std::max(angle, section.angle_below(field_share, toward));
  }
  return std::tan(std::clamp(angle, 5 * degree, 45 * degree));
}

// What falls on each pixel's surface for a peak of 1 cd, lx; fills in the subject and its share of the light.
std::vector<double> light_seen(const World& world, const Lamp& lamp, const DepthRaster& raster,
                               const std::vector<bool>& of_subject, SourceView& view) {
  const LampSpace space(lamp);
  const Beam beam = beam_of(lamp.planes, lamp.beam);
  const double pixel = 2 * view.half_field_tan / view.side_px;
  std::vector<double> light(view.grey.size(), 0.0);
  double met = 0;
  for (int y = 0; y < view.side_px; ++y)
    for (int x = 0; x < view.side_px; ++x) {
      const std::uint32_t number = raster.triangle_at(x, y);
      if (number == nothing) continue;
      const glm::dvec2 tangent = raster.tangents(x, y);
      const double secant_square = 1 + glm::dot(tangent, tangent), secant = std::sqrt(secant_square);
      const double ratio =
          beam_ratio(beam, Angle(std::acos(1 / secant)), Angle(std::atan2(tangent.y, tangent.x)));
      const glm::dvec3 ray = space.direction + tangent.x * space.right + tangent.y * space.up;
      const double depth = static_cast<double>(raster.depth_at(x, y));
      const WorldTriangle& t = world.triangle[number];
      const double cosine = std::abs(glm::dot(normal_at(world, t, space.origin + depth * ray), ray)) / secant;
      const std::size_t at =
          static_cast<std::size_t>(y) * static_cast<std::size_t>(view.side_px) + static_cast<std::size_t>(x);
      light[at] = ratio * cosine / (depth * depth * secant_square);
      if (!of_subject[t.part]) continue;
      view.subject[at] = 1;
      // The solid angle of a pixel is pixel^2 cos^3.
      met += ratio * pixel * pixel / (secant_square * secant);
    }
  view.subject_share = beam.flux_per_candela_lm > 0 ? met / beam.flux_per_candela_lm : 0;
  return light;
}

std::string share_words(double share) {
  if (share <= 0) return "the subject gets none of its light";
  if (share < 0.01) return "the subject gets under 1 % of its light";
  return fmt::format("the subject gets {:.0f} % of its light", 100 * share);
}

// White is what a hundredth of the subject is brighter than; of all where hardly any of the subject is seen.
void grade(const std::vector<double>& light, SourceView& view) {
  std::vector<double> some;
  for (std::size_t i = 0; i < light.size(); ++i)
    if (view.subject[i]) some.push_back(light[i]);
  constexpr std::size_t hardly_any = 400;  // of the pixels, one
  if (some.size() * hardly_any < light.size()) {
    some.clear();
    std::copy_if(light.begin(), light.end(), std::back_inserter(some), [](double l) { return l > 0; });
  }
  if (some.empty()) return;
  const auto white = some.begin() + static_cast<std::ptrdiff_t>(0.99 * static_cast<double>(some.size() - 1));
  std::nth_element(some.begin(), white, some.end());
  if (*white <= 0) return;
  for (std::size_t i = 0; i < light.size(); ++i)
    view.grey[i] = static_cast<std::uint8_t>(darkest + (255 - darkest) *
                                                           srgb_code(std::min(light[i] / *white, 1.0)) / 255);
}

}  // namespace

SourceView source_view(const World& world, int lamp, int side_px) {
  const Lamp& seen_from = world.lamps[static_cast<std::size_t>(lamp)];
  SourceView view{.side_px = side_px, .half_field_tan = half_field_tan(seen_from)};
  const std::size_t pixels = static_cast<std::size_t>(side_px) * static_cast<std::size_t>(side_px);
  view.grey.assign(pixels, darkest);
  view.subject.assign(pixels, 0);

  const LampSpace space(seen_from);
  std::vector<glm::vec3> place(world.position.size());
  std::transform(world.position.begin(), world.position.end(), place.begin(), space);
  DepthRaster raster(side_px, static_cast<float>(view.half_field_tan));
  const float tan = static_cast<float>(view.half_field_tan);
  for (std::uint32_t i = 0; i < world.triangle.size(); ++i) {
    const WorldTriangle& t = world.triangle[i];
    const glm::vec3 &a = place[t.a], &b = place[t.b], &c = place[t.c];
    // Most lie outside of the field's pyramid on one side of it.
    const float far = tan * std::max({a.z, b.z, c.z, nearest_m});
    if (std::max({a.z, b.z, c.z}) < nearest_m || std::min({a.x, b.x, c.x}) > far ||
        std::max({a.x, b.x, c.x}) < -far || std::min({a.y, b.y, c.y}) > far ||
        std::max({a.y, b.y, c.y}) < -far)
      continue;
    raster.add(i, a, b, c);
  }
  std::vector<bool> of_subject(world.parts.size(), false);
  for (const std::uint32_t part : world.subject) of_subject[part] = true;
  grade(light_seen(world, seen_from, raster, of_subject, view), view);

  Mask mask(glm::dvec2(0), glm::dvec2(1), side_px + Mask::edge_cells, 0);
  for (std::size_t i = 0; i < pixels; ++i)
    if (view.subject[i])
      mask.cover(
          (glm::dvec2(i % static_cast<std::size_t>(side_px), i / static_cast<std::size_t>(side_px)) + 0.5) /
          static_cast<double>(side_px));
  view.contour = mask.contours();
  return view;
}

Drawing from_source_drawing(const World& world, int lamp, double width_mm, double height_mm) {
  constexpr int side_px = 256;
  constexpr double words_mm = 2.4, title_mm = 3.0, top = 6.5, bottom = 5, edge = 2.5;
  const Source& source = world.scene.sources[static_cast<std::size_t>(lamp)];
  const SourceView view = source_view(world, lamp, side_px);
  Drawing drawing{
      .width_mm = width_mm, .height_mm = height_mm, .title = fmt::format("From the source: {}", source.name)};
  const double side = std::max(std::min(width_mm - 2 * edge, height_mm - top - bottom), 1.0);
  const glm::dvec2 corner((width_mm - side) / 2, top);
  drawing.add(Pen::source, Image{.at_mm = corner,
                                 .size_mm = glm::dvec2(side),
                                 .width = side_px,
                                 .height = side_px,
                                 .channels = 1,
                                 .bytes = view.grey});
  for (const auto& ring : view.contour) {
    Polyline line{.closed = true};
    for (const glm::dvec2& place : ring) line.points_mm.push_back(corner + side * place);
    drawing.add(Pen::subject, line);
  }
  const double degrees = 2 * std::atan(view.half_field_tan) * 180 / std::numbers::pi;
  // Narrow drawings have smaller type.
  const auto add_words = [&](double baseline_mm, const std::string& words, double size_mm, bool bold) {
    const double width = text_width_mm(words, size_mm, bold);
    drawing.add(Pen::text, Text{.at_mm = {edge, baseline_mm},
                                .words = words,
                                .size_mm = size_mm * std::min(1.0, (width_mm - 2 * edge) / width),
                                .bold = bold});
  };
  add_words(1.5 + title_mm, drawing.title, title_mm, true);
  add_words(top + side + 3.4, fmt::format("{:.0f}° across; {}", degrees, share_words(view.subject_share)),
            words_mm, false);
  return drawing;
}

}  // namespace undercap
