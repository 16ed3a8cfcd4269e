#include <cmath>
#include <cstdio>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/cli/common.h"

namespace undercap {
namespace {

const char* heading(Reading::Under under) {
  switch (under) {
    case Reading::Under::headline: return "Subject, shade and backdrop";
    case Reading::Under::fill: return "1 Fill";
    case Reading::Under::depth: return "2 Depth";
    case Reading::Under::backdrop: return "3 Backdrop";
    case Reading::Under::exposure: return "4 Exposure";
    case Reading::Under::light_of_the_day: return "5 Light of the day";
    case Reading::Under::take_away: return "6 Take away: targets to check by spot reading";
  }
  return "";
}

// Four significant digits; whole numbers as they are.
std::string shown(double value) {
  if (value == std::floor(value) && std::abs(value) < 1e6) return fmt::format("{:.0f}", value);
  return fmt::format("{:.4g}", value);
}

std::string value_text(const Reading& reading) {
  if (const auto* number = std::get_if<double>(&reading.value)) return shown(*number);
  if (const auto* yes = std::get_if<bool>(&reading.value)) return *yes ? "yes" : "no";
  if (const auto* text = std::get_if<std::string>(&reading.value)) return *text;
  return "-";
}

}  // namespace

std::string readings_json(const std::string& renderer, const std::vector<Reading>& readings) {
  nlohmann::ordered_json all = nlohmann::ordered_json::object();
  for (const Reading& reading : readings) {
    nlohmann::ordered_json one;
    one["value"] = nullptr;
    if (const auto* number = std::get_if<double>(&reading.value)) one["value"] = *number;
    if (const auto* yes = std::get_if<bool>(&reading.value)) one["value"] = *yes;
    if (const auto* text = std::get_if<std::string>(&reading.value)) one["value"] = *text;
    one["unit"] = reading.unit;
    one["se"] = nullptr;
    if (reading.se) one["se"] = *reading.se;
    one["note"] = reading.note;
    all[reading.name] = one;
  }
  const nlohmann::ordered_json root{{"undercap", UNDERCAP_VERSION}, {"renderer", renderer}, {"readings", all}};
  return root.dump(2) + "\n";
}

void print_readings(const SharedOptions& options, const std::string& renderer, const std::vector<Reading>& readings) {
  if (options.json) {
    std::fputs(readings_json(renderer, readings).c_str(), stdout);
    return;
  }
  const Reading* last = nullptr;
  for (const Reading& reading : readings) {
    if (!last || last->under != reading.under) fmt::print("{}{}\n", last ? "\n" : "", heading(reading.under));
    last = &reading;
    const std::string spread = reading.se ? "+- " + shown(*reading.se) : "";
    fmt::print("  {:<44} {:>10} {:<6} {:<12} {}\n", reading.name, value_text(reading), reading.unit, spread, reading.note);
  }
  fmt::print("\nNot covered: reflectances of the kit are plausible and unmeasured; no fluorescence, no polarisation; a thin symmetrical\n"
             "lens unless the scene says otherwise. +- is one standard error of the sampling. A rendered picture is not a photograph.\n");
}

}  // namespace undercap
