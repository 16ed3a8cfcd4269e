#include "engine/optics/diffraction.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace undercap {

namespace {

constexpr double pi = std::numbers::pi;
constexpr int bisections = 40;  // 4e-13 of a frequency

// Where the contrast is a half: 2 J1(pi x) / (pi x) at x, frequency times disc.
constexpr double half_of_disc = 0.7050848;

// lambda N_w, the unit of length in which every pattern of a perfect lens is the same.
Length pattern_unit(double working_f_number) { return diffraction_wavelength * working_f_number; }

// Gauss and Legendre's eight points: half of the nodes on -1..1 and their weights (Abramowitz & Stegun,
// Handbook of Mathematical Functions, table 25.4).
constexpr double gauss_node[] = {0.1834346424956498, 0.5255324099163290, 0.7966664774136267,
                                 0.9602898564975363};
constexpr double gauss_weight[] = {0.3626837833783620, 0.3137066458778873, 0.2223810344533745,
                                   0.1012285362903763};

template <class Function>
double gauss_integral(double from, double to, Function&& function) {
  const double middle = 0.5 * (from + to), half = 0.5 * (to - from);
  double sum = 0;
  for (int k = 0; k < 4; ++k)
    sum +=
        gauss_weight[k] * (function(middle - half * gauss_node[k]) + function(middle + half * gauss_node[k]));
  return half * sum;
}

// [2 J1(v) / v]^2, Airy 1835.
double airy_pattern(double v) {
  if (v < 1e-6) return 1;
  const double amplitude = 2 * std::cyl_bessel_j(1, v) / v;
  return amplitude * amplitude;
}

// Share of a point's light within v, Rayleigh 1881.
double encircled_share(double v) {
  const double j0 = std::cyl_bessel_j(0, v), j1 = std::cyl_bessel_j(1, v);
  return 1 - j0 * j0 - j1 * j1;
}

int kernel_radius(double unit_in_pixels) {
  constexpr double share_wanted = 0.97;
  constexpr int largest_radius = 32;
  for (int radius = 1; radius < largest_radius; ++radius)
    if (encircled_share(pi * (radius + 0.5) / unit_in_pixels) >= share_wanted) return radius;
  return largest_radius;
}

// The pattern around (x, y), in pixels, averaged over a square. Where the pattern's frequencies all fit below
// the pixels' own limit, lambda N_w >= 2 pixels, the square has no size: point samples then have the
// contrast of the pattern itself. On coarser pixels it keeps a sample from falling between two rings; its
// points lie no further apart than half of lambda N_w, for the same reason.
double averaged_pattern(double x, double y, double unit_in_pixels) {
  const double side = std::max(0., 1 - unit_in_pixels / 2);
  if (side == 0) return airy_pattern(pi * std::hypot(x, y) / unit_in_pixels);
  const int points = std::max(8, static_cast<int>(std::ceil(2 * side / unit_in_pixels)));
  const auto offset = [&](int k) { return side * ((k + 0.5) / points - 0.5); };
  double sum = 0;
  for (int j = 0; j < points; ++j)
    for (int i = 0; i < points; ++i)
      sum += airy_pattern(pi * std::hypot(x + offset(i), y + offset(j)) / unit_in_pixels);
  return sum / points / points;
}

}  // namespace

// J1 has its first zero at v = pi r / (lambda N_w) = 3.8317.
Length airy_diameter(double working_f_number) {
  return pattern_unit(working_f_number) * (2 * 3.8317060 / pi);
}

// The share of a circle that its copy shifted by u diameters still covers (Goodman).
double diffraction_contrast(double u) {
  if (u >= 1) return 0;
  return 2 / pi * (std::acos(u) - u * std::sqrt(1 - u * u));
}

// Hopkins 1955 as an integral over the area that two shifted pupils share,
//   (4 / pi) integral from 0 to 1 - u of sqrt(1 - (x + u)^2) cos(8 pi waves u x) dx,
// with x + u = cos phi, which takes the root away. Eight points are good to 1e-12 while the phase turns by
// less than 4 in a panel.
double defocused_contrast(double u, double waves) {
  if (u >= 1) return 0;
  const double end = std::acos(u), turns = 8 * pi * std::abs(waves) * u;
  const int panels = 2 + static_cast<int>(turns * end / 4);
  double sum = 0;
  for (int panel = 0; panel < panels; ++panel)
    sum += gauss_integral(end * panel / panels, end * (panel + 1) / panels, [&](double phi) {
      const double sine = std::sin(phi);
      return sine * sine * std::cos(turns * (std::cos(phi) - u));
    });
  return 4 / pi * sum;
}

// Transform of a disc (Goodman, ch. 2).
double geometric_contrast(double frequency_times_disc) {
  const double x = pi * frequency_times_disc;
  if (x < 1e-6) return 1;
  return 2 * std::cyl_bessel_j(1, x) / x;
}

// A focus error of e on the sensor's side spreads a point over b = e / N_w and bends the wave by
// W20 = e / (8 N_w^2) at the rim.
double defocus_waves(Length blur_disc, double working_f_number) {
  return blur_disc / pattern_unit(working_f_number) / 8;
}

// Diffraction halves the contrast at nu lambda N_w = .40397, a disc of diameter b at nu b = .70508; equal
// frequencies give b = 1.7454 lambda N_w, displayed with three digits.
Length diffraction_blur(double working_f_number) { return pattern_unit(working_f_number) * 1.75; }

// Halved once below u = .41, where diffraction alone has halved it, and below u = .8 lambda N_w / b: there a
// disc has 39 % left, and its contrast with diffraction still falls.
Length blur_with_diffraction(Length blur_disc, double working_f_number) {
  const Length unit = pattern_unit(working_f_number);
  const double waves = defocus_waves(blur_disc, working_f_number);
  double low = 0, high = std::min(0.41, 0.1 / waves);
  for (int i = 0; i < bisections; ++i) {
    const double middle = 0.5 * (low + high);
    (defocused_contrast(middle, waves) > 0.5 ? low : high) = middle;
  }
  return unit * (half_of_disc / low);
}

// W20 = e / (8 N_w^2) is a quarter wave at e = 2 lambda N_w^2 to either side, and 1 / m^2 of that before the
// lens (Born & Wolf, from memory).
Length quarter_wave_depth(double working_f_number, double magnification) {
  return pattern_unit(working_f_number) * (4 * working_f_number / (magnification * magnification));
}

DiffractionKernel diffraction_kernel(double working_f_number, Length pixel) {
  const double unit_in_pixels = pattern_unit(working_f_number) / pixel;
  if (encircled_share(pi * 0.5 / unit_in_pixels) > 0.999) return {0, {1}};

  const int radius = kernel_radius(unit_in_pixels), side = 2 * radius + 1;
  std::vector<double> octant(static_cast<std::size_t>((radius + 1) * (radius + 1)));  // y <= x only
  for (int x = 0; x <= radius; ++x)
    for (int y = 0; y <= x; ++y)
      octant[static_cast<std::size_t>(x * (radius + 1) + y)] = averaged_pattern(x, y, unit_in_pixels);
  const auto at = [&](int column, int row) {
    const int x = std::abs(column - radius), y = std::abs(row - radius);
    return octant[static_cast<std::size_t>(std::max(x, y) * (radius + 1) + std::min(x, y))];
  };
  double sum = 0;
  for (int row = 0; row < side; ++row)
    for (int column = 0; column < side; ++column) sum += at(column, row);

  DiffractionKernel kernel{radius, {}};
  for (int row = 0; row < side; ++row)
    for (int column = 0; column < side; ++column)
      kernel.weight.push_back(static_cast<float>(at(column, row) / sum));
  return kernel;
}

}  // namespace undercap
