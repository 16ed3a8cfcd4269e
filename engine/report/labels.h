// Where the words of a drawing go, so that none lies on another and few lie on lines. Private to the module.
#pragma once

#include <glm/vec2.hpp>
#include <string>
#include <vector>

#include "engine/draw/drawing.h"

namespace undercap {

struct Label {
  std::string words;
  std::vector<Text> places;  // where it may stand, the best first; their words are filled in
  std::string handle{};
  Pen pen = Pen::text;
  // From here a thin line leads to words that stand further than a few mm off.
  std::vector<glm::dvec2> about{};  // none: no line
  bool needed = true;               // false: left out where it would lie on another
};

// The places around a point: beside it, above, below, then diagonally, then the same further out.
std::vector<Text> places_around(const glm::dvec2& at_mm, double clear_mm, double size_mm, bool bold = false);

class Labels {
 public:
  explicit Labels(const Box& paper) : paper_(paper) {}

  void keep_clear(const Box& box) { taken_.push_back(box); }
  void ask(Label label) { asked_.push_back(std::move(label)); }

  // In the order in which they were asked for.
  void place_all(Drawing& drawing);

 private:
  double cost(const Label& label, const Text& text, const std::vector<Mark>& marks) const;

  Box paper_;
  std::vector<Box> taken_;
  std::vector<Label> asked_;
};

}  // namespace undercap
