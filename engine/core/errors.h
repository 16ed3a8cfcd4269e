// The three kinds of failure, and their three mechanisms.
//
//   Refusal   bad input. Says file, line, column, the value, the allowed range, what to do. Exit status 1.
//   Trouble   the machine or its driver will not do it (no OpenGL 4.5, disk full). Exit status 2.
//   CHECK     our own bug: prints the rule that was broken and stops.
// An ordinary 'no' is a std::optional. Exceptions are caught in main and in the frame loop, nowhere else.
#pragma once

#include <stdexcept>
#include <string>
#include <vector>

namespace undercap {

// A place in a text file; line and column count from 1 in Unicode code points, 0 = not known.
struct SourcePlace {
  std::string file;
  int line = 0;
  int column = 0;
};

struct Fault {
  SourcePlace place;
  std::string message;
  // "file:line:column: message", without the parts that are not known.
  std::string text() const;
};

class Refusal : public std::runtime_error {
 public:
  explicit Refusal(std::vector<Fault> faults);
  explicit Refusal(std::string message) : Refusal(SourcePlace{}, std::move(message)) {}
  Refusal(SourcePlace place, std::string message);
  const std::vector<Fault>& faults() const { return faults_; }

 private:
  std::vector<Fault> faults_;
};

class Trouble : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

[[noreturn]] void check_failed(const char* file, int line, const std::string& rule);

}  // namespace undercap

// CHECK(condition, "rule that must hold, with its values").
#define UNDERCAP_CHECK(condition, rule) \
  ((condition) ? void(0) : ::undercap::check_failed(__FILE__, __LINE__, (rule)))
