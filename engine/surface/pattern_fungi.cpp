// Caps, gills, pores, stems, shelves, balls. The figures are tuned by eye: common practice, no source.
#include "engine/surface/pattern_build.h"

namespace undercap {

using glm::vec3;

// Fibres from the disc outward, mottles and a paler margin; striae where it has lines.
void cap_layers(PatternRecipe& recipe, const Pattern& pattern) {
  const float radius = std::max(pattern.size_mm, 1.f), fibres = std::sqrt(radius / 35);
  // Bent, or fibres and rings of one lattice cross like threads of a cloth. Striae stay straight.
  if (pattern.lines <= 0)
    recipe.put(
        {.does = Does::bend, .place = vec3(7 / radius), .bend_mm = 0.05f * radius, .bend_along = 0.05f});
  recipe.put({.place = vec3(1.6f / radius),
              .amount = 0.2f,
              .by_v = 1,
              .low = 0.95f,
              .high = 0.1f,
              .colour = recipe.tone({0.55f, 0.45f, 0.42f})});
  recipe.where_v(0.03f, 0.3f);
  recipe.put({.does = Does::add, .turns = true, .along = {11 * fibres, 11 * fibres, 1.6f}});
  recipe.put({.turns = true,
              .along = {36 * fibres, 36 * fibres, 3},
              .amount = 0.7f,
              .low = -0.9f,
              .high = 0.9f,
              .colour = {1.2f, 1.27f, 1.33f},
              .height_mm = 0.04f});
  recipe.where_v(0.1f, 0.5f);
  recipe.put({.turns = true,
              .along = {100 * fibres, 100 * fibres, 5},
              .low = -0.8f,
              .high = 0.8f,
              .colour = {1.17f, 1.22f, 1.27f},
              .height_mm = 0.025f});
  // Clouds, then freckles: a skin is no grain of wood.
  recipe.put({.does = Does::add, .place = vec3(3.2f / radius)});
  recipe.put({.place = vec3(9 / radius), .amount = 0.5f, .colour = {0.74f, 0.66f, 0.6f}});
  recipe.put({.does = Does::add, .place = vec3(0.24f), .amount = 0.7f});
  recipe.put({.place = vec3(0.8f), .amount = 0.6f, .low = 0, .high = 0.9f, .colour = {0.78f, 0.72f, 0.67f}});
  if (pattern.lines > 0) {
    recipe.where_v(0.45f, 0.95f);
    recipe.put({.source = Source::wave,
                .along = {pattern.lines, 0, 0},
                .low = 0,
                .high = 0.95f,
                .colour = {0.62f, 0.56f, 0.5f},
                .through = 0.75f,
                .height_mm = -0.008f * radius});
  }
  recipe.put({.source = Source::spots,
              .place = vec3(0.5f),
              .low = -0.68f - 0.12f * (1 - pattern.wear),
              .high = -0.80f - 0.08f * (1 - pattern.wear),
              .colour = {0.45f, 0.4f, 0.36f}});
  if (pattern.wear > 0.2f)
    recipe.put({.place = vec3(3.1f / radius),
                .low = 0.75f - 0.4f * pattern.wear,
                .high = 1,
                .colour = {0.55f, 0.48f, 0.42f}});
  recipe.put(
      {.amount = 0, .by_v = 1, .low = 0.94f, .high = 0.985f, .colour = {1.3f, 1.35f, 1.4f}, .through = 1.3f});
  recipe.put({.place = vec3(0.38f), .low = -1, .high = 1, .colour = vec3(1.1f), .height_mm = 0.22f});
  recipe.put({.place = vec3(2.6f), .low = -0.9f, .high = 0.9f, .colour = vec3(1.14f), .height_mm = 0.02f});
}

void gill_layers(PatternRecipe& recipe, const Pattern& pattern) {
  recipe.put({.amount = 0, .by_v = 1, .low = 0.5f, .high = 0, .colour = recipe.tone({0.78f, 0.68f, 0.55f})});
  recipe.put({.amount = 0, .by_v = 1, .low = 0.78f, .high = 1, .colour = vec3(1.14f), .through = 1.3f});
  recipe.put({.place = vec3(0.12f), .colour = {1.2f, 1.25f, 1.3f}});
  recipe.put({.place = vec3(0.45f),
              .along = {0, 5, 0},
              .low = -0.9f,
              .high = 0.9f,
              .colour = {1.15f, 1.2f, 1.25f},
              .height_mm = 0.06f});
  recipe.put({.place = vec3(2.2f), .colour = vec3(1.12f), .height_mm = 0.02f});
  recipe.put({.source = Source::spots,
              .place = vec3(0.4f),
              .low = -0.72f - 0.2f * (1 - pattern.wear),
              .high = -0.82f - 0.2f * (1 - pattern.wear),
              .colour = {0.6f, 0.42f, 0.3f}});
}

// 'lines': pores a mm; 0 = 1.5.
void pore_layers(PatternRecipe& recipe, const Pattern& pattern) {
  const float a_mm = pattern.lines > 0 ? pattern.lines : 1.5f;
  recipe.put({.source = Source::points,
              .place = vec3(a_mm),
              .low = 0.46f,
              .high = 0.24f,
              .colour = recipe.tone(vec3(0.42f)),
              .height_mm = -0.4f / a_mm});
  recipe.put({.does = Does::add, .place = vec3(0.07f)});
  recipe.put({.place = vec3(0.3f), .amount = 0.4f, .low = 0, .high = 0.8f, .colour = {0.75f, 0.7f, 0.5f}});
  recipe.put({.source = Source::cells, .place = vec3(a_mm), .low = 0, .high = 1, .colour = vec3(1.15f)});
}

// Fibres along it, or with 'lines' a net of pale veins; a darker foot, scales, and soil on the last tenth.
void stem_layers(PatternRecipe& recipe, const Pattern& pattern) {
  const float fibres = std::sqrt(std::max(pattern.size_mm, 0.3f) / 6);
  const bool net = pattern.lines > 0;
  const auto fibre = [net](const vec3& colour) { return net ? glm::mix(vec3(1), colour, 0.4f) : colour; };
  if (net) recipe.put({.does = Does::bend, .place = vec3(0.3f), .bend_mm = 1.2f});
  recipe.put({.place = vec3(0.15f),
              .amount = 0.2f,
              .by_v = 1,
              .low = 0.85f,
              .high = 0,
              .colour = recipe.tone({0.62f, 0.5f, 0.36f})});
  recipe.put({.does = Does::add,
              .turns = true,
              .place = {0, 0, 0.035f},
              .along = {4.5f * fibres, 4.5f * fibres, 0}});
  recipe.put({.turns = true,
              .place = {0, 0, 0.07f},
              .along = {14 * fibres, 14 * fibres, 0},
              .amount = 0.8f,
              .low = -0.9f,
              .high = 0.9f,
              .colour = fibre({1.22f, 1.28f, 1.36f}),
              .height_mm = 0.1f});
  recipe.put({.turns = true,
              .place = {0, 0, 0.16f},
              .along = {40 * fibres, 40 * fibres, 0},
              .low = -0.7f,
              .high = 0.7f,
              .colour = fibre({1.25f, 1.3f, 1.4f}),
              .height_mm = 0.05f});
  if (net) {  // meshes some 2 mm wide and 4 mm high, fainter downward
    recipe.where_v(0.1f, 0.6f);
    recipe.put({.source = Source::edges,
                .turns = true,
                .place = {0, 0, 0.25f},
                .along = {0.5f * pattern.size_mm, 0.5f * pattern.size_mm, 0},
                .low = 0.16f,
                .high = 0.03f,
                .colour = {1.22f, 1.26f, 1.3f},
                .height_mm = 0.14f});
  }
  recipe.put({.place = vec3(0.09f), .low = 0.1f, .high = 0.8f, .colour = {0.74f, 0.65f, 0.54f}});
  recipe.put({.place = {0.5f, 0.5f, 0.2f}, .low = -0.2f, .high = 0.8f, .colour = {0.84f, 0.79f, 0.73f}});
  recipe.put({.source = Source::spots,
              .place = {0.6f, 0.6f, 0.25f},
              .low = -0.7f - 0.15f * (1 - pattern.wear),
              .high = -0.82f - 0.12f * (1 - pattern.wear),
              .colour = {0.5f, 0.42f, 0.34f},
              .height_mm = 0.12f});
  recipe.put({.place = vec3(0.4f),
              .amount = 0.08f,
              .by_v = 1,
              .low = 0.13f,
              .high = 0.01f,
              .colour = {0.3f, 0.25f, 0.2f}});
  recipe.put({.place = vec3(2.4f), .colour = vec3(1.18f), .height_mm = 0.03f});
}

// Zones round it, hairs across them, algae by the host, a pale growing margin.
void shelf_layers(PatternRecipe& recipe, const Pattern& pattern) {
  const float zones = pattern.lines > 0 ? pattern.lines : 8;
  recipe.put({.turns = true,
              .along = {1.2f, 1.2f, zones},
              .low = -0.25f,
              .high = 0.2f,
              .colour = recipe.tone({0.4f, 0.36f, 0.36f}),
              .height_mm = 0.2f});
  recipe.put({.turns = true,
              .along = {1.7f, 1.7f, 2.1f * zones},
              .low = -0.2f,
              .high = 0.2f,
              .colour = {0.68f, 0.72f, 0.82f},
              .height_mm = 0.12f});
  recipe.put(
      {.turns = true, .along = {2, 2, 4.5f * zones}, .low = -0.6f, .high = 0.6f, .colour = vec3(1.25f)});
  recipe.put({.does = Does::add, .turns = true, .along = {45, 45, 2}});
  recipe.put({.turns = true,
              .along = {110, 110, 5},
              .amount = 0.6f,
              .low = -0.9f,
              .high = 0.9f,
              .colour = {1.3f, 1.33f, 1.36f},
              .height_mm = 0.08f});
  recipe.put({.place = vec3(0.09f), .low = 0, .high = 0.8f, .colour = {0.75f, 0.7f, 0.66f}});
  recipe.put({.does = Does::add, .place = vec3(0.11f), .amount = 0.3f, .by_v = 1});
  recipe.put({.covers = true,
              .place = vec3(0.7f),
              .amount = 0.15f,
              .low = 0.1f + 0.4f * pattern.wear,
              .high = 0.4f * pattern.wear - 0.2f,
              .colour = {0.085f, 0.115f, 0.035f}});
  recipe.put({.place = vec3(0.2f),
              .amount = 0.03f,
              .by_v = 1,
              .low = 0.9f,
              .high = 0.97f,
              .colour = {1.9f, 2.0f, 2.2f},
              .through = 1.6f});
  // Dark where it leaves the wood.
  recipe.put({.place = vec3(0.2f),
              .amount = 0.05f,
              .by_v = -1,
              .low = -0.32f,
              .high = -0.04f,
              .colour = {0.42f, 0.36f, 0.3f}});
}

// A skin that cracks into small plates, darker at the foot.
void ball_layers(PatternRecipe& recipe, const Pattern& pattern) {
  const float size = std::max(pattern.size_mm, 3.f);
  recipe.put({.does = Does::bend, .place = vec3(0.4f), .bend_mm = 0.9f});
  recipe.put({.source = Source::edges,
              .place = vec3(0.42f),
              .low = 0.2f,
              .high = 0.03f,
              .colour = {0.52f, 0.45f, 0.4f},
              .height_mm = -0.25f});
  recipe.put({.source = Source::edges,
              .place = vec3(1.3f),
              .low = 0.2f,
              .high = 0.02f,
              .colour = {0.76f, 0.72f, 0.68f},
              .height_mm = -0.08f});
  recipe.put({.source = Source::cells, .place = vec3(0.42f), .low = 0, .high = 1, .colour = vec3(1.25f)});
  recipe.put({.place = vec3(3.5f / size), .low = -0.1f, .high = 0.8f, .colour = {0.72f, 0.64f, 0.56f}});
  recipe.put({.place = vec3(5 / size),
              .amount = 0.15f,
              .by_v = 1,
              .low = 0.4f,
              .high = 0,
              .colour = recipe.tone({0.6f, 0.5f, 0.4f})});
  recipe.put({.place = vec3(0.3f),
              .amount = 0.1f,
              .by_v = 1,
              .low = 0.12f,
              .high = 0,
              .colour = {0.4f, 0.34f, 0.28f}});
  recipe.put({.place = vec3(2.6f), .colour = vec3(1.2f), .height_mm = 0.03f});
}

}  // namespace undercap
