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

// With H = k (3 t + 9 min(2 s, t)) and 10 / S x 2^1.5 = k x 68.29 the torch goes out before the end: t =
// (68.29 - 18) / 3. A fixed shutter of 4 s has a mean of (3 x 4 + 9 x 2) / 4.
TEST(Exposing, ATorchThatGoesOutIsMeteredForItsTime) {
  World world = small_world();
  world.groups[1].on_s = 2;
  Survey survey = start_survey(world, false, 8), white = start_survey(world, true, 8);
  survey.whole = even(3, 9);
  const double k = std::numbers::pi * .9 * .75 / (4 * 16 * 16), wanted = 10. / 200 * std::pow(2, 1.5) / k;
  const ExposureChoice choice = choose_exposure(world, survey, white);
  EXPECT_NEAR(choice.development.shutter.value() / ((wanted - 18) / 3), 1, tolerance);
  EXPECT_NEAR(choice.metered->value * choice.development.shutter.value() / (.75 * wanted), 1, tolerance);
  world.scene.exposure.shutter_s = 4;
  EXPECT_NEAR(choose_exposure(world, survey, white).metered->value, .75 * 30 / 4, tolerance);
  // The torch alone gives 18 in all: its 2 s are the exposure, and a note says what is missing.
  world.scene.exposure.shutter_s.reset();
  survey.whole = even(0, 9);
  const ExposureChoice dark = choose_exposure(world, survey, white);
  EXPECT_DOUBLE_EQ(dark.development.shutter.value(), 2);
  EXPECT_EQ(dark.notes.size(), 1U);
}

// A flash of 9 cd s/m2 is not metered: t = 68.29 / 3. It lifts by log2(1 + 9 / (3 t)), as it would any other
// exposure of that length.
TEST(Readings, AFlashByHand) {
  World world = small_world();
  world.groups[1].flash = true;
  Survey survey = start_survey(world, false, 8), white = start_survey(world, true, 8);
  survey.whole = survey.subject = survey.backdrop = survey.part[0] = even(3, 9);
  const ExposureChoice exposure = choose_exposure(world, survey, white);
  const double t = exposure.development.shutter.value();
  EXPECT_NEAR(t / (10. / 200 * std::pow(2, 1.5) * 4 * 16 * 16 / (std::numbers::pi * .9 * .75 * 3)), 1,
              tolerance);
  const std::vector<MeterSums> meters{
      {world.scene.meters.empty() ? Meter{.name = "m"} : Meter{}, even(20, 70)}};
  const std::vector<Reading> readings = all_readings({world, survey, exposure, meters, nullptr});
  EXPECT_NEAR(value_of(readings, "spill.torch_stops"), std::log2(1 + 3 / t), tolerance);
  EXPECT_NEAR(value_of(readings, "rise.torch.card/surface_stops"), std::log2(1 + 3 / t), tolerance);
  EXPECT_NEAR(value_of(readings, "part.card/surface.luminance_cd_m2"), 3, 3 * tolerance);
  EXPECT_NEAR(value_of(readings, "part.card/surface.flash_cd_s_m2"), 9, 9 * tolerance);
  EXPECT_NEAR(value_of(readings, "part.card/surface.stops"), 1.5 + std::log2(1 + 3 / t), tolerance);
  EXPECT_NEAR(value_of(readings, "meter.m.illuminance_lx"), 20, 20 * tolerance);
  EXPECT_NEAR(value_of(readings, "meter.m.flash_lx_s"), 70, 70 * tolerance);
  EXPECT_EQ(named(readings, "meter.m.flash_lx_s").unit, "lx s");
}

// The steps of the ladder are the whole way from the open sky to the settings. By hand: 1000 lx are EV
// log2(400); the subject gets pi x 50 lx of the sky and three times as much of the torch with it; what is
// metered sends back .75 x 20 of the sky alone at the cell's weight; life size costs 2 stops.
TEST(Readings, TheLadderAddsUp) {
  const World world = build_world(
      SceneFile::from_text(
          "undercap = 1\n[ground]\nkind = \"none\"\n[sky]\nhorizontal_lx = 1000\n[exposure]\niso = "
          "200\ncompensation_stops = 1.5\n[camera]\nmagnification = 1\ntransmission = 0.45\n"
          "[[prop]]\nname = \"card\"\nkind = \"card\"\n[[source]]\nname = \"torch\"\nkind = "
          "\"torch\"\nposition_m = [0, 0, 1]\naim = [0, 0, 0]\nintensity_cd = 300\n",
          "test.toml")
          .scene());
  Survey survey = start_survey(world, false, 8), white = start_survey(world, true, 8);
  survey.whole = survey.subject = even(20. / 1000, 0);
  white.whole = white.subject = even(50. / 1000, 100);
  const ExposureChoice exposure = choose_exposure(world, survey, white);
  const std::vector<MeterSums> meters;
  const std::vector<Reading> readings = all_readings({world, survey, exposure, meters, nullptr});
  const auto ladder = [&](const std::string& name) { return value_of(readings, "exposure.ladder." + name); };
  EXPECT_NEAR(ladder("open_ev100"), std::log2(400), tolerance);
  EXPECT_EQ(ladder("leaves_stops"), 0);
  EXPECT_NEAR(ladder("set_stops"), std::log2(std::numbers::pi * 50 / 1000), tolerance);
  EXPECT_NEAR(ladder("lamps_stops"), std::log2(3), 1e-5);
  EXPECT_NEAR(ladder("lightness_stops"), std::log2(.75 * 20 / 150 * 5.625), 1e-5);
  EXPECT_NEAR(ladder("magnification_stops"), -2, 1e-12);
  EXPECT_NEAR(ladder("glass_stops"), -1, 1e-12);
  EXPECT_EQ(ladder("settings_stops"), -1.5);
  double sum = 0;
  for (const char* step : {"open_ev100", "leaves_stops", "set_stops", "lamps_stops", "lightness_stops",
                           "magnification_stops", "glass_stops", "settings_stops"})
    sum += ladder(step);
  EXPECT_NEAR(value_of(readings, "exposure.ev100"), sum, tolerance);
  EXPECT_NEAR(ladder("gap_stops"), sum - ladder("open_ev100"), tolerance);
  // What the hour gives is another matter: 300 + 21000 sin h for an overcast sky.
  EXPECT_NEAR(ladder("asked_stops"), std::log2(1000 / (300 + 21000 * std::sin(world.sun_elevation.value()))),
              1e-9);
}

}  // namespace
}  // namespace undercap
