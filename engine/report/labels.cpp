#include "engine/report/labels.h"

#include <algorithm>
#include <array>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <limits>

namespace undercap {
namespace {

constexpr double between_mm = 0.5;    // two labels
constexpr double lead_from_mm = 4.0;  // words nearer than this need no line to what they name

// What a millimetre of a line under words costs, in places down the list of wishes.
double weight_of(Pen pen) {
  switch (pen) {
    case Pen::grid:
      return 0.02;
    case Pen::clock:
    case Pen::field:
    case Pen::ground:
      return 0.15;
    case Pen::prop:
    case Pen::lux_line:
    case Pen::axis:
      return 0.3;
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

double Labels::cost(const Box& box, const std::vector<Mark>& marks) const {
  double cost = 0;
  for (const Box& taken : taken_) cost += 100 * area_shared(box, taken);
  for (const Mark& mark : marks)
    if (const auto* line = std::get_if<Polyline>(&mark.shape))
      cost += weight_of(mark.pen) * length_within(box, *line);
  return cost;
}

void Labels::place_all(Drawing& drawing) {
  const std::vector<Mark> lines = drawing.marks;
  for (Label& label : asked_) {
    double best = std::numeric_limits<double>::infinity();
    const Text* chosen = nullptr;
    for (std::size_t i = 0; i < label.places.size(); ++i) {
      label.places[i].words = label.words;
      Box box = box_of(label.places[i]);
      if (box.low.x < paper_.low.x || box.low.y < paper_.low.y || box.high.x > paper_.high.x ||
          box.high.y > paper_.high.y)
        continue;
      box.low -= between_mm;
      box.high += between_mm;
      const double price = 0.25 * static_cast<double>(i) + cost(box, lines);
      if (price >= best) continue;
      best = price;
      chosen = &label.places[i];
    }
    constexpr double lies_on_another = 100;
    if (!chosen || (!label.needed && best > lies_on_another)) continue;
    const Box box = box_of(*chosen);
    if (!label.about.empty()) {
      glm::dvec2 nearest = label.about.front();
      const auto end_of = [&](const glm::dvec2& from) { return glm::clamp(from, box.low, box.high); };
      for (const glm::dvec2& from : label.about)
        if (glm::distance(from, end_of(from)) < glm::distance(nearest, end_of(nearest))) nearest = from;
      if (glm::distance(nearest, end_of(nearest)) > lead_from_mm)
        drawing.add_line(Pen::key, nearest, end_of(nearest));
    }
    taken_.push_back(box);
    drawing.add(label.pen, *chosen, label.handle);
  }
  asked_.clear();
}

}  // namespace undercap
