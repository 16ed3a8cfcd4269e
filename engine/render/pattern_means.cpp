#include "engine/render/pattern_means.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <functional>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <map>
#include <span>
#include <tuple>

#include "engine/gl/objects.h"

namespace undercap {
namespace {

// Places of a group of parts. A pattern's factor deviates by .3 to .5; spread evenly, its mean is off by
// about .4 %.
constexpr std::size_t places_of_group = 8192;
constexpr float most_returned = 0.92f;  // as in shaders/lib/look.glsl

using Group = PatternPlaces::Group;
using Spot = PatternPlaces::Spot;
using GroupKey = std::tuple<std::string, std::string, PatternKind>;

std::vector<Group> groups_of(const World& world, const PatternTables& patterns) {
  std::map<GroupKey, std::size_t> number;
  std::vector<Group> groups;
  std::vector<std::size_t> of_part(world.parts.size(), SIZE_MAX);
  for (std::size_t i = 0; i < world.parts.size(); ++i) {
    const WorldPart& part = world.parts[i];
    if (!patterns.patterned[part.material]) continue;
    const GroupKey key(part.prop, part.part, world.materials[part.material].pattern.kind);
    const auto [found, added] = number.emplace(key, groups.size());
    if (added) groups.emplace_back();
    groups[found->second].materials.push_back(part.material);
    of_part[i] = found->second;
  }
  for (std::uint32_t i = 0; i < world.triangle.size(); ++i)
    if (const std::size_t group = of_part[world.triangle[i].part]; group != SIZE_MAX)
      groups[group].triangles.push_back(i);
  return groups;
}

float area_of(const World& world, std::uint32_t triangle) {
  const WorldTriangle& t = world.triangle[triangle];
  const glm::vec3 a = world.position[t.a];
  return 0.5f * glm::length(glm::cross(world.position[t.b] - a, world.position[t.c] - a));
}

// One place in each of equal shares of the area, in the order of the mesh, which keeps neighbours together;
// within the triangle by the R2 sequence (Roberts 2018, from memory).
void spread(const World& world, const Group& group, std::vector<Spot>& places) {
  double total = 0;
  for (const std::uint32_t t : group.triangles) total += static_cast<double>(area_of(world, t));
  if (total <= 0) return;
  double before = 0, here = static_cast<double>(area_of(world, group.triangles[0]));
  std::size_t at = 0;
  for (std::size_t i = 0; i < places_of_group; ++i) {
    const double k = static_cast<double>(i);
    const double wanted = (k + std::fmod(0.5 + k * 0.6180339887498949, 1)) / places_of_group * total;
    while (before + here < wanted && at + 1 < group.triangles.size()) {
      before += here;
      here = static_cast<double>(area_of(world, group.triangles[++at]));
    }
    const double u = std::fmod(0.5 + k * 0.7548776662466927, 1),
                 v = std::fmod(0.5 + k * 0.5698402909980532, 1);
    const double root = std::sqrt(u);
    places.push_back({group.triangles[at], 0, static_cast<float>(1 - root), static_cast<float>(root * v)});
  }
}

// One channel of one place.
struct Sample {
  float factor, tint, most;  // before it is normalised; of the vertices; what the normalised one may be
};

// The divisor that leaves the mean of tint x factor that of the tint, the cap on the factor counted. Falls
// with the divisor, so halving finds it; where the cap forbids it, the smallest that was tried.
float mean_factor(const std::vector<Sample>& samples) {
  double wanted = 0;
  for (const Sample& s : samples) wanted += static_cast<double>(s.tint);
  const auto given = [&](double divisor) {
    double sum = 0;
    for (const Sample& s : samples)
      sum += static_cast<double>(s.tint) *
             std::min(static_cast<double>(s.factor) / divisor, static_cast<double>(s.most));
    return sum;
  };
  double low = 1e-3, high = 1e3;
  if (wanted <= 0) return 1;
  for (int turn = 0; turn < 40; ++turn) {
    const double middle = std::sqrt(low * high);
    (given(middle) > wanted ? low : high) = middle;
  }
  return static_cast<float>(low);
}

// The value that the share of the places lies above.
float threshold(std::vector<float> damp, float share) {
  if (share <= 0) return 1e9f;
  if (share >= 1) return -1e9f;
  const auto at = static_cast<std::ptrdiff_t>((1 - share) * static_cast<float>(damp.size()));
  std::nth_element(damp.begin(), damp.begin() + at, damp.end());
  return damp[static_cast<std::size_t>(at)];
}

PatternMeans means_of(const World& world, const Group& group, const std::vector<Spot>& places,
                      const std::vector<PatternValue>& values) {
  PatternMeans means;
  const Material& material = world.materials[group.materials.front()];
  std::vector<Sample> reflect(places_of_group), transmit(places_of_group);
  std::vector<float> damp;
  for (int channel = 0; channel < 3; ++channel) {
    const float both = material.reflectance[channel] + material.transmittance[channel];
    for (std::size_t i = 0; i < places_of_group; ++i) {
      const Spot& place = places[group.first_place + i];
      const PatternValue& value = values[group.first_place + i];
      const WorldTriangle& t = world.triangle[place.triangle];
      const float tint = (1 - place.b - place.c) * world.tint[t.a][channel] +
                         place.b * world.tint[t.b][channel] + place.c * world.tint[t.c][channel];
      const float most = std::max(most_returned / std::max(both * tint, 1e-3f), 1.f);
      reflect[i] = {value.colour[channel], tint, most};
      transmit[i] = {value.colour[channel] * value.through, tint, most};
      if (channel == 0) damp.push_back(value.damp);
    }
    means.reflect[channel] = mean_factor(reflect);
    means.transmit[channel] = mean_factor(transmit);
  }
  means.wet_above = threshold(damp, material.wet);
  means.glossy_above = threshold(damp, material.pattern.gloss);
  return means;
}

}  // namespace

PatternPlaces spread_pattern_places(const World& world, const PatternTables& patterns,
                                    const std::vector<std::uint32_t>& order) {
  PatternPlaces places;
  if (!patterns.any) return places;
  places.groups = groups_of(world, patterns);
  for (Group& group : places.groups) {
    group.first_place = places.spots.size();
    if (!group.triangles.empty()) spread(world, group, places.spots);
    group.triangles = {};
  }
  std::vector<std::uint32_t> slots(order.size());
  for (std::uint32_t slot = 0; slot < slots.size(); ++slot) slots[order[slot]] = slot;
  for (Spot& spot : places.spots) spot.slot = slots[spot.triangle];
  return places;
}

std::vector<PatternValue> read_pattern_values(const ShaderLibrary& shaders, const PatternPlaces& places) {
  const ShaderSource source = shaders.source("pattern_means.comp");
  const ComputeProgram program(source.text, source.files);
  std::vector<glm::uvec4> words;
  words.reserve(places.spots.size());
  for (const Spot& spot : places.spots)
    words.emplace_back(spot.slot, std::bit_cast<std::uint32_t>(spot.b), std::bit_cast<std::uint32_t>(spot.c),
                       0u);
  const Buffer asked(std::as_bytes(std::span(words))), answered(words.size() * sizeof(PatternValue));
  program.use();
  asked.bind_storage(4);
  answered.bind_storage(5);
  program.set("total", static_cast<int>(words.size()));
  constexpr std::size_t row = 1024, lanes = 64;
  const std::size_t work_groups = (words.size() + lanes - 1) / lanes;
  dispatch(static_cast<unsigned>(std::min(work_groups, row)),
           static_cast<unsigned>((work_groups + row - 1) / row));
  storage_barrier();
  std::vector<PatternValue> values(words.size());
  answered.read(std::as_writable_bytes(std::span(values)));
  return values;
}

std::vector<PatternMeans> pattern_means(const World& world, const PatternPlaces& places,
                                        const std::vector<PatternValue>& values) {
  std::vector<PatternMeans> means(world.materials.size());
  const std::vector<Group>& groups = places.groups;
  for (std::size_t i = 0; i < groups.size(); ++i) {
    const std::size_t end = i + 1 < groups.size() ? groups[i + 1].first_place : places.spots.size();
    if (end == groups[i].first_place) continue;  // no area
    const PatternMeans of_group = means_of(world, groups[i], places.spots, values);
    for (const std::uint32_t material : groups[i].materials) means[material] = of_group;
  }
  return means;
}

}  // namespace undercap
