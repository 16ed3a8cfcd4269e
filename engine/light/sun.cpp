#include "engine/light/sun.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <numbers>

#include "engine/core/errors.h"

namespace undercap {

namespace {

constexpr double pi = std::numbers::pi;
constexpr double degree = pi / 180;
constexpr double j2000 = 2451545.0;          // 2000-01-01 12 h
constexpr double unix_epoch = 2440587.5;     // 1970-01-01 0 h
constexpr double dynamical_less_utc_s = 69;  // in 2026; a minute moves the sun by less than .001 degree
constexpr double parallax = 8.794 / 3600 * degree;  // of the sun on the horizon, at 1 au

double sine(double degrees) { return std::sin(degrees * degree); }
double cosine(double degrees) { return std::cos(degrees * degree); }

double turned_to_one_circle(double radians) {
  const double turn = std::fmod(radians, 2 * pi);
  return turn < 0 ? turn + 2 * pi : turn;
}

std::chrono::sys_days calendar_day(int year, int month, int day) {
  const std::chrono::year_month_day date{std::chrono::year(year),
                                         std::chrono::month(static_cast<unsigned>(month)),
                                         std::chrono::day(static_cast<unsigned>(day))};
  if (month < 1 || day < 1 || !date.ok())
    throw Refusal(fmt::format("{:04}-{:02}-{:02} is not a day of the Gregorian calendar", year, month, day));
  return date;
}

}  // namespace

double julian_date(int year, int month, int day, int hour, int minute, double second) {
  const auto days = calendar_day(year, month, day).time_since_epoch().count();
  return unix_epoch + static_cast<double>(days) + (hour * 3600 + minute * 60 + second) / 86400;
}

int day_of_year(int year, int month, int day) {
  return static_cast<int>((calendar_day(year, month, day) - calendar_day(year, 1, 1)).count()) + 1;
}

// Meeus ch. 25, in degrees; T in Julian centuries from J2000. The equation of time is Smart's series, ch. 28.
SolarCoordinates solar_coordinates(double julian_ephemeris_date) {
  const double T = (julian_ephemeris_date - j2000) / 36525;
  const double mean_longitude = 280.46646 + (36000.76983 + 0.0003032 * T) * T;
  const double mean_anomaly = 357.52911 + (35999.05029 - 0.0001537 * T) * T;
  const double eccentricity = 0.016708634 - (0.000042037 + 0.0000001267 * T) * T;
  const double centre = (1.914602 - (0.004817 + 0.000014 * T) * T) * sine(mean_anomaly) +
                        (0.019993 - 0.000101 * T) * sine(2 * mean_anomaly) +
                        0.000289 * sine(3 * mean_anomaly);
  const double node = 125.04 - 1934.136 * T;  // of the moon, which carries nutation
  const double longitude = mean_longitude + centre - 0.00569 - 0.00478 * sine(node);
  const double obliquity =
      23 + 26. / 60 + (21.448 - (46.8150 + (0.00059 - 0.001813 * T) * T) * T) / 3600 + 0.00256 * cosine(node);

  const double y = std::pow(std::tan(obliquity / 2 * degree), 2);
  const double equation_of_time = y * sine(2 * mean_longitude) - 2 * eccentricity * sine(mean_anomaly) +
                                  4 * eccentricity * y * sine(mean_anomaly) * cosine(2 * mean_longitude) -
                                  y * y / 2 * sine(4 * mean_longitude) -
                                  1.25 * eccentricity * eccentricity * sine(2 * mean_anomaly);

  SolarCoordinates sun;
  sun.apparent_longitude = Angle(turned_to_one_circle(longitude * degree));
  sun.obliquity = Angle(obliquity * degree);
  sun.right_ascension =
      Angle(turned_to_one_circle(std::atan2(cosine(obliquity) * sine(longitude), cosine(longitude))));
  sun.declination = Angle(std::asin(sine(obliquity) * sine(longitude)));
  sun.distance_au =
      1.000001018 * (1 - eccentricity * eccentricity) / (1 + eccentricity * cosine(mean_anomaly + centre));
  sun.equation_of_time = Angle(equation_of_time);
  return sun;
}

// The hour angle is the true solar time counted from noon: UTC + longitude + equation of time, all as angles.
// Then the spherical triangle pole, zenith, sun (Meeus eq. 13.5, 13.6). Seen from the ground instead of the
// Earth's centre the sun is lower by the parallax times cos h.
SunPosition sun_position(double julian_date_utc, Angle latitude, Angle longitude) {
  const SolarCoordinates sun = solar_coordinates(julian_date_utc + dynamical_less_utc_s / 86400);
  const double days = julian_date_utc + 0.5;
  const double hour_angle =
      2 * pi * (days - std::floor(days)) - pi + longitude.value() + sun.equation_of_time.value();
  const double phi = latitude.value(), declination = sun.declination.value();

  const double up =
      std::sin(phi) * std::sin(declination) + std::cos(phi) * std::cos(declination) * std::cos(hour_angle);
  const double west = std::cos(declination) * std::sin(hour_angle);
  const double south =
      std::sin(phi) * std::cos(declination) * std::cos(hour_angle) - std::cos(phi) * std::sin(declination);
  const double from_centre = std::atan2(up, std::hypot(west, south));

  SunPosition position;
  position.elevation = Angle(from_centre - parallax / sun.distance_au * std::cos(from_centre));
  position.apparent_elevation = position.elevation + refraction(position.elevation);
  position.azimuth = Angle(turned_to_one_circle(pi + std::atan2(west, south)));
  return position;
}

// T. Saemundsson, Sky and Telescope 72:70, 1986, as Meeus eq. 16.4 (from memory): R = 1.02' / tan(h + 10.3/(h
// + 5.11)), h in degrees; a hair below 0 at the zenith. Its centre is .8333 degree down when the upper edge
// sets: semi-diameter .26667 and horizon refraction .5667 (Reda & Andreas, Solar Energy 76:577, 2004); below
// that the formula ends.
Angle refraction(Angle elevation) {
  const double h = elevation / 1_deg;
  if (h < -(0.26667 + 0.5667)) return Angle(0);
  return Angle(std::max(0.0, 1.02 / 60 * degree / std::tan((h + 10.3 / (h + 5.11)) * degree)));
}

glm::dvec3 direction_towards(Angle azimuth, Angle elevation) {
  const double level = std::cos(elevation.value());
  return {level * std::sin(azimuth.value()), level * std::cos(azimuth.value()), std::sin(elevation.value())};
}

}  // namespace undercap
