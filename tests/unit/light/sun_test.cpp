#include "engine/light/sun.h"

#include <erfa.h>
#include <gtest/gtest.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/core/errors.h"

namespace undercap {
namespace {

constexpr double degree = std::numbers::pi / 180;

double degrees(Angle angle) { return angle / 1_deg; }
Angle from_degrees(double value) { return Angle(value * degree); }

struct Place {
  double elevation_deg, azimuth_deg;
};

// The true place of the sun by ERFA: Earth's place and speed (epv00), aberration (ab),
// bias-precession-nutation of IAU 2006/2000A (pnm06a), apparent sidereal time (gst06a), then the parallax. TT
// = UTC + 37 s + 32.184 s, UT1 = UTC.
Place place_by_erfa(double julian_date_utc, double latitude_deg, double longitude_deg) {
  const double tt = (37 + 32.184) / 86400;
  const double speed_of_light_au_day = 86400 / 499.004782;
  double heliocentric[2][3], barycentric[2][3], natural[3], speed[3], seen[3], of_date[3], matrix[3][3];
  eraEpv00(julian_date_utc, tt, heliocentric, barycentric);
  double distance = 0, speed_squared = 0;
  for (double part : heliocentric[0]) distance += part * part;
  distance = std::sqrt(distance);
  for (int i = 0; i < 3; ++i) {
    natural[i] = -heliocentric[0][i] / distance;
    speed[i] = barycentric[1][i] / speed_of_light_au_day;
    speed_squared += speed[i] * speed[i];
  }
  eraAb(natural, speed, distance, std::sqrt(1 - speed_squared), seen);
  eraPnm06a(julian_date_utc, tt, matrix);
  eraRxp(matrix, seen, of_date);
  double right_ascension, declination, azimuth, elevation;
  eraC2s(of_date, &right_ascension, &declination);
  const double sidereal = eraGst06a(julian_date_utc, 0, julian_date_utc, tt);
  eraHd2ae(sidereal + longitude_deg * degree - right_ascension, declination, latitude_deg * degree, &azimuth,
           &elevation);
  return {elevation / degree - 8.794 / 3600 * std::cos(elevation) / distance, azimuth / degree};
}

// Meeus, Astronomical Algorithms, ch. 7: the launch of the first satellite, and J2000 itself.
TEST(Sun, JulianDate) {
  EXPECT_NEAR(julian_date(1957, 10, 4, 19, 26, 24), 2436116.31, 1e-8);
  EXPECT_EQ(julian_date(2000, 1, 1, 12), 2451545.0);
  EXPECT_EQ(julian_date(1970, 1, 1), 2440587.5);
  // Leap years of the Gregorian calendar: 2000 is one, 1900 is not.
  EXPECT_EQ(julian_date(2000, 3, 1) - julian_date(2000, 2, 28), 2);
  EXPECT_EQ(julian_date(1900, 3, 1) - julian_date(1900, 2, 28), 1);
}

TEST(Sun, DayOfYear) {
  EXPECT_EQ(day_of_year(2026, 1, 1), 1);
  EXPECT_EQ(day_of_year(2026, 10, 20), 293);
  EXPECT_EQ(day_of_year(2024, 12, 31), 366);
}

TEST(Sun, RefusesADayThatDoesNotExist) {
  EXPECT_THROW(julian_date(2026, 2, 29), Refusal);
  EXPECT_THROW(julian_date(2026, 13, 1), Refusal);
  EXPECT_THROW(julian_date(2026, 0, 1), Refusal);
  EXPECT_THROW(day_of_year(2026, 6, 31), Refusal);
  EXPECT_THROW(day_of_year(2026, 6, -1), Refusal);
}

// Meeus, example 25.a: 1992-10-13 0 h TD, printed to five decimals.
TEST(Sun, MeeusExample25a) {
  const SolarCoordinates sun = solar_coordinates(2448908.5);
  EXPECT_NEAR(degrees(sun.apparent_longitude), 199.90895, 1e-5);
  EXPECT_NEAR(degrees(sun.obliquity), 23.43999, 1e-5);
  EXPECT_NEAR(degrees(sun.right_ascension), 198.38083, 1e-5);
  EXPECT_NEAR(degrees(sun.declination), -7.78507, 1e-5);
  EXPECT_NEAR(sun.distance_au, 0.99766, 1e-5);
}

// The same instant by the full theory, Meeus example 25.b: longitude 199.906086, 198.378204, -7.783874; R
// .99760775.
TEST(Sun, WithinAHundredthOfADegreeOfTheFullTheory) {
  const SolarCoordinates sun = solar_coordinates(2448908.5);
  EXPECT_NEAR(degrees(sun.apparent_longitude), 199.906086, .01);
  EXPECT_NEAR(degrees(sun.right_ascension), 198.378204, .01);
  EXPECT_NEAR(degrees(sun.declination), -7.783874, .01);
  EXPECT_NEAR(sun.distance_au, .99760775, 1e-4);
}

// The reference case of Reda & Andreas, Solar Energy 76:577, 2004 (NREL/TP-560-34302): 2003-10-17 12:30:30 at
// UTC - 7, 39.742476 N, 105.1786 W: JD 2452930.312847, elevation 39.872046 before refraction, azimuth
// 194.340241. Low accuracy is .01 degree in longitude; the air of the case, 820 mbar at 1830 m, is not ours.
TEST(Sun, ReferenceCaseOfTheSolarPositionAlgorithm) {
  const double date = julian_date(2003, 10, 17, 19, 30, 30);
  EXPECT_NEAR(date, 2452930.312847, 5.1e-7);
  const SunPosition sun = sun_position(date, from_degrees(39.742476), from_degrees(-105.1786));
  EXPECT_NEAR(degrees(sun.elevation), 39.872046, .01);
  EXPECT_NEAR(degrees(sun.azimuth), 194.340241, .01);
  // The formulas of ch. 25 themselves, by an independent program without parallax and with UTC for dynamical
  // time: in those 69 s the declination moves by up to .0003 degree.
  EXPECT_NEAR(degrees(sun.elevation) + 8.794 / 3600 * std::cos(sun.elevation.value()), 39.87207, 4e-4);
  EXPECT_NEAR(degrees(sun.azimuth), 194.34258, 4e-4);
}

struct SeasonCase {
  int year, month, day, hour, minute;
  double latitude, longitude, elevation, apparent, azimuth, equation_of_time_min, low_elevation, low_azimuth;
};

// Woodland seasons: true and apparent elevation, azimuth and equation of time in minutes by the solar
// position algorithm (Reda & Andreas 2004), then elevation without parallax and azimuth by the ch. 25
// formulas, independently.
const SeasonCase seasons[] = {
    {2026, 10, 20, 12, 0, 52.0, -1.0, 27.50630, 27.53839, 183.10530, 15.205, 27.5091, 183.1170},
    {2026, 10, 31, 15, 30, 57.0, -4.0, 6.55720, 6.68688, 230.80947, 16.401, 6.5544, 230.8192},
    {2026, 9, 23, 7, 0, 47.0, 8.0, 16.59189, 16.64706, 108.81793, 7.558, 16.5927, 108.8142},
    {2026, 10, 10, 20, 0, 44.0, -72.5, 21.61452, 21.65644, 235.81640, 13.094, 21.6158, 235.8191},
    {2026, 4, 15, 3, 0, -41.3, 174.8, 27.22002, 27.25249, 314.83723, -0.093, 27.2222, 314.8430},
    {2026, 11, 24, 14, 0, 60.0, 25.0, -3.39925, -3.39925, 232.93256, 13.304, -3.3978, 232.9337},
};

TEST(Sun, WoodlandSeasons) {
  for (const SeasonCase& c : seasons) {
    const double date = julian_date(c.year, c.month, c.day, c.hour, c.minute);
    const SunPosition sun = sun_position(date, from_degrees(c.latitude), from_degrees(c.longitude));
    // .02 degree: .01 of longitude and about .01 of the equation of time's series; a sun's width is .53.
    EXPECT_NEAR(degrees(sun.elevation), c.elevation, .02) << c.month;
    EXPECT_NEAR(degrees(sun.apparent_elevation), c.apparent, .02) << c.month;
    EXPECT_NEAR(degrees(sun.azimuth), c.azimuth, .02) << c.month;
    // Four minutes are a degree: .06 minutes are .015 degree of hour angle.
    EXPECT_NEAR(degrees(solar_coordinates(date).equation_of_time) * 4, c.equation_of_time_min, .06)
        << c.month;
    // The formulas themselves, to four decimals, with UTC for dynamical time: .0003 degree.
    EXPECT_NEAR(degrees(sun.elevation) + 8.794 / 3600 * std::cos(sun.elevation.value()), c.low_elevation,
                4e-4);
    EXPECT_NEAR(degrees(sun.azimuth), c.low_azimuth, 4e-4) << c.month;

    const Place judge = place_by_erfa(date, c.latitude, c.longitude);
    EXPECT_NEAR(judge.elevation_deg, c.elevation, 1e-4) << c.month;  // the two judges agree
    EXPECT_NEAR(judge.azimuth_deg, c.azimuth, 1e-4) << c.month;
    EXPECT_NEAR(degrees(sun.elevation), judge.elevation_deg, .02) << c.month;
    EXPECT_NEAR(degrees(sun.azimuth), judge.azimuth_deg, .02) << c.month;
  }
}

// A year at 52 N, every 29 hours with the sun up, against ERFA: within .02 degree on the sky.
TEST(Sun, AYearAgainstErfa) {
  int compared = 0;
  double worst_elevation = 0, worst_across = 0;
  for (double date = julian_date(2026, 1, 1, 8); date < julian_date(2027, 1, 1); date += 29. / 24) {
    const SunPosition sun = sun_position(date, 52_deg, -1_deg);
    if (sun.elevation < 0_deg) continue;
    const Place judge = place_by_erfa(date, 52, -1);
    ++compared;
    worst_elevation = std::max(worst_elevation, std::abs(degrees(sun.elevation) - judge.elevation_deg));
    worst_across =
        std::max(worst_across, std::cos(sun.elevation.value()) *
                                   std::abs(std::remainder(degrees(sun.azimuth) - judge.azimuth_deg, 360)));
  }
  EXPECT_GT(compared, 100);
  EXPECT_LT(worst_elevation, .02);
  EXPECT_LT(worst_across, .02);
  RecordProperty("worst_elevation_deg", std::to_string(worst_elevation));
  RecordProperty("worst_across_deg", std::to_string(worst_across));
}

// Saemundsson's formula evaluated to .001 arc minute.
TEST(Sun, Refraction) {
  const double table[][2] = {{0, 28.982}, {.5, 25.004}, {1, 21.744}, {2, 16.926}, {5, 9.674},
                             {10, 5.408}, {20, 2.741},  {30, 1.746}, {45, 1.013}};
  for (const auto& [elevation, minutes] : table)
    EXPECT_NEAR(degrees(refraction(from_degrees(elevation))) * 60, minutes, 6e-4) << elevation;
  EXPECT_EQ(refraction(90_deg).value(), 0);
  EXPECT_EQ(refraction(-1_deg).value(), 0);
}

TEST(Sun, DirectionIsEastNorthUp) {
  const auto expect_direction = [](double azimuth, double elevation, const glm::dvec3& expected) {
    const glm::dvec3 actual = direction_towards(from_degrees(azimuth), from_degrees(elevation));
    EXPECT_LT(glm::distance(actual, expected), 1e-15);
  };
  expect_direction(0, 0, {0, 1, 0});
  expect_direction(90, 0, {1, 0, 0});
  expect_direction(180, 30, {0, -std::sqrt(.75), .5});
  expect_direction(270, 90, {0, 0, 1});
}

// In the southern autumn the noon sun stands in the north, in the northern one in the south.
TEST(Sun, NoonIsOnTheSideOfTheEquator) {
  const SunPosition north = sun_position(julian_date(2026, 10, 20, 11, 48, 48), 52_deg, -1_deg);
  EXPECT_NEAR(degrees(north.azimuth), 180,
              .05);  // its transit by the solar position algorithm, to the second
  const SunPosition south =
      sun_position(julian_date(2026, 4, 15, 0, 21), from_degrees(-41.3), from_degrees(174.8));
  EXPECT_LT(std::abs(std::remainder(degrees(south.azimuth), 360)), 1);
}

}  // namespace
}  // namespace undercap
