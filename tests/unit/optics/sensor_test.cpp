// Tables: evaluated by an independent program to the printed digits, 2180 electrons per um2 and lx s.
#include "engine/optics/sensor.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/optics/depth.h"
#include "engine/optics/exposure.h"
#include "tests/unit/optics/near_digits.h"

namespace undercap {
namespace {

SensorModel plain_sensor(double width_mm, double height_mm, double megapixels) {
  const SensorFormat format{Length(width_mm * 1e-3), Length(height_mm * 1e-3)};
  return {pixel_pitch(format, megapixels * 1e6), 3, 0, 0};
}

// At ISO 100, read noise 3: pitch in um; electrons at the clip (.78 lx s) and at mid-grey (.1 lx s); there
// signal to noise; stops from clip to read noise.
TEST(Sensor, FormatsTable) {
  const struct {
    double width, height, megapixels, pitch, clip, grey, ratio, range;
  } table[] = {{36, 24, 24, 6.0000, 61259, 7854, 88.571, 14.318},
               {36, 24, 45, 4.3818, 32672, 4189, 64.651, 13.411},
               {23.5, 15.6, 24, 3.9083, 25993, 3332, 57.649, 13.081},
               {17.3, 13, 20, 3.3534, 19135, 2453, 49.439, 12.639},
               {13.2, 8.8, 20, 2.4100, 9883, 1267, 35.470, 11.686},
               {43.8, 32.9, 100, 3.7961, 24521, 3144, 55.989, 12.997}};
  for (const auto& row : table) {
    const SensorModel sensor = plain_sensor(row.width, row.height, row.megapixels);
    expect_digits(sensor.pitch / 1_um, row.pitch, 5);
    // The table was made with 2181.6 electrons per um2 and lx s: 7e-4 more, and half of a digit of 1267.
    EXPECT_NEAR(electrons_at_clip(sensor, 100) / row.clip, 1, 1e-3);
    const double grey = photo_electrons(sensor, mid_grey_exposure(100));
    EXPECT_NEAR(grey / row.grey, 1, 1e-3);
    EXPECT_NEAR(signal_to_noise(sensor, grey, 0_s) / row.ratio, 1, 1e-3);
    EXPECT_NEAR(dynamic_range(sensor, 100).value(), row.range, 2e-3);
  }
}

// 8 s at ISO 200 on mid-grey, dark current .1, read noise 3, unevenness .5 %: electrons, noise, ratio.
TEST(Sensor, EightSeconds) {
  SensorModel sensor = plain_sensor(17.3, 13, 20);
  sensor.dark_current_e_s = .1;
  sensor.prnu = .005;
  EXPECT_NEAR(std::sqrt(noise_variance(sensor, 1226.6, 8_s)), 35.693, 5e-4);
  EXPECT_NEAR(signal_to_noise(sensor, 1226.6, 8_s), 34.365, 1e-3);
  EXPECT_NEAR(signal_to_noise(sensor, 3926.9, 8_s), 59.730, 1e-3);
  EXPECT_NEAR(photo_electrons(sensor, mid_grey_exposure(200)) / 1226.6, 1, 1e-3);
  // 8 s of dark current are .8 electrons of variance.
  EXPECT_NEAR(noise_variance(sensor, 1226.6, 8_s) - noise_variance(sensor, 1226.6, 0_s), .8, 1e-9);
}

// Closed form: n pixels added up have n times the signal, the variances of Poisson, dark and read-out n
// times, and an unevenness that is averaged.
TEST(Sensor, OutputPixelIsASumOfPixels) {
  const SensorModel one{4_um, 2, .3, .01};
  for (double n : {.25, 1., 9.}) {
    const SensorModel sum = of_output_pixel(one, n);
    const double signal = 1000;
    EXPECT_NEAR(photo_electrons(sum, 1_lxs) / photo_electrons(one, 1_lxs), n, 1e-12);
    EXPECT_NEAR(noise_variance(sum, n * signal, 5_s) / noise_variance(one, signal, 5_s), n, 1e-12);
  }
}

// Unevenness caps the ratio at 1 / PRNU: 200 at half a per cent.
TEST(Sensor, UnevennessCapsTheRatio) { EXPECT_NEAR(signal_to_noise({}, 1e12, 1_s), 200, 1e-4); }

// A well of 19000 with read noise 3: a = 5.2632e-5, b = 2.4931e-8, noise at .1273 of it .0025932.
TEST(Sensor, NoiseLine) {
  const double pitch_um = std::sqrt(19000 / (.78 * electrons_per_um2_lxs));
  const NoiseLine line = noise_line({Length(pitch_um * 1e-6), 3, .1, .005}, 100, 0_s);
  expect_digits(line.a, 5.2632e-5, 5);
  expect_digits(line.b, 2.4931e-8, 5);
  expect_digits(std::sqrt(line.a * .1273 + line.b), .0025932, 5);
  EXPECT_NEAR(noise_line({Length(pitch_um * 1e-6), 3, .1, .005}, 100, 10_s).b / line.b, 10. / 9, 1e-12);
}

}  // namespace
}  // namespace undercap
