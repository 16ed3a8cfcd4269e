#include "engine/surface/pattern_layers.h"

#include "engine/surface/pattern_build.h"

namespace undercap {

bool turns_round(PatternKind kind) {
  return kind == PatternKind::cap || kind == PatternKind::stem || kind == PatternKind::shelf ||
         kind == PatternKind::wood;
}

std::vector<PatternLayer> damp_layers() {
  return {{.does = Does::add, .place = glm::vec3(0.19f)},
          {.does = Does::damp, .place = glm::vec3(0.55f), .amount = 0.45f}};
}

std::vector<PatternLayer> pattern_layers(const Pattern& pattern, const glm::vec3& reflectance) {
  if (pattern.strength <= 0 && pattern.relief <= 0) return {};
  PatternRecipe recipe(pattern, reflectance);
  switch (pattern.kind) {
    case PatternKind::none:
      return {};
    case PatternKind::cap:
      cap_layers(recipe, pattern);
      break;
    case PatternKind::gills:
      gill_layers(recipe, pattern);
      break;
    case PatternKind::pores:
      pore_layers(recipe, pattern);
      break;
    case PatternKind::stem:
      stem_layers(recipe, pattern);
      break;
    case PatternKind::shelf:
      shelf_layers(recipe, pattern);
      break;
    case PatternKind::ball:
      ball_layers(recipe, pattern);
      break;
    case PatternKind::bark:
      bark_layers(recipe, pattern);
      break;
    case PatternKind::wood:
      wood_layers(recipe, pattern);
      break;
    case PatternKind::leaf:
      leaf_layers(recipe, pattern);
      break;
    case PatternKind::moss:
      moss_layers(recipe, pattern);
      break;
    case PatternKind::frond:
      frond_layers(recipe, pattern);
      break;
    case PatternKind::grass:
      grass_layers(recipe, pattern);
      break;
    case PatternKind::soil:
      soil_layers(recipe, pattern);
      break;
    case PatternKind::stone:
      stone_layers(recipe, pattern);
      break;
    case PatternKind::twig:
      twig_layers(recipe, pattern);
      break;
  }
  return recipe.take();
}

}  // namespace undercap
