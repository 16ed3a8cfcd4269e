#include "engine/session/sweep_axis.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <span>

#include "engine/optics/third_stops.h"
#include "engine/report/contact_sheet.h"
#include "engine/session/sweep_scenes.h"

namespace undercap {

Refusal vary_refusal(const std::string& vary, const std::string& why) {
  return Refusal(fmt::format("--vary {}: {}", vary, why));
}

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

namespace {

void name_variants(const std::string& vary, const Scene& scene, SweepAxis& axis) {
  std::vector<std::string> known;
  for (const Variant& variant : scene.variants) known.push_back(variant.name);
  if (axis.values == std::vector<std::string>{"all"}) {
    if (known.empty()) throw vary_refusal(vary, "the scene has no variants");
    axis.values = known;
  }
  for (const std::string& name : axis.values)
    if (name != base_name && std::find(known.begin(), known.end(), name) == known.end())
      throw vary_refusal(
          vary, fmt::format("there is no variant '{}'; allowed: all, or of these, with commas: base{}{}",
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
    throw vary_refusal(vary, fmt::format("'{}' is no format; write width x height in mm, 3 to 130 each, for "
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
    throw vary_refusal(vary, fmt::format("'{}' is no {}; allowed: {:g} to {:g}", text, what, low, high));
  return value;
}

// "8" or "10:30", hours of the day.
double hour_of(const std::string& vary, const std::string& text) {
  const std::size_t colon = text.find(':');
  const double hour = number_of(vary, text.substr(0, colon), 0, 23, "hour of the day (8 or 10:30, UTC)");
  const double minute =
      colon == std::string::npos ? 0 : number_of(vary, text.substr(colon + 1), 0, 59, "minute");
  if (hour != std::floor(hour) || minute != std::floor(minute))
    throw vary_refusal(vary, fmt::format("'{}' is no time; write 8 or 10:30, UTC", text));
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
  if (step != std::floor(step)) throw vary_refusal(vary, "a step is a whole number of thirds of a stop");
  const bool is_power = axis.key.ends_with(".power_pct");
  const std::span<const ThirdStop> dial = axis.key == "camera.f_number"      ? third_stop_f_numbers()
                                          : axis.key == "exposure.shutter_s" ? third_stop_shutters()
                                          : axis.key == "exposure.iso"       ? third_stop_isos()
                                                                             : std::span<const ThirdStop>{};
  if (dial.empty() && !is_power)
    throw vary_refusal(
        vary,
        "a range goes in thirds of a stop, of camera.f_number, exposure.shutter_s, exposure.iso and a "
        "source's power_pct; write a list");
  const auto add = [&](double value, const std::string& label) {
    axis.values.push_back(fmt::format("{:.7g}", value));
    axis.labels.push_back(label);
    axis.numbers.push_back(value);
    if (axis.values.size() > most_cells)
      throw vary_refusal(vary,
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
    throw vary_refusal(vary, fmt::format("'{}' holds no step of the dial", range));
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
    if (value.empty()) throw vary_refusal(vary, "a value is missing");
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
    throw vary_refusal(vary, fmt::format("there is no source '{}'; {}", axis.key,
                                         known.empty() ? "the scene has none"
                                                       : fmt::format("allowed: {}", fmt::join(known, ", "))));
  for (const std::string& value : axis.values) {
    axis.numbers.push_back(number_of(vary, value, 1, 1000, "distance in cm"));
    axis.labels.push_back(value + " cm");
  }
}

}  // namespace

SweepAxis axis_of(const std::string& vary, const Scene& scene) {
  const std::size_t equals = vary.find('=');
  SweepAxis axis;
  axis.key = vary.substr(0, equals);
  if (equals == std::string::npos || axis.key.empty())
    throw vary_refusal(vary,
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
      throw vary_refusal(vary, fmt::format("'{}' is named twice", axis.values[i]));
  return axis;
}

}  // namespace undercap
