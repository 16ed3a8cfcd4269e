// Counts how often intervals hold the truth, a reading at a time, and prints the table.
#pragma once

#include <map>
#include <string>
#include <vector>

namespace undercap {

class Tally {
 public:
  Tally(std::string mode, int seeds) : mode_(std::move(mode)), seeds_(seeds) {}
  // Readings of one family are pooled; 'factor' is how many standard errors the 95 % interval has.
  void add(const std::string& family, const std::string& reading, double value, double se, double factor,
           double truth, bool doubtful);

  // One line a reading, and one a family: coverage, the mean deviation in standard errors, the mean standard
  // error over the spread that the values really have.
  void print() const;

  // Fails the test where a family's intervals hold the truth in less than 91 or more than 98 % of the seeds,
  // or a single reading's in less than 88 or more than 99.5 %. With 200 seeds a coverage of 95 % is known
  // to 1.5 %: the first is 2.6 of these either way for one reading, and further for several; the second
  // leaves room for the worst of some twenty. Fails as well where the mean deviation is above 0.35 SE, five
  // times 1 / sqrt(200).
  void check() const;

 private:
  struct Row {
    int count = 0, held = 0, doubtful = 0;
    double deviation = 0, se = 0, sum = 0, squares = 0;
    double coverage_pct() const { return 100.0 * held / count; }
  };
  std::string mode_;
  int seeds_ = 0;
  std::map<std::string, std::map<std::string, Row>> rows_;  // by family and reading
};

}  // namespace undercap
