// How one thing that a sweep varies is read from its words. Private to the module.
#pragma once

#include <fmt/format.h>

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/core/errors.h"
#include "engine/session/sweep_plan.h"

namespace undercap {

inline constexpr const char* base_name = "base";  // the scene itself, among its variants

inline constexpr std::pair<std::string_view, Same> same_names[] = {
    {"f_number", Same::f_number}, {"pupil", Same::pupil}, {"best", Same::best}, {"rule", Same::rule}};
Refusal vary_refusal(const std::string& vary, const std::string& why);

template <class Names>
auto value_of(const Names& names, const std::string& word, const std::string& option) {
  std::vector<std::string_view> known;
  for (const auto& [name, value] : names) {
    if (name == word) return value;
    known.push_back(name);
  }
  throw Refusal(fmt::format("{}: '{}'; allowed: {}", option, word, fmt::join(known, ", ")));
}

// Parts at commas that stand in no bracket, brace or quotes.
std::vector<std::string> at_commas(const std::string& list);

// "camera.f_number=4,8", "format=36x24" ...; refuses what is not understood.
SweepAxis axis_of(const std::string& vary, const Scene& scene);

}  // namespace undercap
