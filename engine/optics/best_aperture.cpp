#include "engine/optics/best_aperture.h"

#include <cmath>
#include <numbers>

#include "engine/optics/diffraction.h"
#include "engine/optics/third_stops.h"

namespace undercap {

namespace {

// Where a function with one valley is lowest, by golden sections.
template <class Function>
double lowest_place(double from, double to, Function&& function) {
  constexpr double section = 1 / std::numbers::phi;
  double low = from, high = to;
  for (int i = 0; i < 40; ++i) {
    const double a = high - section * (high - low), b = low + section * (high - low);
    const bool falls = function(a) > function(b);
    (falls ? low : high) = falls ? a : b;
  }
  return 0.5 * (low + high);
}

}  // namespace

// The disc m d |D - a| / D is the same at D = near and far: the focus lies half way in 1/D.
Length balanced_focus(Length near, Length far) { return Length(2 / (1 / near.value() + 1 / far.value())); }

std::optional<BestAperture> best_aperture(const GaussianLens& lens, Length near, Length far, double lowest,
                                          double highest, Length circle_of_confusion) {
  BestAperture best;
  best.focus = balanced_focus(near, far);
  const auto magnification = magnification_from_pupil_distance(lens, best.focus);
  if (!magnification) return std::nullopt;
  best.magnification = *magnification;
  const auto blur = [&](double f_number) {
    GaussianLens stopped = lens;
    stopped.f_number = f_number;
    return blur_with_diffraction(blur_disc(stopped, *magnification, far),
                                 working_f_number(stopped, *magnification));
  };
  // In stops the valley has much the same shape at every scale.
  best.f_number = std::exp2(lowest_place(std::log2(lowest), std::log2(highest),
                                         [&](double octave) { return blur(std::exp2(octave)); }));
  best.nearest_third_stop = nearest_f_number(best.f_number).exact;
  best.blur_at_ends = blur(best.f_number);
  best.exceeds_circle = best.blur_at_ends > circle_of_confusion;
  return best;
}

// With b = x lambda N_w and the blur g(x) lambda N_w held at c, the depth 2 N_w b / m^2 is
// 2 c^2 / (lambda m^2) x / g(x)^2: one x is best for all lenses. Derived.
DeepestFrame deepest_in_one_frame(double magnification, double pupil_magnification,
                                  Length circle_of_confusion) {
  const auto blur_in_units = [](double x) {
    return blur_with_diffraction(diffraction_wavelength * x, 1) / diffraction_wavelength;
  };
  static const double best_x = lowest_place(0.5, 4, [&](double x) {
    const double blur = blur_in_units(x);
    return blur * blur / x;
  });
  static const double best_blur = blur_in_units(best_x);

  DeepestFrame deepest;
  deepest.working_f_number = circle_of_confusion / (diffraction_wavelength * best_blur);
  deepest.f_number = deepest.working_f_number / (1 + magnification / pupil_magnification);
  const Length disc = diffraction_wavelength * (best_x * deepest.working_f_number);
  deepest.depth = disc * (2 * deepest.working_f_number / (magnification * magnification));
  return deepest;
}

}  // namespace undercap
