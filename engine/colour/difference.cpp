#include "engine/colour/difference.h"

#include <cmath>
#include <glm/geometric.hpp>
#include <glm/matrix.hpp>
#include <numbers>

namespace undercap {

namespace {

constexpr double pi = std::numbers::pi;

// K. M. Lam 1985, as in ICC.1:2010, annex E; the rows of the matrix are the columns here.
glm::dmat3 cones_from_xyz() {
  return glm::transpose(glm::dmat3(.8951, .2664, -.1614, -.7502, 1.7135, .0367, .0389, -.0685, 1.0296));
}

double sine(double degrees) { return std::sin(degrees * pi / 180); }
double cosine(double degrees) { return std::cos(degrees * pi / 180); }

// 0 to 360; 0 for no hue.
double hue_degrees(double a, double b) {
  if (a == 0 && b == 0) return 0;
  const double hue = std::atan2(b, a) * 180 / pi;
  return hue < 0 ? hue + 360 : hue;
}

// c^7 / (c^7 + 25^7), and its root.
double saturation_term(double chroma) {
  const double seventh = std::pow(chroma, 7);
  return std::sqrt(seventh / (seventh + std::pow(25., 7)));
}

}  // namespace

glm::dmat3 bradford_matrix(Chromaticity from_white, Chromaticity to_white) {
  const glm::dmat3 cones = cones_from_xyz();
  const glm::dvec3 gain =
      cones * xyz_with_unit_luminance(to_white) / (cones * xyz_with_unit_luminance(from_white));
  const glm::dmat3 scale(gain.x, 0, 0, 0, gain.y, 0, 0, 0, gain.z);
  return glm::inverse(cones) * scale * cones;
}

// ISO/CIE 11664-4: a cube root, and a straight line below 216 / 24389 that meets it.
glm::dvec3 lab_from_xyz(const glm::dvec3& xyz, Chromaticity white) {
  const glm::dvec3 relative = xyz / xyz_with_unit_luminance(white);
  const auto f = [](double t) { return t > 216. / 24389 ? std::cbrt(t) : (24389. / 27 * t + 16) / 116; };
  const double x = f(relative.x), y = f(relative.y), z = f(relative.z);
  return {116 * y - 16, 500 * (x - y), 200 * (y - z)};
}

glm::dvec3 lab_from_rgb(const glm::dvec3& rgb) { return lab_from_xyz(xyz_from_rgb(rgb), srgb_white); }

// G. Sharma, W. Wu & E. N. Dalal, Color Res. Appl. 30:21, 2005, eq. 2 to 22 (ISO/CIE 11664-6).
double colour_difference(const glm::dvec3& lab_1, const glm::dvec3& lab_2) {
  const double mean_ab = (std::hypot(lab_1.y, lab_1.z) + std::hypot(lab_2.y, lab_2.z)) / 2;
  const double stretch = 1 + 0.5 * (1 - saturation_term(mean_ab));
  const double a1 = lab_1.y * stretch, a2 = lab_2.y * stretch;
  const double c1 = std::hypot(a1, lab_1.z), c2 = std::hypot(a2, lab_2.z);
  const double h1 = hue_degrees(a1, lab_1.z), h2 = hue_degrees(a2, lab_2.z);
  const bool grey = c1 * c2 == 0;

  double turn = grey ? 0 : h2 - h1;
  if (turn > 180) turn -= 360;
  if (turn < -180) turn += 360;
  const double dl = lab_2.x - lab_1.x, dc = c2 - c1, dh = 2 * std::sqrt(c1 * c2) * sine(turn / 2);

  double h = h1 + h2;
  if (!grey && std::abs(h1 - h2) > 180) h += h < 360 ? 360 : -360;
  if (!grey) h /= 2;
  const double l = (lab_1.x + lab_2.x) / 2, c = (c1 + c2) / 2;
  const double t =
      1 - 0.17 * cosine(h - 30) + 0.24 * cosine(2 * h) + 0.32 * cosine(3 * h + 6) - 0.20 * cosine(4 * h - 63);
  const double from_50 = (l - 50) * (l - 50);
  const double sl = 1 + 0.015 * from_50 / std::sqrt(20 + from_50);
  const double sc = 1 + 0.045 * c;
  const double sh = 1 + 0.015 * c * t;
  const double blue = 30 * std::exp(-std::pow((h - 275) / 25, 2));
  const double rotation = -sine(2 * blue) * 2 * saturation_term(c);
  return std::sqrt(std::pow(dl / sl, 2) + std::pow(dc / sc, 2) + std::pow(dh / sh, 2) +
                   rotation * (dc / sc) * (dh / sh));
}

}  // namespace undercap
