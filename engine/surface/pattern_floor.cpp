// Bark, wood, leaves, moss, grass, soil and stone. The figures are tuned by eye: common practice, no source.
#include "engine/surface/pattern_build.h"

namespace undercap {

using glm::vec3;

namespace {

constexpr vec3 algae{0.085f, 0.115f, 0.035f}, lichen{0.33f, 0.34f, 0.28f}, bare_wood{0.25f, 0.18f, 0.115f};

// A green bloom, more on what faces up.
void put_algae(PatternRecipe& recipe, float wear) {
  recipe.put({.does = Does::add, .place = vec3(0.022f)});
  recipe.put({.covers = true,
              .place = vec3(0.16f),
              .amount = 0.4f,
              .by_up = 0.55f,
              .low = 1.05f - 0.9f * wear,
              .high = 1.7f - 0.8f * wear,
              .colour = algae});
}

// Lichen like paint: lobed, cracked into areoles.
void put_lichen(PatternRecipe& recipe, float wear) {
  recipe.put({.does = Does::add, .place = vec3(0.045f)});
  recipe.put({.does = Does::gate,
              .place = vec3(0.28f),
              .amount = 0.34f,
              .low = 0.95f - 0.6f * wear,
              .high = 1.0f - 0.6f * wear});
  recipe.put({.source = Source::edges,
              .covers = true,
              .place = vec3(0.9f),
              .low = 0,
              .high = 0.16f,
              .colour = lichen,
              .height_mm = 0.2f});
}

}  // namespace

// u 0 in a furrow, 1 on a ridge; v 1 where the bark is gone. Cracks, fibres and flakes run along the stem.
void bark_layers(PatternRecipe& recipe, const Pattern& pattern) {
  const float pitch = std::max(pattern.size_mm, 2.f);
  const auto grain = [&pattern](float across, float along) {
    return pattern.upright ? vec3(across, across, along) : vec3(along, across, across);
  };
  recipe.put({.does = Does::bend, .place = grain(0.12f, 0.05f), .bend_mm = 1.6f});
  recipe.put({.does = Does::add, .place = grain(0.25f, 0.06f), .amount = 0.25f, .by_u = 1});
  recipe.put({.place = grain(1.1f, 0.2f),
              .amount = 0.15f,
              .low = 0.8f,
              .high = 0,
              .colour = recipe.tone({0.3f, 0.28f, 0.27f})});
  recipe.put({.place = vec3(1.3f / pitch), .colour = {1.5f, 1.45f, 1.4f}});
  // Flakes some 5 mm wide and several times as long, a shade each, dark cracks between.
  recipe.put(
      {.source = Source::cells, .place = grain(0.2f, 0.035f), .low = 0, .high = 1, .colour = vec3(1.3f)});
  recipe.put({.source = Source::edges,
              .place = grain(0.2f, 0.035f),
              .low = 0.12f,
              .high = 0.01f,
              .colour = vec3(0.5f),
              .height_mm = -0.32f});
  recipe.put({.does = Does::add, .place = grain(0.7f, 0.07f)});
  recipe.put({.place = grain(1.9f, 0.2f),
              .amount = 0.7f,
              .low = -0.9f,
              .high = 0.9f,
              .colour = {1.6f, 1.6f, 1.6f},
              .height_mm = 0.17f});
  recipe.put({.place = vec3(2.2f), .low = -0.8f, .high = 0.8f, .colour = vec3(1.5f), .height_mm = 0.1f});
  put_algae(recipe, pattern.wear);
  put_lichen(recipe, pattern.wear);
  recipe.put(
      {.does = Does::gate, .place = vec3(0.3f), .amount = 0.1f, .by_v = 1, .low = 0.45f, .high = 0.55f});
  recipe.put({.covers = true, .place = vec3(0.12f), .low = -9, .high = -8, .colour = bare_wood});
  recipe.put({.does = Does::gate, .amount = 0, .by_v = 1, .low = 0.45f, .high = 0.55f});
  recipe.put({.place = vec3(0.4f), .low = -0.8f, .high = 0.8f, .colour = {1.7f, 1.75f, 1.8f}});
}

// The end of a log: rings of uneven width, checks from the pith, grey rot.
void wood_layers(PatternRecipe& recipe, const Pattern& pattern) {
  const float rings = std::max(pattern.size_mm, 4.f) / 1.8f;
  recipe.put({.turns = true,
              .along = {1.3f, 1.3f, rings},
              .low = -0.6f,
              .high = 0.6f,
              .colour = {1.7f, 1.85f, 2.0f},
              .height_mm = 0.25f});
  recipe.put({.source = Source::edges,
              .turns = true,
              .along = {6, 6, 0.7f},
              .low = 0.06f,
              .high = 0.005f,
              .colour = {0.3f, 0.27f, 0.25f},
              .height_mm = -0.8f});
  recipe.put({.does = Does::add, .place = vec3(0.04f)});
  recipe.put({.covers = true,
              .place = vec3(0.2f),
              .amount = 0.4f,
              .low = 0.7f - 0.8f * pattern.wear,
              .high = 1.5f - 0.8f * pattern.wear,
              .colour = recipe.tone({0.19f, 0.175f, 0.155f})});
  recipe.put({.place = vec3(0.15f),
              .amount = 0.05f,
              .by_v = 1,
              .low = 0.9f,
              .high = 1,
              .colour = {0.5f, 0.46f, 0.42f}});
  recipe.put({.place = vec3(1.6f), .colour = vec3(1.3f), .height_mm = 0.1f});
}

void twig_layers(PatternRecipe& recipe, const Pattern& pattern) {
  recipe.put({.does = Does::add, .place = vec3(0.12f)});
  recipe.put(
      {.place = vec3(0.6f), .amount = 0.6f, .colour = recipe.tone({1.8f, 1.7f, 1.6f}), .height_mm = 0.1f});
  recipe.put({.source = Source::spots,
              .place = vec3(0.7f),
              .low = -0.66f,
              .high = -0.74f,
              .colour = vec3(1.7f),
              .height_mm = 0.08f});
  recipe.put({.source = Source::edges,
              .place = vec3(1.2f),
              .low = 0.12f,
              .high = 0.01f,
              .colour = vec3(0.65f),
              .height_mm = -0.1f});
  put_algae(recipe, 0.7f * pattern.wear);
}

// u along, v across; 'lines': pairs of side veins, 0 = 7.
void leaf_layers(PatternRecipe& recipe, const Pattern& pattern) {
  const float pairs = pattern.lines > 0 ? pattern.lines : 7,
              grain = 50 / std::clamp(pattern.size_mm, 20.f, 150.f);
  recipe.put({.place = vec3(0.06f * grain),
              .by_e = 0.35f,
              .low = -0.3f,
              .high = 0.6f,
              .colour = recipe.tone({0.66f, 0.57f, 0.5f})});
  recipe.put({.place = vec3(0.22f), .low = -0.8f, .high = 0.8f, .colour = {1.3f, 1.35f, 1.4f}});
  recipe.put({.does = Does::add, .place = vec3(0.1f), .amount = 0.18f, .by_e = 1});
  recipe.put({.place = vec3(0.5f),
              .amount = 0.08f,
              .low = 1.05f - 0.35f * pattern.wear,
              .high = 1.1f,
              .colour = {0.5f, 0.42f, 0.36f}});
  recipe.put({.source = Source::edges,
              .place = vec3(1.4f),
              .low = 0.18f,
              .high = 0.02f,
              .colour = vec3(1.14f),
              .through = 0.8f,
              .height_mm = 0.05f});
  recipe.put({.does = Does::bend, .place = vec3(0.16f * grain), .bend_along = 0.025f});
  recipe.put({.does = Does::gate, .amount = 0, .by_e = 1, .low = 1.05f, .high = 0.6f});
  recipe.put({.source = Source::wave,
              .along = {pairs, 0, -1.9f},
              .by_e = -0.22f,
              .low = 0.62f,
              .high = 0.92f,
              .colour = {1.3f, 1.32f, 1.34f},
              .through = 0.55f,
              .height_mm = 0.22f});
  recipe.put({.amount = 0,
              .by_e = 1,
              .low = 0.07f,
              .high = 0.02f,
              .colour = {1.4f, 1.42f, 1.44f},
              .through = 0.45f,
              .height_mm = 0.35f});
  recipe.put({.source = Source::spots,
              .place = vec3(0.22f),
              .low = -0.7f - 0.25f * (1 - pattern.wear),
              .high = -0.8f - 0.2f * (1 - pattern.wear),
              .colour = {0.34f, 0.29f, 0.27f},
              .through = 0.7f});
  recipe.put({.place = vec3(1.9f), .colour = vec3(1.12f), .height_mm = 0.025f});
}

// v from the base of a shoot to its tip: dark below, whatever else it is.
void moss_layers(PatternRecipe& recipe, const Pattern& pattern) {
  recipe.put(
      {.amount = 0, .by_v = 1, .low = 0.95f, .high = 0.1f, .colour = recipe.tone({0.24f, 0.24f, 0.38f})});
  recipe.put({.does = Does::add, .place = vec3(0.03f)});
  recipe.put({.place = vec3(0.13f),
              .amount = 0.4f,
              .low = 0.5f - 0.5f * pattern.wear,
              .high = 1.2f - 0.5f * pattern.wear,
              .colour = {0.95f, 0.66f, 0.9f}});
  recipe.put({.place = vec3(0.4f), .colour = {1.35f, 1.3f, 1.3f}});
}

void frond_layers(PatternRecipe& recipe, const Pattern& pattern) {
  recipe.put({.place = vec3(0.02f), .colour = {1.5f, 1.6f, 1.6f}});
  recipe.put(
      {.place = vec3(0.3f), .low = -0.8f, .high = 0.8f, .colour = {1.35f, 1.4f, 1.45f}, .height_mm = 0.1f});
  recipe.put({.place = vec3(0.4f),
              .amount = 0.2f,
              .by_e = 1,
              .low = 0.6f,
              .high = 1,
              .colour = recipe.tone({0.72f, 0.62f, 0.55f})});
  recipe.put({.amount = 0,
              .by_e = 1,
              .low = 0.12f,
              .high = 0.04f,
              .colour = {0.75f, 0.68f, 0.62f},
              .through = 0.5f,
              .height_mm = 0.12f});
  recipe.put({.source = Source::spots,
              .place = vec3(0.5f),
              .low = -0.75f - 0.2f * (1 - pattern.wear),
              .high = -0.85f - 0.2f * (1 - pattern.wear),
              .colour = vec3(0.45f)});
}

// u across, v from the foot to the tip, which dries first.
void grass_layers(PatternRecipe& recipe, const Pattern& pattern) {
  recipe.put({.source = Source::wave,
              .along = {9, 0, 0},
              .low = -0.8f,
              .high = 0.8f,
              .colour = vec3(1.2f),
              .through = 1.1f,
              .height_mm = 0.03f});
  recipe.put({.place = vec3(0.03f),
              .amount = 0.25f,
              .by_v = 1,
              .low = 1.1f - 0.7f * pattern.wear,
              .high = 1.25f - 0.5f * pattern.wear,
              .colour = recipe.tone({1.7f, 1.0f, 1.2f})});
  recipe.put({.amount = 0, .by_v = 1, .low = 0.2f, .high = 0, .colour = {1.3f, 1.15f, 1.5f}});
  recipe.put({.place = vec3(0.2f), .colour = {1.25f, 1.2f, 1.2f}});
}

// Crumbs of the size that is given and a quarter of it in bent cells, pale bits, damp and dry places.
void soil_layers(PatternRecipe& recipe, const Pattern& pattern) {
  const float scale = 8 / std::clamp(pattern.size_mm, 1.f, 40.f);
  recipe.put({.does = Does::bend, .place = vec3(0.13f * scale), .bend_mm = 5 / scale});
  recipe.put({.source = Source::edges,
              .place = vec3(0.15f * scale),
              .low = 0.3f,
              .high = 0.02f,
              .colour = recipe.tone({0.66f, 0.64f, 0.63f}),
              .height_mm = -0.45f / scale});
  recipe.put({.does = Does::bend, .place = vec3(0.5f * scale), .bend_mm = 1.2f / scale});
  recipe.put({.source = Source::edges,
              .place = vec3(0.55f * scale),
              .low = 0.3f,
              .high = 0.02f,
              .colour = {0.78f, 0.76f, 0.74f},
              .height_mm = -0.16f / scale});
  recipe.put({.source = Source::cells,
              .place = vec3(0.55f * scale),
              .low = 0.3f,
              .high = 1,
              .colour = {1.5f, 1.45f, 1.4f}});
  recipe.put({.does = Does::add, .place = vec3(0.025f)});
  recipe.put(
      {.place = vec3(0.1f), .amount = 0.6f, .low = -0.8f, .high = 0.8f, .colour = {1.8f, 1.75f, 1.7f}});
  recipe.put({.source = Source::spots,
              .place = {0.3f, 0.45f, 0.4f},
              .low = -0.62f,
              .high = -0.7f,
              .colour = {2.4f, 2.3f, 2.2f},
              .height_mm = 0.3f});
  recipe.put({.place = vec3(1.8f), .colour = vec3(1.5f), .height_mm = 0.06f + 0.05f * pattern.wear});
}

void stone_layers(PatternRecipe& recipe, const Pattern& pattern) {
  recipe.put({.does = Does::add, .place = vec3(0.05f)});
  recipe.put(
      {.place = vec3(0.2f), .amount = 0.6f, .colour = recipe.tone({1.7f, 1.65f, 1.6f}), .height_mm = 0.5f});
  recipe.put({.source = Source::cells, .place = vec3(1.1f), .low = 0, .high = 1, .colour = vec3(1.4f)});
  recipe.put(
      {.source = Source::spots, .place = vec3(0.8f), .low = -0.6f, .high = -0.68f, .colour = vec3(0.5f)});
  recipe.put({.place = vec3(1.6f), .colour = vec3(1.15f), .height_mm = 0.12f});
  put_algae(recipe, 0.6f * pattern.wear);
  put_lichen(recipe, pattern.wear);
}

}  // namespace undercap
