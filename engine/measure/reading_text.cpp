#include "engine/measure/reading_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace undercap {

std::string reading_number(double value) {
  const double size = std::abs(value);
  if (value == std::floor(value) && size < 1e6) return fmt::format("{:.0f}", value);
  if (size < 1e-6 || size >= 1e9) return fmt::format("{:.2e}", value);
  const int exponent = static_cast<int>(std::floor(std::log10(size)));
  const double step = std::pow(10.0, exponent - 2), rounded = std::round(value / step) * step;
  // 999.6 becomes 1000, which needs one decimal less.
  const int decimals = 2 - static_cast<int>(std::floor(std::log10(std::abs(rounded)) + 1e-9));
  return fmt::format("{:.{}f}", rounded, std::max(0, decimals));
}

std::string value_text(const Reading& reading) {
  // A difference in stops tells its direction; a range has none.
  const bool signs = reading.unit == "stops" && !reading.name.starts_with("contrast.range") &&
                     !reading.name.starts_with("lens.");
  if (const auto* number = std::get_if<double>(&reading.value))
    return fmt::format("{}{}", signs && *number > 0 ? "+" : "", reading_number(*number));
  if (const auto* yes = std::get_if<bool>(&reading.value)) return *yes ? "yes" : "no";
  if (const auto* text = std::get_if<std::string>(&reading.value)) return *text;
  return "-";
}

}  // namespace undercap
