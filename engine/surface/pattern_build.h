// For the recipes of patterns: layers in a row, with the part's strengths applied.
#pragma once

#include <algorithm>
#include <cmath>
#include <glm/common.hpp>
#include <glm/exponential.hpp>
#include <vector>

#include "engine/surface/pattern_layers.h"

namespace undercap {

using Source = PatternLayer::Source;
using Does = PatternLayer::Does;

class PatternRecipe {
 public:
  PatternRecipe(const Pattern& pattern, const glm::vec3& reflectance)
      : pattern_(pattern), reflectance_(glm::max(reflectance, glm::vec3(2e-3f))) {}

  // The colour is a factor, or an absolute reflectance of what covers the part.
  void put(PatternLayer layer) {
    if (layer.covers && pattern_.strength < 0.05f) return;
    layer.colour = layer.covers
                       ? layer.colour / reflectance_
                       : glm::pow(glm::max(layer.colour, glm::vec3(0.02f)), glm::vec3(pattern_.strength));
    layer.through = std::pow(std::max(layer.through, 0.02f), pattern_.strength);
    layer.height_mm *= pattern_.relief;
    layers_.push_back(layer);
  }
  // The next acting layer counts only where v lies past 'low' toward 'high'.
  void where_v(float low, float high) {
    put({.does = Does::gate, .amount = 0, .by_v = 1, .low = low, .high = high});
  }
  // The kind's second colour: the builder's, or the usual one.
  glm::vec3 tone(const glm::vec3& usual) const {
    return pattern_.tone == glm::vec3(1) ? usual : pattern_.tone;
  }

  std::vector<PatternLayer> take() { return std::move(layers_); }

 private:
  const Pattern& pattern_;
  glm::vec3 reflectance_;
  std::vector<PatternLayer> layers_;
};

void cap_layers(PatternRecipe& recipe, const Pattern& pattern);
void gill_layers(PatternRecipe& recipe, const Pattern& pattern);
void pore_layers(PatternRecipe& recipe, const Pattern& pattern);
void stem_layers(PatternRecipe& recipe, const Pattern& pattern);
void shelf_layers(PatternRecipe& recipe, const Pattern& pattern);
void ball_layers(PatternRecipe& recipe, const Pattern& pattern);
void bark_layers(PatternRecipe& recipe, const Pattern& pattern);
void wood_layers(PatternRecipe& recipe, const Pattern& pattern);
void twig_layers(PatternRecipe& recipe, const Pattern& pattern);
void leaf_layers(PatternRecipe& recipe, const Pattern& pattern);
void moss_layers(PatternRecipe& recipe, const Pattern& pattern);
void frond_layers(PatternRecipe& recipe, const Pattern& pattern);
void grass_layers(PatternRecipe& recipe, const Pattern& pattern);
void soil_layers(PatternRecipe& recipe, const Pattern& pattern);
void stone_layers(PatternRecipe& recipe, const Pattern& pattern);

}  // namespace undercap
