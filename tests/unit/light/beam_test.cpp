#include "engine/light/beam.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <string>

#include "engine/core/errors.h"
#include "engine/light/photometry.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
const double gaussian_field = std::sqrt(std::log(10) / std::log(2));  // 1.82262 beams

Angle from_degrees(double value) { return Angle(value * pi / 180); }

// Peak candela of a lumen: cos^n has (n + 1) / (2 pi) in closed form, the Gaussian exp(-ln 2 (a / a50)^2) was
// summed over the half space. Demanded are .1 %; tables of 512 nodes are within .02 %.
TEST(Beam, FluxOfTables) {
  const double table[][3] = {{10, 29.09451, 29.02525}, {20, 7.36531, 7.29625}, {30, 3.34126, 3.27253},
                             {40, 1.93268, 1.86444},   {60, .92610, .86030},   {90, .47746, .43052},
                             {120, .31831, .29752}};
  for (const auto& [beam_deg, cosine, gaussian] : table) {
    const Angle beam = from_degrees(beam_deg);
    EXPECT_NEAR(peak_intensity(1_lm, cosine_beam(beam)).value() / cosine, 1, 2e-4) << beam_deg;
    if (beam_deg * gaussian_field >= 180) continue;  // no field angle says it
    EXPECT_NEAR(peak_intensity(1_lm, field_beam(beam, beam * gaussian_field)).value() / gaussian, 1, 2e-4)
        << beam_deg;
  }
}

// The tables are the law they were made from, also between nodes: linear over a step leaves less than 3e-4
// (wider than 120 degrees the law ends steeply, in the last step of the table).
TEST(Beam, TablesFollowTheLaw) {
  for (double beam_deg : {1., 8., 30., 60., 120.}) {
    const Beam beam = cosine_beam(from_degrees(beam_deg));
    ASSERT_EQ(beam.node.size(), 512u);
    EXPECT_EQ(beam.node[0], 1);
    EXPECT_EQ(beam.node[511], 0);
    for (double angle = 0; angle < 95; angle += .37)
      EXPECT_NEAR(beam_ratio(beam, from_degrees(angle)),
                  beam_falloff(from_degrees(beam_deg), from_degrees(angle)), 3e-4)
          << beam_deg << " " << angle;
  }
}

// What the two angles mean: one half and one tenth.
TEST(Beam, BeamAndFieldAngles) {
  const double table[][2] = {{10, 12}, {10, 18.2262}, {10, 30}, {24, 60}, {60, 90}, {90, 160}};
  for (const auto& [beam_deg, field_deg] : table) {
    const Beam beam = field_beam(from_degrees(beam_deg), from_degrees(field_deg));
    EXPECT_EQ(beam.node[0], 1);
    EXPECT_NEAR(beam_ratio(beam, from_degrees(beam_deg / 2)), .5, 1e-3) << beam_deg << " " << field_deg;
    EXPECT_NEAR(beam_ratio(beam, from_degrees(field_deg / 2)), .1, 1e-3) << beam_deg << " " << field_deg;
  }
}

// A diffuser keeps the flux: I = (1 - d) I0 f + d Phi / pi cos, in candela of 100 lm. All of it diffused is
// the Lambertian beam, nothing of it the beam itself.
TEST(Beam, DiffuserKeepsTheFlux) {
  const Beam torch = cosine_beam(30_deg);
  const Intensity before = peak_intensity(100_lm, torch);
  for (double share : {0., .2, .7, 1.}) {
    const Beam after = diffused_beam(torch, share);
    const Intensity peak = peak_intensity(100_lm, after);
    for (double angle : {0., 10., 40., 80.}) {
      const double expected = (1 - share) * before.value() * beam_ratio(torch, from_degrees(angle)) +
                              share * 100 / pi * std::cos(angle * pi / 180);
      EXPECT_NEAR(peak.value() * beam_ratio(after, from_degrees(angle)) / expected, 1, 1e-3)
          << share << " " << angle;
    }
    EXPECT_NEAR(flux_from_peak_intensity(peak, after).value(), 100, 1e-9);
  }
  EXPECT_NEAR(diffused_beam(torch, 1).flux_per_candela_lm, pi, 1e-4 * pi);
}

// Planes at 0, 90, 180 and 270 degrees with 1, .5, .2 and .5 of an even beam: linear between them, round
// through 0; flux 2 pi times the mean, .55.
TEST(Beam, PlanesAllAround) {
  std::vector<float> node;
  for (float ratio : {1.f, .5f, .2f, .5f}) node.insert(node.end(), beam_table_nodes, ratio);
  const Beam beam = beam_of(4, node);
  EXPECT_NEAR(beam.flux_per_candela_lm, 2 * pi * .55, 1e-5);
  const double table[][2] = {{0, 1},    {45, .75},  {90, .5},   {135, .35}, {180, .2},
                             {270, .5}, {315, .75}, {-45, .75}, {405, .75}};
  for (const auto& [azimuth, ratio] : table)
    EXPECT_NEAR(beam_ratio(beam, 30_deg, from_degrees(azimuth)), ratio, 1e-6) << azimuth;
  EXPECT_EQ(beam_ratio(beam, 90.1_deg, 0_deg), 0);
}

TEST(Beam, RefusesAnglesThatAreNone) {
  const double table[][2] = {{30, 30}, {30, 20}, {30, 180}, {30, double(NAN)}, {0, 20}, {180, 190}};
  for (const auto& [beam_deg, field_deg] : table) {
    try {
      field_beam(from_degrees(beam_deg), from_degrees(field_deg));
      FAIL() << beam_deg << " " << field_deg;
    } catch (const Refusal& refusal) {
      EXPECT_NE(std::string(refusal.what()).find("below 180"), std::string::npos);
    }
  }
}

}  // namespace
}  // namespace undercap
