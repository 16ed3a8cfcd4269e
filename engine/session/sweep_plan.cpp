#include "engine/session/sweep_plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/core/errors.h"
#include "engine/optics/third_stops.h"
#include "engine/report/contact_sheet.h"
#include "engine/session/sweep_scenes.h"
#include "engine/world/update.h"

namespace undercap {
namespace {

constexpr const char* base_name = "base";

constexpr std::pair<std::string_view, Same> same_names[] = {
    {"f_number", Same::f_number}, {"pupil", Same::pupil}, {"best", Same::best}, {"rule", Same::rule}};
constexpr std::pair<std::string_view, Match> match_names[] = {
    {"diagonal", Match::diagonal}, {"width", Match::width}, {"height", Match::height}};
constexpr std::pair<std::string_view, Held> hold_names[] = {{"framing", Held::framing},
                                                            {"viewpoint", Held::viewpoint},
                                                            {"brightness", Held::brightness},
                                                            {"depth", Held::depth}};

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

double number_of(const std::string& vary, const std::string& text, double low, double high,
                 const std::string& what) {
  double value = 0;
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value);
  if (read.ec != std::errc{} || read.ptr != end || !(value >= low && value <= high))
    throw refusal(vary, fmt::format("'{}' is no {}; allowed: {:g} to {:g}", text, what, low, high));
  return value;
}

// "8" or "10:30", hours of the day.
double hour_of(const std::string& vary, const std::string& text) {
  const std::size_t colon = text.find(':');
  const double hour = number_of(vary, text.substr(0, colon), 0, 23, "hour of the day (8 or 10:30, UTC)");
  const double minute =
      colon == std::string::npos ? 0 : number_of(vary, text.substr(colon + 1), 0, 59, "minute");
  if (hour != std::floor(hour) || minute != std::floor(minute))
    throw refusal(vary, fmt::format("'{}' is no time; write 8 or 10:30, UTC", text));
  return hour + minute / 60;
}

// A dial's steps between two values: third stops, the exact values, from the first to the last named.
void spread_range(const std::string& vary, const std::string& range, SweepAxis& axis) {
  const std::size_t dots = range.find(".."), slash = range.find('/', dots);
  const double from = number_of(vary, range.substr(0, dots), 1e-6, 1e6, "number");
  const double to =
      number_of(vary, range.substr(dots + 2, slash == std::string::npos ? slash : slash - dots - 2), 1e-6,
                1e6, "number");
  const double step = slash == std::string::npos
                          ? 1
                          : number_of(vary, range.substr(slash + 1), 1, 30, "step in thirds of a stop");
  if (step != std::floor(step)) throw refusal(vary, "a step is a whole number of thirds of a stop");
  const bool is_power = axis.key.ends_with(".power_pct");
  const std::span<const ThirdStop> dial = axis.key == "camera.f_number"      ? third_stop_f_numbers()
                                          : axis.key == "exposure.shutter_s" ? third_stop_shutters()
                                          : axis.key == "exposure.iso"       ? third_stop_isos()
                                                                             : std::span<const ThirdStop>{};
  if (dial.empty() && !is_power)
    throw refusal(
        vary,
        "a range goes in thirds of a stop, of camera.f_number, exposure.shutter_s, exposure.iso and a "
        "source's power_pct; write a list");
  const auto add = [&](double value, const std::string& label) {
    axis.values.push_back(fmt::format("{:.7g}", value));
    axis.labels.push_back(label);
    axis.numbers.push_back(value);
    if (axis.values.size() > most_cells)
      throw refusal(vary,
                    fmt::format("these are more than {} pictures; give a step: {}/3 is every whole stop",
                                most_cells, range));
  };
  if (is_power) {
    const double sign = to < from ? -1 : 1;
    for (double third = 0; third <= std::abs(3 * std::log2(to / from)) + 0.01; third += step) {
      const double value = from * std::exp2(sign * third / 3);
      add(value, fmt::format("{:.3g} %", value));
    }
    return;
  }
  const bool falls = to < from;
  const auto place = [&](double value) {
    return std::min_element(dial.begin(), dial.end(),
                            [&](const ThirdStop& a, const ThirdStop& b) {
                              return std::abs(std::log2(a.nominal / value)) <
                                     std::abs(std::log2(b.nominal / value));
                            }) -
           dial.begin();
  };
  // Shutter times and f-numbers rise along their dial or fall: the ends say which way to go.
  auto at = place(from);
  const auto last = place(to);
  const auto way = static_cast<std::ptrdiff_t>(step) * (last < at ? -1 : 1);
  for (; way > 0 ? at <= last : at >= last; at += way)
    add(dial[static_cast<std::size_t>(at)].exact, dial[static_cast<std::size_t>(at)].label);
  if (axis.values.empty() || (falls && axis.numbers.back() > from))
    throw refusal(vary, fmt::format("'{}' holds no step of the dial", range));
}

// As a value of a key stands under its picture.
std::string key_label(const std::string& key, const std::string& value) {
  if (key == "camera.f_number") return "f/" + value;
  if (key == "camera.focal_length_mm") return value + " mm";
  if (key == "exposure.iso") return "ISO " + value;
  if (key == "exposure.shutter_s") return value + " s";
  if (key.ends_with(".power_pct")) return value + " %";
  if (key == "camera.magnification") return "scale " + value;
  if (key.starts_with("source.") && key.ends_with(".diameter_mm"))
    return fmt::format("lamp {} mm wide", value);
  const std::size_t dot = key.rfind('.');
  return fmt::format("{} {}", dot == std::string::npos ? key : key.substr(dot + 1), value);
}

void read_keys(const std::string& vary, const std::string& list, SweepAxis& axis) {
  const std::size_t dots = list.find("..");
  const bool is_range = dots != std::string::npos && dots > 0 &&
                        list.find_first_not_of("0123456789.eE+-/") == std::string::npos;
  if (is_range) {
    spread_range(vary, list, axis);
    return;
  }
  axis.values = at_commas(list);
  for (const std::string& value : axis.values) {
    if (value.empty()) throw refusal(vary, "a value is missing");
    axis.labels.push_back(key_label(axis.key, value));
    double number = 0;
    const auto read = std::from_chars(value.data(), value.data() + value.size(), number);
    if (read.ec == std::errc{} && read.ptr == value.data() + value.size()) axis.numbers.push_back(number);
  }
  if (axis.numbers.size() != axis.values.size()) axis.numbers.clear();
}

void read_distances(const std::string& vary, const Scene& scene, SweepAxis& axis) {
  axis.of = SweepAxis::Of::distance;
  axis.key = axis.key.substr(axis.key.find('.') + 1);
  std::vector<std::string> known;
  for (const Source& source : scene.sources) known.push_back(source.name);
  if (std::find(known.begin(), known.end(), axis.key) == known.end())
    throw refusal(vary, fmt::format("there is no source '{}'; {}", axis.key,
                                    known.empty() ? "the scene has none"
                                                  : fmt::format("allowed: {}", fmt::join(known, ", "))));
  for (const std::string& value : axis.values) {
    axis.numbers.push_back(number_of(vary, value, 1, 1000, "distance in cm"));
    axis.labels.push_back(value + " cm");
  }
}

SweepAxis axis_of(const std::string& vary, const Scene& scene) {
  const std::size_t equals = vary.find('=');
  SweepAxis axis;
  axis.key = vary.substr(0, equals);
  if (equals == std::string::npos || axis.key.empty())
    throw refusal(vary,
                  "write what is varied and its values, for example variant=all, "
                  "camera.f_number=4,8,16 or format=36x24,17.3x13");
  const std::string list = vary.substr(equals + 1);
  axis.values = at_commas(list);
  if (axis.key == "lens") axis.key = "camera.focal_length_mm";
  if (axis.key == "variant") {
    name_variants(vary, scene, axis);
    axis.labels = axis.values;
  } else if (axis.key == "format") {
    axis.of = SweepAxis::Of::format;
    for (const std::string& value : axis.values) {
      axis.formats.push_back(format_of(vary, value));
      axis.labels.push_back(fmt::format("{:g} x {:g} mm", axis.formats.back()[0], axis.formats.back()[1]));
    }
  } else if (axis.key == "same") {
    axis.of = SweepAxis::Of::same;
    for (const std::string& value : axis.values) {
      axis.sames.push_back(value_of(same_names, value, fmt::format("--vary {}", vary)));
      axis.labels.push_back(words_of(axis.sames.back()));
    }
  } else if (axis.key == "axis_height_cm") {
    axis.of = SweepAxis::Of::axis_height;
    for (const std::string& value : axis.values) {
      axis.numbers.push_back(number_of(vary, value, 0.5, 300, "height of the lens axis in cm"));
      axis.labels.push_back("axis " + value + " cm");
    }
  } else if (axis.key == "hour") {
    axis.of = SweepAxis::Of::hour;
    for (const std::string& value : axis.values) {
      axis.numbers.push_back(hour_of(vary, value));
      const double hour = axis.numbers.back();
      axis.labels.push_back(
          fmt::format("{:.0f}:{:02.0f} UTC", std::floor(hour), 60 * (hour - std::floor(hour))));
    }
  } else if (axis.key == "weather") {
    axis.of = SweepAxis::Of::weather;
    for (const std::string& value : axis.values) axis.labels.push_back(weather_words(vary, value));
  } else if (axis.key.starts_with("distance_cm.")) {
    read_distances(vary, scene, axis);
  } else {
    axis.of = SweepAxis::Of::key;
    axis.values.clear();
    read_keys(vary, list, axis);
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
    throw refusal(wish.vary[1], "the same thing twice; put its values in one list");
  plan.hold = wish.hold;
  if (!wish.same.empty()) plan.same = value_of(same_names, wish.same, "--same");
  if (!wish.match.empty()) plan.match = value_of(match_names, wish.match, "--match");
  const bool says_same = plan.has(SweepAxis::Of::same) || !wish.same.empty() || !wish.match.empty();
  if (!plan.has(SweepAxis::Of::format) && says_same)
    throw Refusal("'same' and --match say how formats compare; add --vary format=36x24,17.3x13, say");
  check_holds(plan);
  if (plan.pictures() > most_cells)
    throw refusal(wish.vary.front(),
                  fmt::format("these are {} pictures; a sheet holds up to {}: name some of them",
                              plan.pictures(), most_cells));
  return plan;
}

namespace {

// Makes the scenes of a plan one by one. Cameras that hold something, formats and lamps on their lines ask a
// world; one serves for all where the set is the same.
class SceneMaker {
 public:
  SceneMaker(const OpenVariant& open, const SweepPlan& plan, const std::optional<DepthRange>& needed,
             std::vector<std::string>& notes)
      : open_(open),
        plan_(plan),
        needed_(needed),
        notes_(notes),
        base_(open("")),
        base_scene_(base_.scene()) {
    for (const std::string& note : base_.notes()) told_.push_back(note);
    asks_world_ = !plan.hold.empty() || plan.has(SweepAxis::Of::format) ||
                  plan.has(SweepAxis::Of::axis_height) || plan.has(SweepAxis::Of::distance);
    if (asks_world_) {
      world_ = build_world(base_scene_);
      held_ = held_camera(*world_);
    }
  }

  SweepEntry make(std::size_t picture, int longer_side) {
    const std::vector<std::size_t> places = plan_.places(picture);
    SceneFile file = open_(variant_of(places));
    std::vector<std::string> labels;
    std::vector<Edit> edits;
    for (std::size_t a = 0; a < plan_.axes.size(); ++a) {
      labels.push_back(plan_.axes[a].labels[places[a]]);
      for (const auto& [key, value] : edits_of(plan_.axes[a], places[a])) {
        if (plan_.axes[a].of != SweepAxis::Of::variant) file.set(key, value, "--vary");
        edits.push_back({key, value});
      }
      if (plan_.axes[a].of == SweepAxis::Of::hour || plan_.axes[a].of == SweepAxis::Of::weather)
        free_sky_level(file);
    }
    for (const std::string& note : file.notes())
      if (std::find(told_.begin(), told_.end(), note) == told_.end()) {
        told_.push_back(note);
        notes_.push_back(note);
      }
    SweepEntry entry{.name = fmt::format("{}", fmt::join(labels, ", ")),
                     .scene = file.scene(),
                     .edits = std::move(edits),
                     .document = parse_document(file.text(), file.file().string())};
    move_things(entry, places);
    const auto& format = entry.scene.camera.format_mm;
    const double longer = std::max(format[0], format[1]);
    entry.width = std::max(1, static_cast<int>(std::lround(longer_side * format[0] / longer)));
    entry.height = std::max(1, static_cast<int>(std::lround(longer_side * format[1] / longer)));
    return entry;
  }

 private:
  std::string variant_of(const std::vector<std::size_t>& places) const {
    for (std::size_t a = 0; a < plan_.axes.size(); ++a)
      if (plan_.axes[a].of == SweepAxis::Of::variant && plan_.axes[a].values[places[a]] != base_name)
        return plan_.axes[a].values[places[a]];
    return {};
  }

  // Of a variant what it changes, which is set already.
  std::vector<Edit> edits_of(const SweepAxis& axis, std::size_t place) {
    const Scene& base = base_scene_;
    switch (axis.of) {
      case SweepAxis::Of::key:
        return {{axis.key, axis.values[place]}};
      case SweepAxis::Of::hour:
        return hour_edits(base, axis.numbers[place]);
      case SweepAxis::Of::weather:
        return weather_edits(base, axis.values[place]);
      case SweepAxis::Of::distance:
        return distance_edits(*world_, axis.key, axis.numbers[place] / 100);
      case SweepAxis::Of::variant: {
        std::vector<Edit> edits;
        for (const Variant& variant : base.variants)
          if (variant.name == axis.values[place])
            for (const auto& [key, value] : variant.change) edits.push_back({key, value});
        return edits;
      }
      case SweepAxis::Of::format:
      case SweepAxis::Of::same:
      case SweepAxis::Of::axis_height:
        return {};
    }
    return {};
  }

  // What is worked out from a world that has this entry's camera and, where that matters, its set.
  void move_things(SweepEntry& entry, const std::vector<std::size_t>& places) {
    Scene& scene = entry.scene;
    if (plan_.holds(Held::brightness)) {
      scene.exposure.shutter_s.reset();
      scene.exposure.compensation_stops = base_scene_.exposure.compensation_stops;
    }
    if (!asks_world_) return;
    PartnerWish wish{.match = plan_.match, .same = plan_.same};
    for (std::size_t a = 0; a < plan_.axes.size(); ++a) {
      const SweepAxis& axis = plan_.axes[a];
      if (axis.of == SweepAxis::Of::format) wish.format_mm = axis.formats[places[a]];
      if (axis.of == SweepAxis::Of::same) wish.same = axis.sames[places[a]];
    }
    if (!plan_.camera_alone() && plan_.has(SweepAxis::Of::format)) world_ = build_world(scene);
    if (plan_.has(SweepAxis::Of::format)) {
      update_camera(*world_, scene);
      scene = partner_scene(*world_, wish, needed_);
    } else if (plan_.holds(Held::framing)) {
      hold_framing(scene, held_);
    } else if (plan_.holds(Held::viewpoint)) {
      hold_viewpoint(scene, held_);
    }
    for (std::size_t a = 0; a < plan_.axes.size(); ++a) {
      const SweepAxis& axis = plan_.axes[a];
      if (axis.of == SweepAxis::Of::axis_height)
        set_axis_height(scene, *world_, held_, axis.numbers[places[a]] / 100,
                        fmt::format("--vary axis_height_cm={}", axis.values[places[a]]));
    }
    if (plan_.holds(Held::depth)) {
      update_camera(*world_, scene);
      hold_depth(scene, *world_, held_, entry.name);
    }
  }

  const OpenVariant& open_;
  const SweepPlan& plan_;
  const std::optional<DepthRange>& needed_;
  std::vector<std::string>& notes_;
  SceneFile base_;
  Scene base_scene_;
  std::vector<std::string> told_;
  bool asks_world_ = false;
  std::optional<World> world_;
  HeldCamera held_;
};

}  // namespace

std::vector<SweepEntry> sweep_entries(const OpenVariant& open, const SweepPlan& plan, int longer_side,
                                      const std::optional<DepthRange>& needed,
                                      std::vector<std::string>& notes) {
  SceneMaker maker(open, plan, needed, notes);
  std::vector<SweepEntry> entries;
  for (std::size_t i = 0; i < plan.pictures(); ++i) entries.push_back(maker.make(i, longer_side));
  return entries;
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
