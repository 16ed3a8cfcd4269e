#include "tests/bench/contest.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace undercap::bench {
namespace {

// The next count of samples to look at: 2, 4, 6, 8, 12, 16, 24, 32 ...
unsigned after(unsigned samples) {
  unsigned step = 2;
  while (samples >= 4 * step) step *= 2;
  return samples + step;
}

}  // namespace

Times StopWatch::passed() const {
  return {std::chrono::duration<double>(std::chrono::steady_clock::now() - start_).count(),
          static_cast<double>(std::clock() - cpu_start_) / CLOCKS_PER_SEC};
}

// The shutter that brings the mean luminance to mid-grey at ISO 100: H = 10 / S.
Judge::Judge(const World& of, int picture_width, const Mix& a, const Mix& b)
    : world(&of), width(picture_width) {
  glm::dvec3 sum(0);
  for (const Mix* mix : {&a, &b})
    for (const glm::dvec3& light : *mix) sum += light;
  const double mean =
      (0.2126390 * sum.r + 0.7151687 * sum.g + 0.0721923 * sum.b) / (2 * static_cast<double>(a.size()));
  const double stop = of.camera.working_f_number;
  exposing.shutter_s = 0.1 * 4 * stop * stop / (std::numbers::pi * of.scene.camera.transmission * mean);
  half_a = reference::displayed(of, a, width, exposing);
  half_b = reference::displayed(of, b, width, exposing);
}

double Judge::rmse(const Mix& mix) const {
  const std::vector<glm::dvec3> shown = reference::displayed(*world, mix, width, exposing);
  double squares = 0;
  for (std::size_t i = 0; i < shown.size(); ++i)
    for (int c = 0; c < 3; ++c) squares += (shown[i][c] - half_a[i][c]) * (shown[i][c] - half_b[i][c]);
  return std::sqrt(std::max(squares, 0.0) / (3 * static_cast<double>(shown.size())));
}

std::optional<Arrival> time_to(double target, const Contender& contender, const Judge& judge, unsigned most) {
  Times sampling;
  const auto add = [](Times& sum, const Times& more) {
    sum.seconds += more.seconds;
    sum.cpu_seconds += more.cpu_seconds;
  };
  double last_error = 0;
  Arrival last;
  for (unsigned samples = 2; samples <= most; samples = after(samples)) {
    const StopWatch watch;
    contender.add(samples);
    add(sampling, watch.passed());
    Arrival now{static_cast<double>(samples), sampling};
    const StopWatch finishing;
    const Mix mix = contender.mix();
    if (contender.finishing) add(now.times, finishing.passed());
    const double error = judge.rmse(mix);
    if (error <= target) {
      if (last.samples <= 0) return now;
      const double part = std::log(last_error / target) / std::log(last_error / error);
      const auto between = [part](double a, double b) { return a * std::pow(b / a, part); };
      return Arrival{between(last.samples, now.samples),
                     {between(last.times.seconds, now.times.seconds),
                      between(last.times.cpu_seconds, now.times.cpu_seconds)}};
    }
    last = now;
    last_error = error;
  }
  return std::nullopt;
}

}  // namespace undercap::bench
