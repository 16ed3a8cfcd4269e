// What the wave nature of light does to a picture: one wavelength, a perfect lens with a round pupil.
//
//   u       frequency on the sensor as a share of the cut-off: u = nu lambda N_w
//   waves   defocus as the path error at the rim of the pupil, W20 / lambda
// Contrast is the modulus transfer of a sinusoidal pattern with its sign: negative where the pattern comes
// out reversed. N_w, the working f-number, is what counts near a subject, never the marked one.
// Sources: J. W. Goodman, Introduction to Fourier Optics, ch. 6; M. Born & E. Wolf, Principles of Optics,
// 8.5; H. H. Hopkins, Proc. R. Soc. A 231:91, 1955 (all from memory).
#pragma once

#include <vector>

#include "engine/core/quantities.h"

namespace undercap {

// Green, near the middle of what an eye sees. Common practice, no source.
inline constexpr Length diffraction_wavelength = 0.55_um;

// First dark ring of the pattern of a point: 2.4393 lambda N_w across.
Length airy_diameter(double working_f_number);

// Contrast of a perfect lens in focus, 1 at u = 0 and 0 from u = 1 on.
double diffraction_contrast(double u);

// Contrast of a perfect lens out of focus, good to 1e-9.
double defocused_contrast(double u, double waves);

// Contrast of a disc of even light and sharp edge, by frequency times diameter: what defocus alone does, as
// rays see it.
double geometric_contrast(double frequency_times_disc);

// W20 / lambda of a defocus whose disc on the sensor, as rays see it, has this diameter.
double defocus_waves(Length blur_disc, double working_f_number);

// Diameter of the disc of sharp edge that loses as much contrast as diffraction does where half of it is
// left: 1.75 lambda N_w.
Length diffraction_blur(double working_f_number);

// The same for defocus and diffraction together: the disc that halves the contrast at the lowest frequency
// where they halve it. With no defocus 1.7454 lambda N_w; a large disc loses .2 lambda N_w.
Length blur_with_diffraction(Length blur_disc, double working_f_number);

// How deep a perfect lens is sharp: between the planes where W20 is a quarter of a wave. A finer focus step
// than this shows nothing new.
Length quarter_wave_depth(double working_f_number, double magnification);

// The pattern of a point on a grid of square pixels: (2 radius + 1)^2 weights, row by row, of sum 1.
struct DiffractionKernel {
  int radius = 0;
  std::vector<float> weight{};
};

// 97 % of the light lies within the radius; of what the rings beyond carry the weights know nothing, they are
// scaled up to 1. A radius never goes beyond 32 pixels: there a pattern of lambda N_w above 4.7 pixels loses
// more, at 10 pixels 6 %, and its far glow with it. Radius 0 where a pixel holds 99.9 %.
DiffractionKernel diffraction_kernel(double working_f_number, Length pixel);

}  // namespace undercap
