#include "engine/measure/sides.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <vector>

#include "engine/colour/spaces.h"
#include "engine/core/errors.h"

namespace undercap {
namespace {

using Light = std::array<std::vector<double>, eighths>;  // lx by eighth, of each cell of the subject

struct Pair {
  double lit = 0, shadow = 0;  // lx
};

std::vector<std::size_t> cells_of_subject(const Survey& survey) {
  std::vector<std::size_t> cells;
  for (std::size_t i = 0; i < survey.subject_hits.size(); ++i)
    if (survey.is_subject(i)) cells.push_back(i);
  return cells;
}

Light light_of(const Survey& white, const Mix& mix, const std::vector<std::size_t>& cells) {
  Light light;
  for (std::size_t eighth = 0; eighth < eighths; ++eighth) {
    Use one{};
    one[eighth] = true;
    const std::vector<glm::dvec3> luminance = cell_luminance(white, mix, one);
    for (const std::size_t cell : cells)
      light[eighth].push_back(std::numbers::pi * luminance_y(luminance[cell]));
  }
  return light;
}

// Each cell with those of the eight around it that are the subject's: their mean.
std::vector<double> with_neighbours(const Survey& white, const std::vector<std::size_t>& cells,
                                    const std::vector<double>& light) {
  std::vector<double> whole(white.subject_hits.size()), mean;
  for (std::size_t i = 0; i < cells.size(); ++i) whole[cells[i]] = light[i];
  for (const std::size_t cell : cells) {
    const int x = static_cast<int>(cell) % white.width, y = static_cast<int>(cell) / white.width;
    double sum = 0;
    int count = 0;
    for (int v = std::max(0, y - 1); v <= std::min(white.height - 1, y + 1); ++v)
      for (int u = std::max(0, x - 1); u <= std::min(white.width - 1, x + 1); ++u) {
        const auto at = static_cast<std::size_t>(v * white.width + u);
        if (!white.is_subject(at)) continue;
        sum += whole[at];
        ++count;
      }
    mean.push_back(sum / count);
  }
  return mean;
}

// The thirds that 'choice' ranks first and last, as 'light' has them.
Pair thirds(const std::vector<double>& choice, const std::vector<double>& light) {
  std::vector<std::size_t> order(choice.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  const std::size_t third = order.size() / 3;
  const auto darker = [&](std::size_t a, std::size_t b) {
    return choice[a] != choice[b] ? choice[a] < choice[b] : a < b;
  };
  const auto at = [&](std::size_t place) { return order.begin() + static_cast<std::ptrdiff_t>(place); };
  std::nth_element(order.begin(), at(third), order.end(), darker);
  std::nth_element(at(third), at(order.size() - third), order.end(), darker);
  Pair sides;
  for (std::size_t i = 0; i < third; ++i) {
    sides.shadow += light[order[i]] / static_cast<double>(third);
    sides.lit += light[order[order.size() - 1 - i]] / static_cast<double>(third);
  }
  return sides;
}

// Of the eighths in use, each measures the thirds that the others choose.
Pair sides_from(const Light& light, const Light& smooth, const Use& use) {
  const auto used = std::count(use.begin(), use.end(), true);
  UNDERCAP_CHECK(used > 1, "one part of the samples chooses what another measures");
  Pair sides;
  for (std::size_t eighth = 0; eighth < eighths; ++eighth) {
    if (!use[eighth]) continue;
    std::vector<double> choice(light[eighth].size());
    for (std::size_t other = 0; other < eighths; ++other)
      for (std::size_t i = 0; use[other] && other != eighth && i < choice.size(); ++i)
        choice[i] += smooth[other][i];
    const Pair one = thirds(choice, light[eighth]);
    sides.lit += one.lit / static_cast<double>(used);
    sides.shadow += one.shadow / static_cast<double>(used);
  }
  return sides;
}

}  // namespace

std::size_t subject_cells(const Survey& survey) { return cells_of_subject(survey).size(); }

std::optional<Sides> sides_of(const Survey& white, const Mix& mix) {
  UNDERCAP_CHECK(white.white_first, "sides are told by light that arrives, not by what is sent back");
  const std::vector<std::size_t> cells = cells_of_subject(white);
  if (cells.size() < least_side_cells) return std::nullopt;
  const Light light = light_of(white, mix, cells);
  Light smooth;
  for (std::size_t i = 0; i < eighths; ++i) smooth[i] = with_neighbours(white, cells, light[i]);
  std::map<Use, Pair> known;  // three figures ask for the same halves
  const auto figure = [&](const std::function<std::optional<double>(const Pair&)>& of) {
    return figure_of([&](const Use& use) {
      const auto [at, is_new] = known.try_emplace(use);
      if (is_new) at->second = sides_from(light, smooth, use);
      return of(at->second);
    });
  };
  const auto lit = figure([](const Pair&sides) { return sides.lit; }),
             shadow = figure([](const Pair&sides) { return sides.shadow; });
  Sides sides{*lit, *shadow, {}};
  if (shadow->estimate.above_noise())
    sides.stops = figure([](const Pair& both) -> std::optional<double> {
      if (both.lit <= 0 || both.shadow <= 0) return std::nullopt;
      return std::log2(both.lit / both.shadow);
    });
  return sides;
}

}  // namespace undercap
