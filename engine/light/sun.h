// Where the sun stands. J. Meeus, Astronomical Algorithms, 2nd ed. 1998, ch. 25 'low accuracy': .01 degree,
// against a sun that is .53 degree wide.
//
// Azimuth from north, clockwise; longitude east positive. World axes: x east, y north, z up.
// 'Elevation' without more is the true one; the apparent one is raised by refraction, and light comes from
// there.
#pragma once

#include <glm/vec3.hpp>

#include "engine/core/quantities.h"

namespace undercap {

// Days since -4712-01-01 12 h, Gregorian calendar. Refuses a date that does not exist. A double holds it to
// 40 us.
double julian_date(int year, int month, int day, int hour = 0, int minute = 0, double second = 0);

// 1 January = 1.
int day_of_year(int year, int month, int day);

// Seen from the Earth's centre, referred to the true equinox of the date.
struct SolarCoordinates {
  Angle apparent_longitude;
  Angle obliquity;
  Angle right_ascension;  // 0 to 2 pi
  Angle declination;
  double distance_au = 1;
  Angle equation_of_time;  // apparent less mean solar time; 15 degrees are one hour
};
// The argument is in dynamical time: UTC plus about 69 s.
SolarCoordinates solar_coordinates(double julian_ephemeris_date);

// Of its disc, at the mean distance: 959.63" (standard value, from memory).
inline constexpr Angle sun_angular_radius{959.63 / 3600.0 * std::numbers::pi / 180.0};

struct SunPosition {
  Angle elevation;           // of the centre, seen from the ground, without refraction
  Angle apparent_elevation;  // with it
  Angle azimuth;             // 0 to 2 pi
};
SunPosition sun_position(double julian_date_utc, Angle latitude, Angle longitude);

// How much the air raises a body at this true elevation: 1010 hPa, 10 degrees C. 0 once the sun's upper edge
// has set.
Angle refraction(Angle elevation);

// Unit vector in world axes.
glm::dvec3 direction_towards(Angle azimuth, Angle elevation);

}  // namespace undercap
