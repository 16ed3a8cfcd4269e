#include "engine/report/labels.h"

#include <algorithm>
#include <array>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <limits>

namespace undercap {
namespace {

const glm::dvec2 between_mm(1.2, 0.4);  // two labels
constexpr double overlap_cost = 100;    // of a square millimetre of one on another
constexpr double lead_from_mm = 4.0;    // words nearer than this need no line to what they name

// What a millimetre of a line under words costs, in places down the list of wishes.
double weight_of(Pen pen) {
  switch (pen) {
    case Pen::grid:
    case Pen::place_barred:
    case Pen::place_spill:
    case Pen::place_dark:
      return 0.02;
    case Pen::clock:
    case Pen::field:
    case Pen::ground:
      return 0.15;
    case Pen::prop:
    case Pen::lux_line:
    case Pen::place_line:
    case Pen::axis:
      return 0.3;
    case Pen::subject:
      return 4;
    default:
      return 0.8;
  }
}

double area_shared(const Box& a, const Box& b) {
  const glm::dvec2 size = glm::min(a.high, b.high) - glm::max(a.low, b.low);
  return size.x > 0 && size.y > 0 ? size.x * size.y : 0;
}

double length_within(const Box& box, const Polyline& line) {
  if (!line.outlined) return 0;
  double length = 0;
  const auto add = [&](glm::dvec2 from, glm::dvec2 to) {
    if (cut_to(box, from, to)) length += glm::distance(from, to);
  };
  for (std::size_t i = 0; i + 1 < line.points_mm.size(); ++i) add(line.points_mm[i], line.points_mm[i + 1]);
  if (line.closed && line.points_mm.size() > 2) add(line.points_mm.back(), line.points_mm.front());
  return length;
}

// From what is named to its words; empty when they stand beside it.
std::vector<glm::dvec2> lead_to(const Label& label, const Box& box) {
  if (label.about.empty()) return {};
  const auto end_of = [&](const glm::dvec2& from) { return glm::clamp(from, box.low, box.high); };
  glm::dvec2 nearest = label.about.front();
  for (const glm::dvec2& from : label.about)
    if (glm::distance(from, end_of(from)) < glm::distance(nearest, end_of(nearest))) nearest = from;
  if (glm::distance(nearest, end_of(nearest)) <= lead_from_mm) return {};
  return {nearest, end_of(nearest)};
}

}  // namespace

std::vector<Text> places_around(const glm::dvec2& at_mm, double clear_mm, double size_mm, bool bold) {
  struct Way {
    double x, y;
    Across across;
  };
  constexpr double slant = 0.75;
  static constexpr std::array<Way, 8> ways{{{1, 0, Across::left},
                                            {-1, 0, Across::right},
                                            {0, -1, Across::middle},
                                            {0, 1, Across::middle},
                                            {slant, -slant, Across::left},
                                            {slant, slant, Across::left},
                                            {-slant, -slant, Across::right},
                                            {-slant, slant, Across::right}}};
  std::vector<Text> places;
  for (const double further : {0.0, 2.5, 5.0, 8.0, 12.0, 17.0})
    for (const Way& way : ways) {
      const double out = clear_mm + further;
      // Half the height of capitals below the point beside it; above and below it the words keep clear.
      const double drop = (0.36 + 0.42 * way.y) * size_mm;
      places.push_back({.at_mm = at_mm + glm::dvec2(way.x * out, way.y * out + drop),
                        .size_mm = size_mm,
                        .across = way.across,
                        .bold = bold});
    }
  return places;
}

double Labels::cost(const Label& label, const Text& text, const std::vector<Mark>& marks) const {
  Box box = box_of(text);
  const Polyline lead{.points_mm = lead_to(label, box)};
  box.low -= between_mm;
  box.high += between_mm;
  double cost = 0;
  for (const Box& taken : taken_) {
    cost += overlap_cost * area_shared(box, taken);
    if (!lead.points_mm.empty()) cost += 3 * length_within(taken, lead);
  }
  for (const Mark& mark : marks)
    if (const auto* line = std::get_if<Polyline>(&mark.shape))
      cost += weight_of(mark.pen) * length_within(box, *line);
  return cost;
}

void Labels::place_all(Drawing& drawing) {
  for (Label& label : asked_) {
    double best = std::numeric_limits<double>::infinity();
    const Text* chosen = nullptr;
    for (std::size_t i = 0; i < label.places.size(); ++i) {
      Text& text = label.places[i];
      text.words = label.words;
      const Box box = box_of(text);
      if (box.low.x < paper_.low.x || box.low.y < paper_.low.y || box.high.x > paper_.high.x ||
          box.high.y > paper_.high.y)
        continue;
      const double price = 0.25 * static_cast<double>(i) + cost(label, text, drawing.marks);
      if (price >= best) continue;
      best = price;
      chosen = &text;
    }
    // Less than a square millimetre shared is not yet one on the other.
    if (!chosen || (!label.needed && best > overlap_cost)) continue;
    const Box box = box_of(*chosen);
    if (const auto lead = lead_to(label, box); !lead.empty()) drawing.add_line(Pen::key, lead[0], lead[1]);
    taken_.push_back(box);
    drawing.add(label.pen, *chosen, label.handle);
  }
  asked_.clear();
}

}  // namespace undercap
