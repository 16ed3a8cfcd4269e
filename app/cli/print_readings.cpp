#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "app/cli/common.h"
#include "engine/measure/reading_text.h"
#include "engine/world/guesses.h"

namespace undercap {
namespace {

const char* heading(Reading::Under under) {
  switch (under) {
    case Reading::Under::headline:
      return "Subject, shade and backdrop: luminance in stops, + where the first is brighter";
    case Reading::Under::fill:
      return "1 Fill: what each source adds, in stops, on against off";
    case Reading::Under::depth:
      return "2 Depth: lens, focus and what is sharp";
    case Reading::Under::backdrop:
      return "3 Backdrop";
    case Reading::Under::exposure:
      return "4 Exposure";
    case Reading::Under::light_of_the_day:
      return "5 Light of the day, and the meters";
    case Reading::Under::take_away:
      return "6 Take away: spot readings to check, in stops from mid-grey";
  }
  return "";
}

// One row. Only sampled values have an error; the others leave its column to their note.
void print_row(const Reading& reading, std::size_t name_width) {
  std::string row =
      fmt::format("  {:<{}} {:>9} {:<6} ", reading.name, name_width, value_text(reading), reading.unit);
  if (reading.se) row += fmt::format("{:<11} ", fmt::format("+- {}", reading_number(*reading.se)));
  print_hanging(row, reading.note);
}

nlohmann::ordered_json readings_object(const std::vector<Reading>& readings) {
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
  return all;
}

}  // namespace

std::string readings_json(const std::string& renderer, const World& world,
                          const std::vector<Reading>& readings) {
  const nlohmann::ordered_json all = readings_object(readings);
  const nlohmann::ordered_json root{{"undercap", UNDERCAP_VERSION},
                                    {"renderer", renderer},
                                    {"guessed_reflectances", guessed_rows(world)},
                                    {"readings", all}};
  return root.dump(2) + "\n";
}

std::string sweep_json(const std::string& renderer, const std::vector<std::string>& changed,
                       const std::string& kept, const std::vector<Headline>& headlines) {
  nlohmann::ordered_json pictures = nlohmann::ordered_json::array();
  for (const Headline& headline : headlines) {
    std::vector<Reading> readings = headline.contrasts;
    readings.insert(readings.end(), headline.camera.begin(), headline.camera.end());
    readings.insert(readings.end(), headline.backdrop.begin(), headline.backdrop.end());
    nlohmann::ordered_json picture{{"picture", headline.name}, {"light_on_subject_lx", nullptr}};
    if (headline.light_lx)
      picture["light_on_subject_lx"] = {{"value", headline.light_lx->value}, {"se", headline.light_lx->se}};
    picture["readings"] = readings_object(readings);
    pictures.push_back(std::move(picture));
  }
  const nlohmann::ordered_json root{{"undercap", UNDERCAP_VERSION},
                                    {"renderer", renderer},
                                    {"changed", changed},
                                    {"kept", kept},
                                    {"pictures", pictures}};
  return root.dump(2) + "\n";
}

void print_readings(const SharedOptions& options, const std::string& renderer, const World& world,
                    const std::vector<Reading>& readings) {
  if (options.json) {
    std::fputs(readings_json(renderer, world, readings).c_str(), stdout);
    return;
  }
  std::size_t name_width = 0;
  for (const Reading& reading : readings)
    name_width = std::max(name_width, std::min<std::size_t>(reading.name.size(), 44));
  const Reading* last = nullptr;
  for (const Reading& reading : readings) {
    if (!last || last->under != reading.under) fmt::print("{}{}\n", last ? "\n" : "", heading(reading.under));
    last = &reading;
    print_row(reading, name_width);
  }
  fmt::print(
      "\n+- is one standard error of the sampling (95 % lie within {:.2f} of it, unless the row says\n"
      "otherwise; (?): it may be larger); a value without it is a closed form or says so.\n"
      "Not covered: fluorescence, polarisation; how sure the reflectances are that the scene file itself\n"
      "gives; a thin symmetrical lens unless the scene says otherwise. A rendered picture is not a\n"
      "photograph.\n",
      student_t_95(whole_freedom));
  if (const std::vector<std::string> rows = guessed_rows(world); !rows.empty())
    print_hanging("", fmt::format("Guessed reflectances of the scene, plausible and unmeasured: {}.",
                                  fmt::join(rows, ", ")));
}

}  // namespace undercap
