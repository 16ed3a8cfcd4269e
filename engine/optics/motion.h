// Movement during the exposure, of the subject and of the camera, and filters that make it longer.
//
// Speeds are those of the subject across the line of sight in the plane in focus; m times as much on the
// sensor. How far and how often herbs sway in which wind is not known to us: amplitude and frequency are the
// user's own observation.
#pragma once

#include <optional>

#include "engine/core/quantities.h"
#include "engine/optics/depth.h"
#include "engine/optics/lens.h"

namespace undercap {

// m v t on the sensor, and the time after which it is a circle.
Length motion_blur(double magnification, double speed_m_s, Duration shutter);
Duration longest_shutter(double magnification, double speed_m_s, Length circle_of_confusion);

// A sin(2 pi f t) about the place of rest.
struct Sway {
  Length amplitude{};  // to one side
  double frequency_hz = 1;
};
double peak_speed_m_s(const Sway& sway);

// The widest path on the sensor that any shutter time of this length sees; at most 2 m A.
Length sway_blur(double magnification, const Sway& sway, Duration shutter);
// The time after which the widest path is a circle. None when it never is: any time will do.
std::optional<Duration> longest_shutter(double magnification, const Sway& sway, Length circle_of_confusion);

// In a time much longer than a swing: the share of it spent at this offset from the place of rest, per metre.
// 0 outside of the amplitude, without bound at it: a blur with two dark edges.
double sway_density_per_m(const Sway& sway, Length offset);

// What the camera may turn about its entrance pupil, or shift, until the plane in focus moves by this much on
// the sensor.
Angle turn_for_blur(const GaussianLens& lens, double magnification, Length blur);
Length shift_for_blur(double magnification, Length blur);

// The movement on the sensor that the rating of stabilisers accepts: 63 um on 36 x 24 mm, in proportion to
// the diagonal elsewhere (which is ours). It tests turns alone: rated stops do not hold for the shifts that
// count near a subject. ISO 20954-1:2019, from an extract.
Length stabiliser_rating_blur(const SensorFormat& format);

// Neutral filters are named by optical density D = -log10 of what passes: 0.9 is 3 stops, nearly.
Stops stops_of_density(double density);
double density_of_stops(Stops stops);
double transmission_of_density(double density);

}  // namespace undercap
