#include "tests/reference/comparison.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>

#include "tests/physics/statistics.h"
#include "tests/reference/statistics.h"

namespace undercap::reference {
namespace {

constexpr int block = 8;
constexpr double fewest_hits = 2000;  // of a part, in all batches; fewer make no ratio

double luminance(const glm::dvec3& rgb) { return 0.2126390 * rgb.r + 0.7151687 * rgb.g + 0.0721923 * rgb.b; }

// One sample of the engine's film, added to a film of the reference's kind.
void add_sample(Film& film, const std::vector<float>& sums, const std::vector<undercap::Film::FirstHit>& hits,
                std::size_t half) {
  const std::size_t pixels = hits.size(), groups = film.group.size();
  for (std::size_t g = 0; g < groups; ++g)
    for (std::size_t i = 0; i < pixels; ++i) {
      const float* from = &sums[((half * groups + g) * pixels + i) * 3];
      const glm::dvec3 light(from[0], from[1], from[2]);
      film.group[g][i] += light;
      if (hits[i].part < film.part.size()) film.part[hits[i].part][g] += light;
    }
  for (const auto& hit : hits)
    if (hit.part < film.part.size()) film.part_hits[hit.part] += 1;
}

Film empty_film(const World& world, const Plan& plan) {
  const auto pixels = static_cast<std::size_t>(plan.width) * static_cast<std::size_t>(plan.height);
  Film film{.width = plan.width, .height = plan.height, .samples = plan.samples};
  for (std::size_t g = 0; g < world.groups.size(); ++g) film.group.emplace_back(pixels, glm::dvec3(0));
  film.part_hits.assign(world.parts.size(), 0);
  for (std::size_t p = 0; p < world.parts.size(); ++p)
    film.part.emplace_back(world.groups.size(), glm::dvec3(0));
  return film;
}

}  // namespace

void Measurement::put(const std::string& name, double above, double below) {
  Quantity& quantity = quantity_[name];
  quantity.above.push_back(above);
  quantity.below.push_back(below);
}

void Measurement::add_block(const Film& film, int left, int top) {
  const std::size_t groups = film.group.size();
  double mix = 0;
  const double samples = static_cast<double>(film.samples) * block * block;
  for (std::size_t g = 0; g < groups; ++g) {
    glm::dvec3 sum(0);
    for (int y = top; y < top + block; ++y)
      for (int x = left; x < left + block; ++x)
        sum += film.group[g][static_cast<std::size_t>(y * film.width + x)];
    mix += luminance(world_.groups[g].weight() * sum);
    if (groups > 1)
      put(fmt::format("block {:02},{:02} {}", left / block, top / block, world_.groups[g].name),
          luminance(sum), samples);
  }
  put(fmt::format("block {:02},{:02}", left / block, top / block), mix, samples);
}

void Measurement::add(const Film& film) {
  for (int top = 0; top + block <= film.height; top += block)
    for (int left = 0; left + block <= film.width; left += block) add_block(film, left, top);
  const std::size_t groups = film.group.size();
  const auto paths = static_cast<double>(film.group[0].size() * film.samples);
  double whole = 0;
  for (std::size_t g = 0; g < groups; ++g) {
    glm::dvec3 sum(0);
    for (const glm::dvec3& light : film.group[g]) sum += light;
    whole += luminance(world_.groups[g].weight() * sum);
    put("whole " + world_.groups[g].name, luminance(sum), paths);
  }
  put("whole", whole, paths);
  for (std::size_t p = 0; p < film.part.size(); ++p) {
    const WorldPart& part = world_.parts[p];
    const std::string name = fmt::format("part {}.{}/{}", part.prop, part.individual, part.part);
    glm::dvec3 mix(0);
    for (std::size_t g = 0; g < groups; ++g) mix += world_.groups[g].weight() * film.part[p][g];
    put(name + " red", mix.r, film.part_hits[p]);
    put(name + " green", mix.g, film.part_hits[p]);
    put(name + " blue", mix.b, film.part_hits[p]);
    for (std::size_t g = 0; g < groups && groups > 1; ++g)
      put(name + " " + world_.groups[g].name, luminance(film.part[p][g]), film.part_hits[p]);
    put(name + " hits", film.part_hits[p], paths);
  }
}

std::map<std::string, Measurement::Quantity> Measurement::quantities() const {
  std::map<std::string, Quantity> result;
  for (auto [name, q] : quantity_) {
    double above = 0, below = 0, squares = 0, cubes = 0;
    for (const double x : q.above) above += x;
    for (const double x : q.below) below += x;
    const bool part = name.starts_with("part ");
    if (part && (name.ends_with(" hits") ? above : below) < fewest_hits) continue;
    q.value = above / below;
    const auto count = static_cast<double>(q.above.size());
    for (std::size_t b = 0; b < q.above.size(); ++b) {
      const double residual = q.above[b] - q.value * q.below[b];
      squares += residual * residual;
      cubes += residual * residual * residual;
    }
    if (squares > 0) q.skewness = cubes / count / std::pow(squares / count, 1.5);
    q.se = std::sqrt(squares * count / (count - 1)) / below;
    result.emplace(name, std::move(q));
  }
  return result;
}

Measurement measure_engine(const World& world, const ShaderLibrary& shaders, const Plan& plan) {
  Tracer tracer(shaders, world);
  const View view{.width = plan.width, .height = plan.height, .first_hits = true};
  undercap::Film film = tracer.make_film(view);
  Measurement measurement(world);
  for (unsigned batch = 0; batch < plan.batches; ++batch) {
    Film sum = empty_film(world, plan);
    for (unsigned i = 0; i < plan.samples; ++i) {
      film.clear();
      tracer.sample(view, film, {.index = i / 2, .half = i % 2, .seed = batch + 1});
      add_sample(sum, film.read(), film.read_first_hits(), i % 2);
    }
    measurement.add(sum);
  }
  if (const auto warning = tracer.counters().warning()) throw std::runtime_error(*warning);
  return measurement;
}

Measurement measure_reference(const World& world, const Plan& plan, std::uint64_t seed) {
  const PathTracer tracer(world);
  Measurement measurement(world);
  for (unsigned batch = 0; batch < plan.batches; ++batch)
    measurement.add(tracer.render({.width = plan.width,
                                   .height = plan.height,
                                   .samples = plan.reference_samples,
                                   .seed = seed * 1000 + batch}));
  return measurement;
}

std::vector<Comparison> compare(const Measurement& ours, const Measurement& theirs) {
  // Single precision in the film and in the engine's walk of the sky; matters only where there is no noise.
  constexpr double rounding = 1e-5;
  std::vector<Comparison> result;
  const auto other = theirs.quantities();
  for (const auto& [name, a] : ours.quantities()) {
    const auto found = other.find(name);
    if (found == other.end()) continue;
    const auto& b = found->second;
    const double va = a.se * a.se, vb = b.se * b.se;
    const double floor = std::pow(rounding * b.value, 2);
    if (va + vb + floor <= 0 && a.value == b.value) continue;  // black on both sides
    Comparison c{.name = name, .ours = a.value, .theirs = b.value, .se = std::sqrt(va + vb + floor)};
    const double freedom = va + vb > 0 ? (va + vb) * (va + vb) /
                                             (va * va / static_cast<double>(a.above.size() - 1) +
                                              vb * vb / static_cast<double>(b.above.size() - 1))
                                       : 1e6;
    const double t = c.se > 0 ? (a.value - b.value) / c.se : 1e3;
    c.chance = student_chance(t, freedom);
    c.skewed =
        !name.starts_with("whole") && std::max(std::abs(a.skewness), std::abs(b.skewness)) > most_skewness;
    c.z = std::copysign(normal_from_two_sided(c.chance), t);
    result.push_back(c);
  }
  return result;
}

Verdict judged(const std::vector<Comparison>& comparisons) {
  Verdict v;
  v.worst.chance = 2;
  for (const Comparison& c : comparisons) {
    ++(c.skewed ? v.left_out : v.count);
    if (c.skewed) continue;
    if (c.chance < v.worst.chance) v.worst = c;
    if (c.name == "whole") v.whole_se = c.se / c.theirs;
    if (!c.name.starts_with("block ") || c.name.find(' ', 6) != std::string::npos) continue;
    ++v.blocks;
    v.chi_square += c.z * c.z;
    v.mean_z += c.z;
  }
  v.threshold = sidak(0.01, static_cast<double>(v.count));
  const auto blocks = static_cast<double>(v.blocks);
  v.chi_chance = chi_square_chance(v.chi_square, blocks);
  v.mean_z /= blocks;
  v.mean_chance = normal_two_sided(v.mean_z * std::sqrt(blocks));
  return v;
}

}  // namespace undercap::reference
