// Readings as people read them, in a terminal or a window.
#pragma once

#include <string>

#include "engine/measure/readings.h"

namespace undercap {

// Three significant digits without an exponent; whole numbers up to a million as they are; the smallest with
// an exponent.
std::string reading_number(double value);

// The value without its unit: differences in stops with their sign, yes and no, '-' where there is none.
std::string value_text(const Reading& reading);

}  // namespace undercap
