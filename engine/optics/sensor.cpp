#include "engine/optics/sensor.h"

#include <cmath>

#include "engine/optics/exposure.h"

namespace undercap {

double photo_electrons(const SensorModel& sensor, LuminousExposure exposure) {
  const double pitch_um = sensor.pitch / 1_um;
  return electrons_per_um2_lxs * pitch_um * pitch_um * exposure.value();
}

double electrons_at_clip(const SensorModel& sensor, double iso) {
  return photo_electrons(sensor, raw_clip_exposure(iso));
}

double noise_variance(const SensorModel& sensor, double photo_electrons, Duration shutter) {
  const double unevenness = sensor.prnu * photo_electrons;
  return photo_electrons + sensor.dark_current_e_s * shutter.value() +
         sensor.read_noise_e * sensor.read_noise_e + unevenness * unevenness;
}

double signal_to_noise(const SensorModel& sensor, double photo_electrons, Duration shutter) {
  return photo_electrons / std::sqrt(noise_variance(sensor, photo_electrons, shutter));
}

Stops dynamic_range(const SensorModel& sensor, double iso) {
  return Stops(std::log2(electrons_at_clip(sensor, iso) / sensor.read_noise_e));
}

SensorModel of_output_pixel(const SensorModel& sensor, double pixels_in_one) {
  const double root = std::sqrt(pixels_in_one);
  return {sensor.pitch * root, sensor.read_noise_e * root, sensor.dark_current_e_s * pixels_in_one,
          sensor.prnu / root};
}

// In electrons the variance is S + D t + read^2 and y = S / F.
NoiseLine noise_line(const SensorModel& sensor, double iso, Duration shutter) {
  const double clip = electrons_at_clip(sensor, iso);
  const double without_light = noise_variance(sensor, 0, shutter);
  return {1 / clip, without_light / (clip * clip)};
}

}  // namespace undercap
