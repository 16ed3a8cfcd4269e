// The numbers on dials: third-stop series with the value that is meant and the one that is written.
//
// Calculations take exact values, N = 2^(i/6), t = 2^(-i/3) s, S = 100 x 2^(i/3); labels say nominal ones,
// f/11 for 11.314. Common practice, no source; the series are those of ISO 517 and ISO 516 (from memory).
// Beyond 30 s no dial goes; the labels there are ours.
#pragma once

#include <span>
#include <string>

#include "engine/core/quantities.h"

namespace undercap {

struct ThirdStop {
  std::string label{};  // "f/5.6", "1/125 s", "ISO 200"
  double nominal = 0;   // what the label says, in s for a shutter time
  double exact = 0;
};

// From low to high number: f/0.7 to f/64, 1/32000 s to 3251 s, ISO 25 to 102400.
std::span<const ThirdStop> third_stop_f_numbers();
std::span<const ThirdStop> third_stop_shutters();
std::span<const ThirdStop> third_stop_isos();

// The one whose exact value is nearest in stops; the end of the series for what lies beyond.
const ThirdStop& nearest_f_number(double f_number);
const ThirdStop& nearest_shutter(Duration shutter);
const ThirdStop& nearest_iso(double iso);

// The nearest label, with "about " before it where the value is more than .05 stop from both the exact and
// the nominal value. Beyond the series, by more than half a step, the number itself.
std::string f_number_label(double f_number);
std::string shutter_label(Duration shutter);
std::string iso_label(double iso);

}  // namespace undercap
