#include "engine/session/sweep_plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>

#include "engine/core/errors.h"
#include "engine/report/contact_sheet.h"
#include "engine/session/sweep_axis.h"

namespace undercap {
namespace {

constexpr std::pair<std::string_view, Match> match_names[] = {
    {"diagonal", Match::diagonal}, {"width", Match::width}, {"height", Match::height}};
constexpr std::pair<std::string_view, Held> hold_names[] = {{"framing", Held::framing},
                                                            {"viewpoint", Held::viewpoint},
                                                            {"brightness", Held::brightness},
                                                            {"depth", Held::depth}};

bool is_camera_key(const std::string& key) {
  return key.starts_with("camera.") || key.starts_with("sensor.") || key.starts_with("exposure.");
}

bool varies_key(const SweepPlan& plan, std::string_view key) {
  return std::any_of(plan.axes.begin(), plan.axes.end(),
                     [&](const SweepAxis& axis) { return axis.of == SweepAxis::Of::key && axis.key == key; });
}

// A thing cannot be varied and held.
void check_holds(const SweepPlan& plan) {
  const auto refuse = [](const char* word, const char* why) {
    throw Refusal(fmt::format("--hold {}: {}", word, why));
  };
  if (plan.holds(Held::framing) && plan.holds(Held::viewpoint))
    refuse("framing,viewpoint", "the camera moves to keep the one and stands still for the other; hold one");
  if (plan.holds(Held::viewpoint) && plan.has(SweepAxis::Of::axis_height))
    refuse("viewpoint", "axis_height_cm moves the camera; hold framing");
  if (plan.holds(Held::viewpoint) && plan.wants(Same::rule))
    refuse("viewpoint", "the crop rule's camera stands elsewhere; take same=f_number, pupil or best");
  if (plan.holds(Held::depth) && varies_key(plan, "camera.f_number"))
    refuse("depth", "depth of field is held by the f-number, which is varied");
  if (plan.holds(Held::depth) && plan.has(SweepAxis::Of::same))
    refuse("depth", "'same' says what formats share already");
  if ((plan.holds(Held::framing) || plan.holds(Held::viewpoint)) &&
      (varies_key(plan, "camera.magnification") || varies_key(plan, "camera.position_m")))
    refuse(plan.holds(Held::framing) ? "framing" : "viewpoint", "scale and place of the camera are varied");
  if (plan.holds(Held::brightness) && varies_key(plan, "exposure.shutter_s"))
    refuse("brightness", "it is held by the shutter time, which is varied");
}

}  // namespace

std::size_t SweepPlan::across() const {
  return axes.size() == 2 && axes[0].values.size() <= axes[1].values.size() ? 1 : 0;
}

int SweepPlan::columns() const {
  return axes.size() == 2 ? static_cast<int>(axes[across()].values.size()) : 0;
}

std::size_t SweepPlan::pictures() const {
  std::size_t count = 1;
  for (const SweepAxis& axis : axes) count *= axis.values.size();
  return count;
}

std::vector<std::size_t> SweepPlan::places(std::size_t picture) const {
  if (axes.size() == 1) return {picture};
  const std::size_t columns = axes[across()].values.size();
  std::vector<std::size_t> places(2, picture / columns);
  places[across()] = picture % columns;
  return places;
}

bool SweepPlan::has(SweepAxis::Of of) const {
  return std::any_of(axes.begin(), axes.end(), [&](const SweepAxis& axis) { return axis.of == of; });
}

bool SweepPlan::holds(Held what) const { return std::find(hold.begin(), hold.end(), what) != hold.end(); }

bool SweepPlan::camera_alone() const {
  return std::all_of(axes.begin(), axes.end(), [](const SweepAxis& axis) {
    using Of = SweepAxis::Of;
    return axis.of == Of::format || axis.of == Of::same || axis.of == Of::axis_height ||
           (axis.of == Of::key && is_camera_key(axis.key));
  });
}

bool SweepPlan::wants(Same wanted) const {
  if (!has(SweepAxis::Of::format)) return false;
  for (const SweepAxis& axis : axes)
    if (axis.of == SweepAxis::Of::same)
      return std::find(axis.sames.begin(), axis.sames.end(), wanted) != axis.sames.end();
  return same == wanted;
}

std::vector<Held> holds_of(const std::string& words) {
  std::vector<Held> holds;
  for (const std::string& word : at_commas(words)) holds.push_back(value_of(hold_names, word, "--hold"));
  return holds;
}

SweepPlan sweep_plan(const SweepWish& wish, const Scene& scene) {
  SweepPlan plan;
  if (wish.vary.empty()) throw Refusal("sweep needs --vary, for example --vary variant=all");
  if (wish.vary.size() > 2)
    throw Refusal(
        fmt::format("--vary is given {} times; a sheet shows one or two things varied: leave some out",
                    wish.vary.size()));
  for (const std::string& vary : wish.vary) plan.axes.push_back(axis_of(vary, scene));
  if (plan.axes.size() == 2 && plan.axes[0].key == plan.axes[1].key && plan.axes[0].of == plan.axes[1].of)
    throw vary_refusal(wish.vary[1], "the same thing twice; put its values in one list");
  plan.hold = wish.hold;
  if (!wish.same.empty()) plan.same = value_of(same_names, wish.same, "--same");
  if (!wish.match.empty()) plan.match = value_of(match_names, wish.match, "--match");
  const bool says_same = plan.has(SweepAxis::Of::same) || !wish.same.empty() || !wish.match.empty();
  if (!plan.has(SweepAxis::Of::format) && says_same)
    throw Refusal("'same' and --match say how formats compare; add --vary format=36x24,17.3x13, say");
  check_holds(plan);
  if (plan.pictures() > most_cells)
    throw vary_refusal(wish.vary.front(),
                       fmt::format("these are {} pictures; a sheet holds up to {}: name some of them",
                                   plan.pictures(), most_cells));
  return plan;
}

namespace {

// What people call the keys that are varied most; the key itself for others.
std::string words_of_axis(const SweepAxis& axis) {
  switch (axis.of) {
    case SweepAxis::Of::same:
      return "what the formats have in common";
    case SweepAxis::Of::axis_height:
      return "height of the lens axis";
    case SweepAxis::Of::hour:
      return "time of day, and with it sun and sky";
    case SweepAxis::Of::distance:
      return fmt::format("distance of {}", axis.key);
    case SweepAxis::Of::variant:
    case SweepAxis::Of::key:
    case SweepAxis::Of::format:
    case SweepAxis::Of::weather:
      break;
  }
  constexpr std::pair<std::string_view, const char*> words[] = {
      {"camera.f_number", "f-number"},        {"camera.focal_length_mm", "focal length"},
      {"camera.magnification", "scale"},      {"exposure.iso", "ISO speed"},
      {"exposure.shutter_s", "shutter time"}, {"ground.reflectance", "reflectance of the litter"}};
  for (const auto& [name, word] : words)
    if (name == axis.key) return word;
  if (axis.key.starts_with("source.") && axis.key.ends_with(".power_pct"))
    return fmt::format("power of {}", axis.key.substr(7, axis.key.size() - 17));
  if (axis.key.starts_with("source.") && axis.key.ends_with(".diameter_mm"))
    return fmt::format("width of {}", axis.key.substr(7, axis.key.size() - 19));
  return axis.key;
}

}  // namespace

std::vector<std::string> changed_by(const SweepPlan& plan, const Scene& scene) {
  std::vector<std::string> changed;
  for (const SweepAxis& axis : plan.axes) {
    if (axis.of == SweepAxis::Of::variant)
      for (const std::string& thing : changed_things(scene.variants, axis.values)) changed.push_back(thing);
    else
      changed.push_back(words_of_axis(axis));
  }
  if (plan.holds(Held::depth)) changed.push_back("f-number, to hold the depth");
  return changed;
}

std::string kept_in(const SweepPlan& plan, const std::vector<SweepEntry>& entries,
                    const std::vector<CameraRig>& rigs) {
  constexpr double same_to = 1e-6;  // of a length
  const auto near = [](double a, double b) {
    return std::abs(a - b) <= same_to * std::max(std::abs(a), 1e-3);
  };
  const auto all = [&](const auto& same) {
    return std::all_of(rigs.begin(), rigs.end(),
                       [&](const CameraRig& rig) { return same(rigs.front(), rig); });
  };
  const auto middle = [](const CameraRig& rig) {
    return rig.pupil_m + rig.forward * rig.pupil_distance.value();
  };
  std::vector<std::string> kept;
  if (plan.has(SweepAxis::Of::format)) {
    if (plan.has(SweepAxis::Of::same))
      kept.push_back(kept_by_all(plan.match));
    else if (plan.same == Same::f_number && varies_key(plan, "camera.f_number"))
      kept.push_back(fmt::format("{}; viewpoint", kept_by(plan.match)));
    else
      kept.push_back(kept_by(plan.same, plan.match));
  } else {
    if (all([&](const CameraRig& a, const CameraRig& b) {
          return near(a.width.value() / a.magnification, b.width.value() / b.magnification) &&
                 glm::distance(middle(a), middle(b)) < same_to;
        }))
      kept.push_back("framing");
    if (all([&](const CameraRig& a, const CameraRig& b) {
          return glm::distance(a.pupil_m, b.pupil_m) < same_to &&
                 glm::distance(a.forward, b.forward) < same_to;
        }))
      kept.push_back("viewpoint");
    if (plan.camera_alone() && !varies_key(plan, "camera.f_number") &&
        all([&](const CameraRig& a, const CameraRig& b) { return near(a.lens.f_number, b.lens.f_number); }))
      kept.push_back("f-number");
  }
  if (plan.holds(Held::depth)) kept.push_back("depth of field");
  if (plan.camera_alone()) kept.push_back("set and light");
  const bool metered = std::all_of(entries.begin(), entries.end(), [&](const SweepEntry& entry) {
    return !entry.scene.exposure.shutter_s &&
           entry.scene.exposure.compensation_stops == entries.front().scene.exposure.compensation_stops;
  });
  if (metered) kept.push_back("brightness of the picture (each is metered)");
  kept.push_back("all else");
  return fmt::format("{}", fmt::join(kept, "; "));
}

std::vector<std::string> rule_errors(const SweepPlan& plan, const Scene& scene) {
  std::vector<std::string> errors;
  if (!plan.wants(Same::rule)) return errors;
  const World world = build_world(scene);
  for (const SweepAxis& axis : plan.axes)
    for (const auto& format : axis.formats) errors.push_back(rule_error(world, format, plan.match));
  return errors;
}

std::vector<std::string> changed_things(const std::vector<Variant>& variants,
                                        const std::vector<std::string>& names) {
  std::vector<std::string> things;
  for (const Variant& variant : variants) {
    if (std::find(names.begin(), names.end(), variant.name) == names.end()) continue;
    for (const auto& [key, value] : variant.change) {
      std::string thing = key;
      if (key.starts_with("prop.") || key.starts_with("source.") || key.starts_with("meter.")) {
        const std::size_t name = key.find('.') + 1;
        thing = key.substr(name, key.find('.', name) - name);
      } else if (!key.starts_with("camera.") && !key.starts_with("exposure.")) {
        thing = key.substr(0, key.find('.'));
      }
      if (std::find(things.begin(), things.end(), thing) == things.end()) things.push_back(thing);
    }
  }
  return things;
}

}  // namespace undercap
