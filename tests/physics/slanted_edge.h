// Contrast against spatial frequency, measured from one slanted edge in a picture.
//
// After ISO 12233:2014, edge-based spatial frequency response: each row's edge is the centroid of its
// derivative, a line is fitted to them, all pixels are sorted by their distance from it into four bins a
// pixel, and the derivative of that oversampled edge, in a Hamming window, is transformed. Light must be
// linear, and the picture some eight blur discs wide: the window takes from the ends of what it holds.
#pragma once

#include <vector>

namespace undercap {

// Grey, rows from the top. One edge runs from the upper to the lower border, within 45 degrees of upright.
struct EdgePicture {
  int width = 0, height = 0;
  std::vector<double> luminance;
};

class EdgeResponse {
 public:
  // Throws std::runtime_error where a bin stays empty: the edge is upright, or too few rows cross it.
  explicit EdgeResponse(const EdgePicture& picture);

  // Of the edge against the columns; positive when it runs to the right on its way down.
  double angle_deg() const;

  // The modulus at a frequency square to the edge, in cycles a pixel below 2; 1 at 0. It holds the blur of
  // the pixel's own square and of the bin, sin(pi nu / 4) / (pi nu / 4).
  double at(double frequency) const;

  double half_contrast() const;  // the lowest frequency with a modulus of 1/2 ("MTF50")
  double first_zero() const;     // the lowest one where it falls to nothing and rises again

 private:
  double frequency_step() const;

  double slope_ = 0;                 // of the edge, columns a row
  std::vector<double> line_spread_;  // a value a bin, windowed
};

// What 'at' gives for an edge out of focus, its blur an even disc of so many pixels: 2 J1(x) / x with
// x = pi D nu (textbook, Goodman, Introduction to Fourier Optics, from memory), through the square pixel that
// lies askew, and the bin.
double disc_response(double diameter_px, double angle_deg, double frequency);

}  // namespace undercap
