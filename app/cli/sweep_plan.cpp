#include "app/cli/sweep_plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>

#include "engine/core/errors.h"
#include "engine/report/contact_sheet.h"
#include "engine/world/update.h"

namespace undercap {
namespace {

constexpr const char* base_name = "base";

constexpr std::pair<std::string_view, Same> same_names[] = {
    {"f_number", Same::f_number}, {"pupil", Same::pupil}, {"best", Same::best}, {"rule", Same::rule}};
constexpr std::pair<std::string_view, Match> match_names[] = {
    {"diagonal", Match::diagonal}, {"width", Match::width}, {"height", Match::height}};

Refusal refusal(const std::string& vary, const std::string& why) {
  return Refusal(fmt::format("--vary {}: {}", vary, why));
}

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
std::vector<std::string> at_commas(const std::string& list) {
  std::vector<std::string> parts(1);
  int depth = 0;
  bool quoted = false;
  for (const char c : list) {
    quoted = quoted != (c == '"');
    if (!quoted && (c == '[' || c == '{')) ++depth;
    if (!quoted && (c == ']' || c == '}')) --depth;
    if (c == ',' && depth == 0 && !quoted)
      parts.emplace_back();
    else
      parts.back() += c;
  }
  return parts;
}

void name_variants(const std::string& vary, const Scene& scene, SweepAxis& axis) {
  std::vector<std::string> known;
  for (const Variant& variant : scene.variants) known.push_back(variant.name);
  if (axis.values == std::vector<std::string>{"all"}) {
    if (known.empty()) throw refusal(vary, "the scene has no variants");
    axis.values = known;
  }
  for (const std::string& name : axis.values)
    if (name != base_name && std::find(known.begin(), known.end(), name) == known.end())
      throw refusal(vary,
                    fmt::format("there is no variant '{}'; allowed: all, or of these, with commas: base{}{}",
                                name, known.empty() ? "" : ", ", fmt::join(known, ", ")));
}

std::array<double, 2> format_of(const std::string& vary, const std::string& text) {
  std::array<double, 2> sides{};
  const char* const end = text.data() + text.size();
  const auto across = std::from_chars(text.data(), end, sides[0]);
  const bool has_x = across.ec == std::errc{} && across.ptr != end && *across.ptr == 'x';
  const auto down = std::from_chars(has_x ? across.ptr + 1 : end, end, sides[1]);
  const auto allowed = [](double side) { return side >= 3 && side <= 130; };
  if (down.ec != std::errc{} || down.ptr != end || !allowed(sides[0]) || !allowed(sides[1]))
    throw refusal(vary, fmt::format("'{}' is no format; write width x height in mm, 3 to 130 each, for "
                                    "example format=36x24,17.3x13",
                                    text));
  return sides;
}

SweepAxis axis_of(const std::string& vary, const Scene& scene) {
  const std::size_t equals = vary.find('=');
  SweepAxis axis;
  axis.key = vary.substr(0, equals);
  if (equals == std::string::npos || axis.key.empty())
    throw refusal(vary,
                  "write what is varied and its values, for example variant=all, "
                  "camera.f_number=4,8,16 or format=36x24,17.3x13");
  axis.values = at_commas(vary.substr(equals + 1));
  if (axis.key == "variant") {
    name_variants(vary, scene, axis);
  } else if (axis.key == "format") {
    axis.of = SweepAxis::Of::format;
    for (const std::string& value : axis.values) axis.formats.push_back(format_of(vary, value));
  } else if (axis.key == "same") {
    axis.of = SweepAxis::Of::same;
    for (const std::string& value : axis.values)
      axis.sames.push_back(value_of(same_names, value, fmt::format("--vary {}", vary)));
  } else {
    axis.of = SweepAxis::Of::key;
    for (const std::string& value : axis.values)
      if (value.empty()) throw refusal(vary, "a value is missing");
  }
  for (std::size_t i = 0; i < axis.values.size(); ++i)
    if (std::find(axis.values.begin(), axis.values.begin() + static_cast<std::ptrdiff_t>(i),
                  axis.values[i]) != axis.values.begin() + static_cast<std::ptrdiff_t>(i))
      throw refusal(vary, fmt::format("'{}' is named twice", axis.values[i]));
  return axis;
}

bool is_camera_key(const std::string& key) {
  return key.starts_with("camera.") || key.starts_with("sensor.") || key.starts_with("exposure.");
}

std::string format_text(const std::array<double, 2>& format) {
  return fmt::format("{:g} x {:g} mm", format[0], format[1]);
}

// As it stands under its picture.
std::string label_of(const SweepAxis& axis, std::size_t i) {
  const std::string& value = axis.values[i];
  switch (axis.of) {
    case SweepAxis::Of::variant:
      return value;
    case SweepAxis::Of::format:
      return format_text(axis.formats[i]);
    case SweepAxis::Of::same:
      return words_of(axis.sames[i]);
    case SweepAxis::Of::key:
      break;
  }
  if (axis.key == "camera.f_number") return "f/" + value;
  if (axis.key == "camera.focal_length_mm") return value + " mm";
  if (axis.key == "exposure.iso") return "ISO " + value;
  const std::size_t dot = axis.key.rfind('.');
  return fmt::format("{} {}", dot == std::string::npos ? axis.key : axis.key.substr(dot + 1), value);
}

// The places on each axis of picture 'i', counted row by row.
std::vector<std::size_t> places_of(const SweepPlan& plan, std::size_t i) {
  if (plan.axes.size() == 1) return {i};
  const std::size_t across = plan.axes[plan.across()].values.size();
  std::vector<std::size_t> places(2, i / across);
  places[plan.across()] = i % across;
  return places;
}

std::size_t picture_count(const SweepPlan& plan) {
  std::size_t count = 1;
  for (const SweepAxis& axis : plan.axes) count *= axis.values.size();
  return count;
}

}  // namespace

std::size_t SweepPlan::across() const {
  return axes.size() == 2 && axes[0].values.size() <= axes[1].values.size() ? 1 : 0;
}

int SweepPlan::columns() const {
  return axes.size() == 2 ? static_cast<int>(axes[across()].values.size()) : 0;
}

bool SweepPlan::has_formats() const {
  return std::any_of(axes.begin(), axes.end(),
                     [](const SweepAxis& axis) { return axis.of == SweepAxis::Of::format; });
}

bool SweepPlan::camera_alone() const {
  return std::all_of(axes.begin(), axes.end(), [](const SweepAxis& axis) {
    return axis.of != SweepAxis::Of::variant && (axis.of != SweepAxis::Of::key || is_camera_key(axis.key));
  });
}

bool SweepPlan::wants(Same wanted) const {
  if (!has_formats()) return false;
  for (const SweepAxis& axis : axes)
    if (axis.of == SweepAxis::Of::same)
      return std::find(axis.sames.begin(), axis.sames.end(), wanted) != axis.sames.end();
  return same == wanted;
}

SweepPlan sweep_plan(const SharedOptions& options, const Scene& scene) {
  SweepPlan plan;
  if (options.vary.size() > 2)
    throw Refusal(
        fmt::format("--vary is given {} times; a sheet shows one or two things varied: leave some out",
                    options.vary.size()));
  for (const std::string& vary : options.vary) plan.axes.push_back(axis_of(vary, scene));
  if (plan.axes.size() == 2 && plan.axes[0].key == plan.axes[1].key)
    throw refusal(options.vary[1], "the same thing twice; put its values in one list");
  if (!options.same.empty()) plan.same = value_of(same_names, options.same, "--same");
  if (!options.match.empty()) plan.match = value_of(match_names, options.match, "--match");
  const bool varies_same = std::any_of(plan.axes.begin(), plan.axes.end(),
                                       [](const SweepAxis& axis) { return axis.of == SweepAxis::Of::same; });
  if (!plan.has_formats() && (varies_same || !options.same.empty() || !options.match.empty()))
    throw Refusal("'same' and --match say how formats compare; add --vary format=36x24,17.3x13, say");
  const std::size_t count = picture_count(plan);
  if (count > most_cells)
    throw refusal(
        options.vary.front(),
        fmt::format("these are {} pictures; a sheet holds up to {}: name some of them", count, most_cells));
  return plan;
}

std::vector<SweepEntry> sweep_entries(const SharedOptions& options, const SceneFile& base,
                                      const SweepPlan& plan, const std::optional<DepthRange>& needed) {
  std::vector<SweepEntry> entries;
  std::optional<World> world;  // of the scene's own format, for its partners
  for (std::size_t i = 0; i < picture_count(plan); ++i) {
    const std::vector<std::size_t> places = places_of(plan, i);
    SharedOptions own = options;
    own.quiet = true;
    std::vector<std::string> labels;
    PartnerWish wish{.match = plan.match, .same = plan.same};
    for (std::size_t a = 0; a < plan.axes.size(); ++a) {
      const SweepAxis& axis = plan.axes[a];
      const std::string& value = axis.values[places[a]];
      labels.push_back(label_of(axis, places[a]));
      if (axis.of == SweepAxis::Of::variant && value != base_name) own.variant = value;
      if (axis.of == SweepAxis::Of::key) own.sets.push_back(fmt::format("{}={}", axis.key, value));
      if (axis.of == SweepAxis::Of::format) wish.format_mm = axis.formats[places[a]];
      if (axis.of == SweepAxis::Of::same) wish.same = axis.sames[places[a]];
    }
    const SceneFile file = open_scene(own);
    for (const std::string& note : file.notes())
      if (std::find(base.notes().begin(), base.notes().end(), note) == base.notes().end())
        tell(options, note);
    Scene scene = file.scene();
    if (plan.has_formats()) {
      if (!world || !plan.camera_alone())
        world = build_world(scene);
      else
        update_camera(*world, scene);
      scene = partner_scene(*world, wish, needed);
    }
    const Size size = picture_size(options, scene, 480);
    entries.push_back({.name = fmt::format("{}", fmt::join(labels, ", ")),
                       .scene = scene,
                       .width = size.width,
                       .height = size.height,
                       .same_set = i > 0 && plan.camera_alone()});
  }
  return entries;
}

namespace {

// What people call the keys that are varied most; the key itself for others.
std::string words_of_key(const std::string& key) {
  constexpr std::pair<std::string_view, const char*> words[] = {{"camera.f_number", "f-number"},
                                                                {"camera.focal_length_mm", "focal length"},
                                                                {"exposure.iso", "ISO speed"},
                                                                {"exposure.shutter_s", "shutter time"}};
  for (const auto& [name, word] : words)
    if (name == key) return word;
  return key;
}

}  // namespace

std::vector<std::string> changed_by(const SweepPlan& plan, const Scene& scene) {
  std::vector<std::string> changed;
  for (const SweepAxis& axis : plan.axes) {
    if (axis.of == SweepAxis::Of::variant)
      for (const std::string& thing : changed_things(scene.variants, axis.values)) changed.push_back(thing);
    else if (axis.of == SweepAxis::Of::same)
      changed.push_back("what the formats have in common");
    else
      changed.push_back(words_of_key(axis.key));
  }
  return changed;
}

std::string kept_in(const SweepPlan& plan) {
  if (!plan.has_formats()) return "all else";
  bool varies_f = false;
  for (const SweepAxis& axis : plan.axes) {
    if (axis.of == SweepAxis::Of::same) return kept_by_all(plan.match);
    varies_f = varies_f || axis.key == "camera.f_number";
  }
  if (plan.same == Same::f_number && varies_f)
    return fmt::format("{}; viewpoint; all else", kept_by(plan.match));
  return fmt::format("{}; all else", kept_by(plan.same, plan.match));
}

std::vector<std::string> rule_errors(const SweepPlan& plan, const Scene& scene) {
  std::vector<std::string> errors;
  if (!plan.wants(Same::rule)) return errors;
  const World world = build_world(scene);
  for (const SweepAxis& axis : plan.axes)
    for (const auto& format : axis.formats) errors.push_back(rule_error(world, format, plan.match));
  return errors;
}

}  // namespace undercap
