#include "engine/draw/drawing.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <glm/geometric.hpp>
#include <limits>

namespace undercap {
namespace {

// Of Open Sans, over the body: capitals .714, descenders .24 (from the face's own tables).
constexpr double capital_share = 0.74, descender_share = 0.22;

std::array<PenStyle, pens> make_styles() {
  std::array<PenStyle, pens> style;
  const auto set = [&](Pen pen, double width_mm, std::vector<double> dash_mm, Tone tone) {
    style[static_cast<std::size_t>(pen)] = {width_mm, std::move(dash_mm), tone};
  };
  set(Pen::ground, 0.35, {}, Tone::soft);
  set(Pen::prop, 0.15, {}, Tone::soft);
  set(Pen::subject, 0.35, {}, Tone::strong);
  set(Pen::hidden, 0.18, {0.8, 0.8}, Tone::soft);
  set(Pen::camera, 0.40, {}, Tone::strong);
  set(Pen::field, 0.18, {}, Tone::plain);
  set(Pen::axis, 0.12, {4.0, 0.8, 0.4, 0.8}, Tone::plain);
  set(Pen::focus_plane, 0.30, {}, Tone::plain);
  set(Pen::depth_limit, 0.18, {1.6, 0.8}, Tone::plain);
  set(Pen::source, 0.40, {}, Tone::accent);
  set(Pen::beam, 0.18, {3.0, 1.0}, Tone::accent);
  set(Pen::lux_line, 0.18, {0.4, 0.8}, Tone::accent);
  set(Pen::card, 0.25, {}, Tone::strong);
  set(Pen::flag, 0.90, {}, Tone::strong);
  set(Pen::meter, 0.30, {}, Tone::plain);
  set(Pen::sun, 0.35, {}, Tone::accent);
  set(Pen::clock, 0.10, {}, Tone::faint);
  set(Pen::dimension, 0.12, {}, Tone::plain);
  set(Pen::grid, 0.08, {}, Tone::faint);
  set(Pen::key, 0.12, {}, Tone::soft);
  set(Pen::curve_1, 0.45, {}, Tone::strong);
  set(Pen::curve_2, 0.45, {2.8, 1.2}, Tone::strong);
  set(Pen::curve_3, 0.50, {0.6, 0.9}, Tone::strong);
  set(Pen::curve_4, 0.45, {4.0, 0.9, 0.6, 0.9}, Tone::strong);
  set(Pen::curve_5, 0.22, {}, Tone::strong);
  set(Pen::curve_6, 0.22, {1.8, 1.0}, Tone::strong);
  set(Pen::mark, 0.15, {1.0, 0.7}, Tone::plain);
  set(Pen::place_line, 0.26, {}, Tone::accent);
  set(Pen::place_barred, 0.09, {}, Tone::soft);
  set(Pen::place_spill, 0.16, {0.3, 0.9}, Tone::soft);
  set(Pen::place_dark, 0.09, {1.2, 1.6}, Tone::soft);
  set(Pen::place_mark, 0.36, {}, Tone::strong);
  set(Pen::print, 0.38, {}, Tone::strong);
  set(Pen::print_thin, 0.20, {}, Tone::strong);
  set(Pen::print_dash, 0.25, {1.8, 1.2}, Tone::strong);
  set(Pen::text, 0.12, {}, Tone::plain);
  return style;
}

double to_segment(const glm::dvec2& place, const glm::dvec2& a, const glm::dvec2& b) {
  const glm::dvec2 line = b - a;
  const double square = glm::dot(line, line);
  const double along = square > 0 ? std::clamp(glm::dot(place - a, line) / square, 0.0, 1.0) : 0;
  return glm::distance(place, a + along * line);
}

double to_box(const glm::dvec2& place, const Box& box) {
  return glm::distance(place, glm::clamp(place, box.low, box.high));
}

bool encloses(const std::vector<glm::dvec2>& ring, const glm::dvec2& place) {
  bool inside = false;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const glm::dvec2 &a = ring[i], &b = ring[(i + 1) % ring.size()];
    if ((a.y > place.y) != (b.y > place.y) && place.x < a.x + (b.x - a.x) * (place.y - a.y) / (b.y - a.y))
      inside = !inside;
  }
  return inside;
}

struct Distance {
  glm::dvec2 place;
  double operator()(const Polyline& line) const {
    const auto& points = line.points_mm;
    if (points.empty()) return std::numeric_limits<double>::infinity();
    if (line.fill != Fill::none && encloses(points, place)) return 0;
    double nearest = glm::distance(place, points.back());
    for (std::size_t i = 0; i + 1 < points.size(); ++i)
      nearest = std::min(nearest, to_segment(place, points[i], points[i + 1]));
    return line.closed ? std::min(nearest, to_segment(place, points.back(), points.front())) : nearest;
  }
  double operator()(const Circle& circle) const {
    const double out = glm::distance(place, circle.centre_mm) - circle.radius_mm;
    return circle.fill != Fill::none ? std::max(out, 0.0) : std::abs(out);
  }
  double operator()(const Text& text) const { return to_box(place, box_of(text)); }
  double operator()(const Image& image) const {
    return to_box(place, {image.at_mm, image.at_mm + image.size_mm});
  }
};

// The part of an area that lies in a box: cut at one side after the other (Sutherland & Hodgman 1974).
std::vector<glm::dvec2> area_in(const Box& box, std::vector<glm::dvec2> ring) {
  for (int axis = 0; axis < 2; ++axis)
    for (const double sign : {1.0, -1.0}) {
      const double edge = sign > 0 ? box.low[axis] : box.high[axis];
      const auto inside = [&](const glm::dvec2& place) { return sign * (place[axis] - edge); };
      std::vector<glm::dvec2> kept;
      for (std::size_t i = 0; i < ring.size(); ++i) {
        const glm::dvec2 &a = ring[i], &b = ring[(i + 1) % ring.size()];
        if (inside(a) >= 0) kept.push_back(a);
        if ((inside(a) >= 0) != (inside(b) >= 0))
          kept.push_back(a + inside(a) / (inside(a) - inside(b)) * (b - a));
      }
      ring = std::move(kept);
    }
  return ring;
}

// The parts of a line that lie in a box, each open.
std::vector<std::vector<glm::dvec2>> pieces_in(const Box& box, const Polyline& line) {
  std::vector<std::vector<glm::dvec2>> pieces;
  const std::size_t count = line.points_mm.size();
  bool goes_on = false;
  for (std::size_t i = 0; i + (line.closed ? 0 : 1) < count; ++i) {
    const glm::dvec2& end = line.points_mm[(i + 1) % count];
    glm::dvec2 from = line.points_mm[i], to = end;
    if (!cut_to(box, from, to)) {
      goes_on = false;
      continue;
    }
    if (!goes_on) pieces.push_back({from});
    pieces.back().push_back(to);
    goes_on = to == end;
  }
  return pieces;
}

}  // namespace

const PenStyle& style_of(Pen pen) {
  static const std::array<PenStyle, pens> style = make_styles();
  return style[static_cast<std::size_t>(pen)];
}

void Drawing::add(Pen pen, const Shape& shape, const std::string& handle) {
  Mark& mark = marks.emplace_back();
  mark.pen = pen;
  mark.shape = shape;
  mark.handle = handle;
}

void Drawing::add_line(Pen pen, const glm::dvec2& from_mm, const glm::dvec2& to_mm,
                       const std::string& handle) {
  glm::dvec2 from = from_mm, to = to_mm;
  if (cut_to({{0, 0}, {width_mm, height_mm}}, from, to)) add(pen, Polyline{.points_mm = {from, to}}, handle);
}

void Drawing::add_drawing(const Drawing& part, const glm::dvec2& at_mm) {
  const Box paper{at_mm, at_mm + glm::dvec2(part.width_mm, part.height_mm)};
  const auto holds = [&](const glm::dvec2& place) { return to_box(place, paper) == 0; };
  for (Mark mark : part.marks) {
    if (auto* line = std::get_if<Polyline>(&mark.shape)) {
      for (glm::dvec2& place : line->points_mm) place += at_mm;
      if (!std::all_of(line->points_mm.begin(), line->points_mm.end(), holds)) {
        if (line->fill != Fill::none)
          add(mark.pen,
              Polyline{.points_mm = area_in(paper, line->points_mm),
                       .closed = true,
                       .fill = line->fill,
                       .outlined = false},
              mark.handle);
        if (line->outlined)
          for (const auto& piece : pieces_in(paper, *line))
            add(mark.pen, Polyline{.points_mm = piece}, mark.handle);
        continue;
      }
    }
    if (auto* circle = std::get_if<Circle>(&mark.shape)) {
      circle->centre_mm += at_mm;
      if (!holds(circle->centre_mm)) continue;
    }
    if (auto* text = std::get_if<Text>(&mark.shape)) text->at_mm += at_mm;
    if (auto* image = std::get_if<Image>(&mark.shape)) image->at_mm += at_mm;
    marks.push_back(std::move(mark));
  }
}

double text_width_mm(std::string_view words, double size_mm, bool bold) {
  double bodies = 0;
  for (const char letter : words) {
    // The bytes of UTF-8 after a letter's first begin with the bits 10 and take no room of their own.
    if ((static_cast<unsigned char>(letter) & 0xC0) == 0x80) continue;
    constexpr std::string_view narrow = " .,:;'|!ijltfr()I/-";
    constexpr std::string_view wide = "mwMWGOQ%@";
    bodies += narrow.find(letter) != narrow.npos ? 0.32 : wide.find(letter) != wide.npos ? 0.85 : 0.58;
  }
  return bodies * size_mm * (bold ? 1.06 : 1.0);
}

Box box_of(const Text& text) {
  const double width = text_width_mm(text.words, text.size_mm, text.bold);
  const double left = text.at_mm.x - (text.across == Across::left     ? 0
                                      : text.across == Across::middle ? width / 2
                                                                      : width);
  return {{left, text.at_mm.y - capital_share * text.size_mm},
          {left + width, text.at_mm.y + descender_share * text.size_mm}};
}

// Liang & Barsky 1984.
bool cut_to(const Box& box, glm::dvec2& from, glm::dvec2& to) {
  const glm::dvec2 line = to - from;
  double enter = 0, leave = 1;
  for (int axis = 0; axis < 2; ++axis) {
    const double step = line[axis];
    if (step == 0) {
      if (from[axis] < box.low[axis] || from[axis] > box.high[axis]) return false;
      continue;
    }
    const double low = (box.low[axis] - from[axis]) / step, high = (box.high[axis] - from[axis]) / step;
    enter = std::max(enter, std::min(low, high));
    leave = std::min(leave, std::max(low, high));
  }
  if (enter >= leave) return false;
  to = from + leave * line;
  from += enter * line;
  return true;
}

double distance_mm(const Mark& mark, const glm::dvec2& place_mm) {
  return std::visit(Distance{place_mm}, mark.shape);
}

std::string handle_at(const Drawing& drawing, const glm::dvec2& place_mm, double reach_mm) {
  std::string found, area;
  double nearest = reach_mm;
  for (const Mark& mark : drawing.marks) {
    if (mark.handle.empty()) continue;
    double distance = distance_mm(mark, place_mm);
    if (const auto* line = std::get_if<Polyline>(&mark.shape); line && line->fill == Fill::pale) {
      if (distance == 0) area = mark.handle;
      Polyline edge = *line;
      edge.fill = Fill::none;
      distance = Distance{place_mm}(edge);
    }
    if (distance > nearest) continue;
    nearest = distance;
    found = mark.handle;
  }
  return found.empty() ? area : found;
}

}  // namespace undercap
