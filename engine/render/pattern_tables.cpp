#include "engine/render/pattern_tables.h"

#include <bit>
#include <cstring>
#include <glm/common.hpp>
#include <glm/packing.hpp>
#include <map>
#include <string>

#include "engine/surface/pattern_layers.h"

namespace undercap {
namespace {

constexpr std::size_t texels_of_pattern = 6;

float bits(std::uint32_t word) { return std::bit_cast<float>(word); }

std::uint32_t halves(float a, float b) { return glm::packHalf2x16({a, b}); }

void pack_layer(std::vector<glm::uvec4>& to, const PatternLayer& layer, std::uint32_t number) {
  const std::uint32_t word = static_cast<std::uint32_t>(layer.source) |
                             static_cast<std::uint32_t>(layer.does) << 4 | std::uint32_t(layer.turns) << 8 |
                             std::uint32_t(layer.covers) << 9 | number << 16;
  to.emplace_back(halves(layer.place.x, layer.place.y), halves(layer.place.z, layer.along.x),
                  halves(layer.along.y, layer.along.z), word);
  to.emplace_back(halves(layer.amount, layer.by_u), halves(layer.by_v, layer.by_e),
                  halves(layer.by_up, layer.bend_mm), halves(layer.low, 1 / (layer.high - layer.low)));
  to.emplace_back(halves(layer.colour.x, layer.colour.y), halves(layer.colour.z, layer.through),
                  halves(layer.height_mm, layer.bend_along), 0u);
}

// The layers that raise something, each with those before it that it needs.
std::vector<std::uint32_t> with_relief(const std::vector<PatternLayer>& layers) {
  std::vector<std::uint32_t> kept, waiting;
  for (std::uint32_t i = 0; i < layers.size(); ++i) {
    if (layers[i].does == PatternLayer::Does::damp) {
      waiting.clear();
      continue;
    }
    if (layers[i].does == PatternLayer::Does::bend) {
      kept.push_back(i);
      continue;
    }
    waiting.push_back(i);
    if (layers[i].does != PatternLayer::Does::act) continue;
    if (layers[i].height_mm != 0) kept.insert(kept.end(), waiting.begin(), waiting.end());
    waiting.clear();
  }
  return kept;
}

bool raises(const std::vector<PatternLayer>& layers) {
  for (const PatternLayer& layer : layers)
    if (layer.height_mm != 0) return true;
  return false;
}

}  // namespace

glm::uvec4 pack_places(const glm::vec2& a, const glm::vec2& b, const glm::vec2& c) {
  return {glm::packUnorm2x16(a), glm::packUnorm2x16(b), glm::packUnorm2x16(c), 0u};
}

void PatternTables::set(std::size_t material, const PatternMeans& means) {
  glm::vec4* record = &table[material * texels_of_pattern];
  record[0].w = means.wet_above;
  record[1] = {1.f / means.reflect, means.glossy_above};
  record[2] = {1.f / means.transmit, 0};
}

PatternTables pattern_tables(const World& world) {
  PatternTables tables;
  tables.table.resize(world.materials.size() * texels_of_pattern, glm::vec4(0));
  tables.patterned.resize(world.materials.size());
  std::map<std::string, std::pair<std::uint32_t, std::uint32_t>> known;  // layers as bytes: first, counts
  for (std::size_t i = 0; i < world.materials.size(); ++i) {
    const Material& m = world.materials[i];
    std::vector<PatternLayer> layers = pattern_layers(m.pattern, m.reflectance);
    if ((m.wet > 0 && m.wet < 1) || m.pattern.gloss > 0) {
      const std::vector<PatternLayer> damp = damp_layers();
      layers.insert(layers.end(), damp.begin(), damp.end());
    }
    tables.patterned[i] = !layers.empty();
    tables.set(i, {});
    if (layers.empty()) continue;
    tables.any = true;
    std::vector<glm::uvec4> packed;
    for (std::uint32_t number = 0; number < layers.size(); ++number)
      pack_layer(packed, layers[number], number);
    const std::vector<std::uint32_t> relief =
        raises(layers) ? with_relief(layers) : std::vector<std::uint32_t>();
    for (const std::uint32_t number : relief) pack_layer(packed, layers[number], number);
    std::string key(packed.size() * sizeof packed[0], '\0');
    std::memcpy(key.data(), packed.data(), key.size());
    const auto first = static_cast<std::uint32_t>(tables.layers.size() / 3);
    const auto [found, added] =
        known.emplace(key, std::pair(first, static_cast<std::uint32_t>(layers.size() | relief.size() << 16)));
    if (added) tables.layers.insert(tables.layers.end(), packed.begin(), packed.end());
    glm::vec4* record = &tables.table[i * texels_of_pattern];
    record[0].x = bits(found->second.first);
    record[0].y = bits(found->second.second);
    record[0].z = bits((m.pattern.seed << 1) | std::uint32_t(turns_round(m.pattern.kind)));
  }
  for (const WorldPart& part : world.parts)
    for (int row = 0; row < 3; ++row)
      tables.table[part.material * texels_of_pattern + 3 + static_cast<std::size_t>(row)] = {
          part.to_own[0][row], part.to_own[1][row], part.to_own[2][row], part.to_own[3][row]};
  return tables;
}

}  // namespace undercap
