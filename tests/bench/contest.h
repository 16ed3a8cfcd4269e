// Who is sooner at a picture that is good enough: renderers side by side, on the same cores, in one run.
//
// Good enough is a root mean square error of the displayed values, 0..255 a channel, against one reference of
// many samples by the native path tracer of tests/reference (tests there hold both to the same picture). The
// reference comes in two independent halves, and a square is the product of the differences to either, so
// that its own noise adds nothing. All are exposed by its exposure: mean grey, no white balance, no rounding.
#pragma once

#include <chrono>
#include <ctime>
#include <functional>
#include <glm/vec3.hpp>
#include <optional>
#include <string>
#include <vector>

#include "tests/reference/exposure.h"

namespace undercap::bench {

using Mix = std::vector<glm::dvec3>;  // cd/m2, a pixel each

// By the clock, and of all threads of the process: the second hardly minds what else the machine does, and
// means nothing where a graphics device does the work.
struct Times {
  double seconds = 0, cpu_seconds = 0;
};

class StopWatch {
 public:
  Times passed() const;

 private:
  std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now();
  std::clock_t cpu_start_ = std::clock();
};

// One way to a picture. 'add' brings it to that many samples a pixel and returns when they are there: the
// time it takes counts. 'mix' gives the picture as it is then; its time counts only when 'finishing' says so
// (a filter).
struct Contender {
  std::string name;
  std::function<void(unsigned samples)> add;
  std::function<Mix()> mix;
  bool finishing = false;
};

struct Judge {
  const World* world = nullptr;
  int width = 0;
  reference::Exposing exposing;
  std::vector<glm::dvec3> half_a, half_b;  // of the reference, displayed

  Judge(const World& of, int picture_width, const Mix& a, const Mix& b);
  double rmse(const Mix& mix) const;
};

// Where the error passes the target, between two pictures by a power law.
struct Arrival {
  double samples = 0;
  Times times;
};

// Adds samples until the error is below the target, at most 'most' a pixel; none = not reached.
std::optional<Arrival> time_to(double target, const Contender& contender, const Judge& judge, unsigned most);

}  // namespace undercap::bench
