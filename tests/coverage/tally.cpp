#include "tests/coverage/tally.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>

namespace undercap {

void Tally::add(const std::string& family, const std::string& reading, double value, double se, double factor,
                double truth, bool doubtful) {
  Row& row = rows_[family][reading];
  ++row.count;
  row.doubtful += doubtful;
  row.held += std::abs(value - truth) <= factor * se;
  row.deviation += (value - truth) / se;
  row.se += se;
  row.sum += value - truth;
  row.squares += (value - truth) * (value - truth);
}

void Tally::print() const {
  for (const auto& [family, readings] : rows_) {
    int count = 0, held = 0;
    for (const auto& [name, row] : readings) {
      const double n = row.count, mean = row.sum / n,
                   spread = std::sqrt((row.squares - n * mean * mean) / (n - 1));
      fmt::print("  {:<8} {:<11} {:<40} {:5.1f} % of {}  mean off {:+.2f} SE  SE / spread {:.2f}  (?) {}\n",
                 mode_, family, name, row.coverage_pct(), row.count, row.deviation / n, row.se / n / spread,
                 row.doubtful);
      count += row.count;
      held += row.held;
    }
    if (readings.size() > 1)
      fmt::print("  {:<8} {:<11} {:<40} {:5.1f} % of {}\n", mode_, family, "all", 100.0 * held / count,
                 count);
  }
}

void Tally::check() const {
  for (const auto& [family, readings] : rows_) {
    int count = 0, held = 0;
    for (const auto& [name, row] : readings) {
      EXPECT_EQ(row.count, seeds_) << mode_ << " " << name;
      EXPECT_GE(row.coverage_pct(), 88) << mode_ << " " << name;
      EXPECT_LE(row.coverage_pct(), 99.5) << mode_ << " " << name;
      EXPECT_LE(std::abs(row.deviation / row.count), 0.35) << mode_ << " " << name;
      count += row.count;
      held += row.held;
    }
    const double pooled = 100.0 * held / count;
    EXPECT_GE(pooled, 91) << mode_ << " " << family;
    EXPECT_LE(pooled, 98) << mode_ << " " << family;
  }
}

}  // namespace undercap
