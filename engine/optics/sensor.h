// What a sensor makes of light: electrons and their noise.
//
// One pixel of one camera is described by four numbers that makers do not publish. The defaults are the order
// of magnitude of today's sensors, from memory; so is the yield, that of the green pixels of a model colour
// filter (555 nm peak quantum efficiency .55) in D55. Noise is a standard deviation, in electrons:
//   variance = S + D t + read^2 + (PRNU S)^2
// the light's own (Poisson), that of the dark current, of the read-out, and the unevenness of the pixels.
// Source of the model: EMVA 1288 (from memory).
#pragma once

#include "engine/core/quantities.h"

namespace undercap {

struct SensorModel {
  Length pitch = 3.35_um;
  double read_noise_e = 3;       // 1 to 4
  double dark_current_e_s = .1;  // a pixel, 20 degrees C; about double for each 7 K more
  double prnu = .005;            // unevenness as a fraction, .003 to .01
};

inline constexpr double electrons_per_um2_lxs = 2180;

double photo_electrons(const SensorModel& sensor, LuminousExposure exposure);

// What it holds at the raw clip of this ISO speed, H = 78 / S.
double electrons_at_clip(const SensorModel& sensor, double iso);

double noise_variance(const SensorModel& sensor, double photo_electrons, Duration shutter);
double signal_to_noise(const SensorModel& sensor, double photo_electrons, Duration shutter);

// Clip over read noise.
Stops dynamic_range(const SensorModel& sensor, double iso);

// Pixels of different cameras are compared at one size of the picture. An output pixel that gathers n sensor
// pixels (n may be a fraction) is a pixel of n times the area, its noises independent from pixel to pixel.
SensorModel of_output_pixel(const SensorModel& sensor, double pixels_in_one);

// Variance of a linear signal y, 1 at the raw clip: a y + b, without the unevenness. A. Foi, M. Trimeche, V.
// Katkovnik & K. Egiazarian, IEEE Trans. Image Proc. 17:1737, 2008.
struct NoiseLine {
  double a = 0, b = 0;
};
NoiseLine noise_line(const SensorModel& sensor, double iso, Duration shutter);

}  // namespace undercap
