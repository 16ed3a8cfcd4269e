#include "engine/report/headline.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/measure/exposing.h"
#include "engine/measure/reading_text.h"
#include "engine/optics/exposure.h"
#include "engine/optics/third_stops.h"

namespace undercap {
namespace {

constexpr std::pair<const char*, const char*> shades[] = {{"contrast.cap_gills_stops", "cap : gills"},
                                                          {"contrast.cap_stem_stops", "cap : stem"},
                                                          {"contrast.range_stops", "whole picture"}};
// Of the table, after the light.
constexpr const char* camera_columns[] = {"lens.focal_length_mm",
                                          "lens.magnification",
                                          "lens.working_f_number",
                                          "lens.frame_width_mm",
                                          "depth.circle_of_confusion_mm",
                                          "depth.near_mm",
                                          "depth.far_mm",
                                          "depth.total_mm",
                                          "depth.needed_mm",
                                          "depth.blur_near_um",
                                          "depth.diffraction_blur_um",
                                          "depth.blur_far_um",
                                          "depth.best_f_number",
                                          "depth.frames_for_stack",
                                          "exposure.snr_grey"};
// After those of the camera, each with its standard error.
constexpr const char* backdrop_columns[] = {"backdrop.blur_pct",         "backdrop.blur_infinity_mm",
                                            "backdrop.disc_mm",          "backdrop.width_m",
                                            "backdrop.rim_step_stops",   "backdrop.rim_step_low_stops",
                                            "backdrop.rim_delta_e",      "backdrop.texture_2_8_pct",
                                            "backdrop.texture_8_32_pct", "backdrop.texture_32_128_pct",
                                            "backdrop.hot_spots_pct",    "backdrop.gradient_ratio"};
constexpr const char* backdrop = "contrast.subject_backdrop_stops";
constexpr const char* minus = "\xe2\x88\x92";
constexpr const char* plus_minus = "\xc2\xb1";

const double* value_of(const Reading* reading) {
  return reading ? std::get_if<double>(&reading->value) : nullptr;
}

// Half a tenth of a stop shows in the one decimal that is printed.
constexpr double least_error_shown = 0.05;

// "+2.8 stops", with the error where it shows, or why there is none.
std::string stops_text(const Reading* reading, bool with_sign) {
  const double* value = value_of(reading);
  if (!value) return reading && !reading->note.empty() ? "none: " + reading->note : "none";
  const std::string size = fmt::format("{:.1f}", std::abs(*value));
  const std::string sign = !with_sign || size == "0.0" ? "" : *value > 0 ? "+" : minus;
  const std::string error = reading->se && *reading->se >= least_error_shown
                                ? fmt::format(" {} {:.1f}", plus_minus, *reading->se)
                                : std::string();
  return fmt::format("{}{}{} stops{}", sign, size, error, reading->note.starts_with("(?)") ? " (?)" : "");
}

// Three digits, no exponent.
std::string lux_text(double lx) {
  if (lx < 0.005) return "0 lx";
  const double step = std::pow(10.0, std::floor(std::log10(lx)) - 2);
  const double rounded = std::round(lx / step) * step;
  return fmt::format("{:.{}f} lx", rounded, rounded >= 100 ? 0 : rounded >= 10 ? 1 : 2);
}

std::string light_text(const Headline& headline) {
  if (!headline.light_lx) return "none: the subject is not seen";
  const Estimate& light = *headline.light_lx;
  std::string text = lux_text(light.value);
  if (light.value >= 0.005) {
    const double ev = ev100_from_illuminance(Illuminance(light.value));
    text += fmt::format(" (EV {}{:.1f})", ev <= -0.05 ? minus : "", std::abs(ev));
  }
  return text + (light.doubtful ? " (?)" : "");
}

// Two digits of whole seconds and tenths: a camera's shutter has steps of a third of a stop.
std::string rough_shutter_text(double seconds) {
  if (seconds < 0.3) return shutter_text(seconds);
  const double step = std::pow(10.0, std::floor(std::log10(seconds)) - 1);
  return shutter_text(std::round(seconds / step) * step);
}

// "0.37 s at f/8, ISO 400, -0.6": as a camera shows it, the compensation last.
std::string exposure_text(const Headline& headline) {
  const double stops = headline.compensation_stops;
  return fmt::format(
      "{} at {}, {}{}", rough_shutter_text(headline.shutter_s), f_number_label(headline.f_number),
      iso_label(headline.iso),
      stops == 0 ? std::string() : fmt::format(", {}{:.2g}", stops > 0 ? "+" : minus, std::abs(stops)));
}

// A figure of micrometres on the sensor in circles of confusion; none where it was not measured.
std::optional<double> circles(const Headline& headline, const std::string& name) {
  const double *blur = number_of(headline, name),
               *circle = number_of(headline, "depth.circle_of_confusion_mm");
  if (!blur || !circle) return std::nullopt;
  return *blur / (1e3 * *circle);
}

// Whether diffraction alone is wider than the circle: then nothing is sharp, and no stack helps.
bool diffraction_softens_all(const Headline& headline) {
  return circles(headline, "depth.diffraction_blur_um").value_or(0) > 1;
}

// "12 of 84 mm", or how the zone ends, why there is none, or that the subject is missing.
std::string sharp_text(const Headline& headline) {
  const double *total = number_of(headline, "depth.total_mm"),
               *needed = number_of(headline, "depth.needed_mm");
  if (diffraction_softens_all(headline)) return "none: diffraction";
  const std::string zone = total ? reading_number(*total) : "to infinity";
  return needed ? fmt::format("{} of {} mm", zone, reading_number(*needed)) : zone + (total ? " mm" : "");
}

std::string circles_text(const Headline& headline, const std::string& name) {
  const auto value = circles(headline, name);
  return value ? *value >= 99.5 ? fmt::format("{:.0f}", *value) : fmt::format("{:.2g}", *value) : "-";
}

// The f-number that does the subject best, and the frames of a stack where that is not enough.
std::string best_text(const Headline& headline) {
  const Reading* best = reading_of(headline, "depth.best_f_number");
  const double *f = value_of(best), *frames = number_of(headline, "depth.frames_for_stack");
  if (!f) return "none";
  const bool soft = best->note.find("stack instead") != std::string::npos;
  if (soft && diffraction_softens_all(headline)) return f_number_label(*f) + "; no stack helps";
  return f_number_label(*f) + (soft && frames ? fmt::format(", or stack {:.0f}", *frames) : std::string());
}

std::string quoted(const std::string& field) {
  if (field.find_first_of(",\"\r\n") == std::string::npos) return field;
  std::string text = "\"";
  for (const char c : field) text += c == '"' ? std::string("\"\"") : std::string(1, c);
  return text + "\"";
}

std::string number(const double* value) { return value ? fmt::format("{:.6g}", *value) : std::string(); }

}  // namespace

const Reading* reading_of(const Headline& headline, std::string_view name) {
  for (const auto* group : {&headline.contrasts, &headline.camera, &headline.backdrop})
    for (const Reading& reading : *group)
      if (reading.name == name) return &reading;
  return nullptr;
}

const double* number_of(const Headline& headline, std::string_view name) {
  return value_of(reading_of(headline, name));
}

std::string shade_contrast(std::span<const Headline> headlines) {
  for (const auto& [name, label] : shades)
    for (const Headline& headline : headlines)
      if (number_of(headline, name)) return name;
  return shades[0].first;
}

std::vector<SheetRow> headline_rows(const Headline& headline, const std::string& shade) {
  const auto* label =
      std::find_if(std::begin(shades), std::end(shades), [&](const auto& row) { return shade == row.first; });
  const bool is_range = shade == shades[2].first;
  return {
      {"light on subject", light_text(headline)},
      {label == std::end(shades) ? shade : label->second, stops_text(reading_of(headline, shade), !is_range)},
      {"subject : backdrop", stops_text(reading_of(headline, backdrop), true)},
      {"exposure", exposure_text(headline)}};
}

std::vector<SheetRow> camera_rows(const Headline& headline) {
  const auto value = [&](const char* name) {
    const double* number = number_of(headline, name);
    return number ? reading_number(*number) : std::string("-");
  };
  const double* working = number_of(headline, "lens.working_f_number");
  return {
      {"lens", fmt::format("{} mm, {} ({})", value("lens.focal_length_mm"), f_number_label(headline.f_number),
                           working ? fmt::format("f/{:.1f}", *working) : "-")},
      {"zone", sharp_text(headline)},
      {"blur", fmt::format("{}, {}, {}", circles_text(headline, "depth.blur_near_um"),
                           circles_text(headline, "depth.diffraction_blur_um"),
                           circles_text(headline, "depth.blur_far_um"))},
      {"best", best_text(headline)},
      {"exposure", fmt::format("{}, {}; S/N {}", nearest_shutter(Duration(headline.shutter_s)).label,
                               nearest_iso(headline.iso).label, value("exposure.snr_grey"))}};
}

std::vector<SheetRow> separation_sheet_rows(const Headline& headline) {
  const auto value = [&](const char* name, const char* form) {
    const double* number = number_of(headline, name);
    return number ? fmt::format(fmt::runtime(form), *number) : std::string("-");
  };
  return {{"rim", stops_text(reading_of(headline, "backdrop.rim_step_stops"), true)},
          {"blur", fmt::format("{} % of height, {} mm on the backdrop", value("backdrop.blur_pct", "{:.1f}"),
                               value("backdrop.disc_mm", "{:.0f}"))},
          {"texture", fmt::format("{}, {}, {} %", value("backdrop.texture_2_8_pct", "{:.0f}"),
                                  value("backdrop.texture_8_32_pct", "{:.0f}"),
                                  value("backdrop.texture_32_128_pct", "{:.1f}"))},
          {"backdrop", fmt::format("{} m wide, {} % of frame hot", value("backdrop.width_m", "{:.2f}"),
                                   value("backdrop.hot_spots_pct", "{:.1f}"))},
          {"exposure", exposure_text(headline)}};
}

std::string headline_csv(std::span<const Headline> headlines) {
  std::string text =
      "picture,light_on_subject_lx,light_on_subject_se_lx,light_on_subject_ev100,cap_gills_stops,"
      "cap_gills_se_stops,cap_stem_stops,cap_stem_se_stops,subject_backdrop_stops,subject_backdrop_se_stops,"
      "range_stops,range_se_stops,shutter_s,f_number,iso,compensation_stops";
  for (const char* name : camera_columns) text += fmt::format(",{}", name);
  for (const char* name : backdrop_columns) text += fmt::format(",{0},{0}.se", name);
  text += "\n";
  for (const Headline& headline : headlines) {
    std::vector<std::string> fields{quoted(headline.name)};
    const auto& light = headline.light_lx;
    const double ev = light && light->value > 0 ? ev100_from_illuminance(Illuminance(light->value)) : 0;
    fields.push_back(number(light ? &light->value : nullptr));
    fields.push_back(number(light ? &light->se : nullptr));
    fields.push_back(number(light && light->value > 0 ? &ev : nullptr));
    for (const char* name : {shades[0].first, shades[1].first, backdrop, shades[2].first}) {
      const Reading* reading = reading_of(headline, name);
      const double* value = value_of(reading);
      fields.push_back(number(value));
      fields.push_back(number(value && reading->se ? &*reading->se : nullptr));
    }
    for (const double* setting :
         {&headline.shutter_s, &headline.f_number, &headline.iso, &headline.compensation_stops})
      fields.push_back(number(setting));
    for (const char* name : camera_columns) fields.push_back(number(number_of(headline, name)));
    for (const char* name : backdrop_columns) {
      const Reading* reading = reading_of(headline, name);
      fields.push_back(number(value_of(reading)));
      fields.push_back(number(reading && reading->se ? &*reading->se : nullptr));
    }
    text += fmt::format("{}\n", fmt::join(fields, ","));
  }
  return text;
}

}  // namespace undercap
