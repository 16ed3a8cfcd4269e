// The meter and some readings, worked out by hand from made-up surveys.
#include "engine/measure/readings.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "engine/scene/load.h"

namespace undercap {
namespace {

// 50 mm f/8 at life size with equal pupils: N_w = 16. A card that glows and a torch of 300 cd.
World small_world() {
  return build_world(
      SceneFile::from_text(
          "undercap = 1\n[ground]\nkind = \"none\"\n[sky]\nmodel = \"off\"\n[exposure]\niso = "
          "200\ncompensation_stops = 1.5\nwhite_balance_k = 6500\n[camera]\nposition_m = [0, -1, "
          "0]\nlook_at = [0, 0, 0]\nmagnification = 1\nfocal_length_mm = 50\nf_number = "
          "8\npupil_magnification = 1\ntransmission = 0.9\n[subject]\nparts = "
          "[\"card\"]\n[[prop]]\nname = \"card\"\nkind = \"card\"\nat_m = [0, 0, "
          "0]\nmaterial.surface.emission_cd_m2 = 5\n[[source]]\nname = \"torch\"\nkind = "
          "\"torch\"\nposition_m = [0, 0, 1]\naim = [0, 0, 0]\nintensity_cd = 300\n",
          "test.toml")
          .scene());
}

// Every batch meets the region four times: 'glow' cd/m2, and 'torch' cd/m2 for 300 cd; the chief ray's weight
// is .75 throughout.
RegionSums even(double glow, double torch) {
  RegionSums sums(2);
  for (unsigned batch = 0; batch < batch_count; ++batch) {
    sums.count(batch, 4);
    sums.add(batch, 0, glm::dvec3(4 * glow), .75);
    sums.add(batch, 1, glm::dvec3(4 * torch / 300), .75);
  }
  return sums;
}

const Reading& named(const std::vector<Reading>& readings, const std::string& name) {
  static const Reading none;
  for (const Reading& reading : readings)
    if (reading.name == name) return reading;
  ADD_FAILURE() << "no reading " << name;
  return none;
}

double value_of(const std::vector<Reading>& readings, const std::string& name) {
  const double* value = std::get_if<double>(&named(readings, name).value);
  return value ? *value : std::nan("");
}

// luminance_y(1, 1, 1) is 1 to 1e-7; so is that of a colour of unit luminance.
constexpr double tolerance = 1e-6;

// The shutter that brings the metered light to 10 / S (mid-grey) times 2^compensation: E = pi T L w / (4
// N_w^2) with the chief ray's weight w.
TEST(Exposing, MeteredShutter) {
  const World world = small_world();
  Survey survey = start_survey(world, false, 8), white = start_survey(world, true, 8);
  survey.whole = even(3, 9);
  const ExposureChoice choice = choose_exposure(world, survey, white);
  const double light = std::numbers::pi * .9 * 12 * .75 / (4 * 16 * 16);
  EXPECT_NEAR(choice.development.shutter.value() * light / (10. / 200 * std::pow(2, 1.5)), 1, tolerance);
}

// A torch that brings three times the light of the rest lifts by log2(4) = 2 stops, on the backdrop too; a
// barrel that leaves a quarter of the light shades by 2 stops, log2 of with over without. Diffraction: 1.75 x
// .55 um x N_w (optics/depth.h).
TEST(Readings, StopsByHand) {
  const World world = small_world();
  Survey survey = start_survey(world, false, 8), open = start_survey(world, false, 8),
         white = start_survey(world, true, 8);
  survey.whole = survey.subject = survey.backdrop = survey.part[0] = even(3, 9);
  open.whole = open.subject = even(12, 36);
  const ExposureChoice exposure = choose_exposure(world, survey, white);
  const std::vector<MeterSums> meters;
  const std::vector<Reading> readings = all_readings({world, survey, exposure, meters, &open});
  EXPECT_NEAR(value_of(readings, "spill.torch_stops"), 2, tolerance);
  EXPECT_NEAR(value_of(readings, "rise.torch.card/surface_stops"), 2, tolerance);
  EXPECT_NEAR(value_of(readings, "lens.barrel_shade_stops"), -2, tolerance);
  EXPECT_NEAR(value_of(readings, "depth.diffraction_blur_um"), 1.75 * .55 * 16, 1e-9);
}

}  // namespace
}  // namespace undercap
