// What was used tells the light: E = 250 N^2 / (t S) (incident meters, C = 250; ISO 2720, from memory).
#include "engine/measure/taken.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>

#include "engine/scene/load.h"

namespace undercap {
namespace {

// A 200 mm lens focused 1 m ahead: m = .25, (1 + m)^2 = 1.5625.
World taken_world(const std::string& taken) {
  return build_world(
      SceneFile::from_text(
          fmt::format(
              "undercap = 1\n[ground]\nkind = \"none\"\n[sky]\nmodel = \"off\"\n[camera]\nposition_m = [0, "
              "-1, 0]\nlook_at = [0, 0, 0]\nfocus = [0, 0, 0]\nfocal_length_mm = 200\nf_number = 8\n{}",
              taken),
          "test.toml")
          .scene());
}

constexpr double exact = 1e-9;  // products of a few numbers of the size of a hundred

// f/11, 5 s, ISO 200: 250 121 / 1000 = 30.25 lx; planned f/8, 1 s, ISO 200: 80 lx, 1.403 stops more.
TEST(Taken, TellsTheLight) {
  const World world = taken_world("[taken]\nf_number = 11\nshutter_s = 5\niso = 200\n");
  const auto light = taken_light(world, {.shutter = 1_s, .iso = 200});
  ASSERT_TRUE(light);
  EXPECT_NEAR(light->card.value(), 30.25, exact);
  EXPECT_NEAR(light->close.value(), 30.25 * 1.5625, 1e-6);  // m is found from distances
  EXPECT_NEAR(light->planned_card.value(), 80, exact);
  EXPECT_NEAR(light->difference_stops, std::log2(30.25 / 80), exact);
}

// Eight to ten seconds at f/16 and ISO 100 (common practice, no source): 80 to 64 lx, 125 to 100 lx at m =
// .25.
TEST(Taken, DeepShade) {
  for (const auto& [seconds, lux, close] : {std::tuple{8, 80.0, 125.0}, std::tuple{10, 64.0, 100.0}}) {
    const World world =
        taken_world(fmt::format("[taken]\nf_number = 16\nshutter_s = {}\niso = 100\n", seconds));
    const auto light = taken_light(world, {.shutter = 1_s, .iso = 200});
    EXPECT_NEAR(light->card.value(), lux, exact);
    EXPECT_NEAR(light->close.value(), close, 1e-6);
  }
}

// A grey filter of two stops hides three quarters of the light.
TEST(Taken, FiltersAreCounted) {
  const World world = taken_world("nd_stops = 2\n[taken]\nf_number = 11\nshutter_s = 5\niso = 200\n");
  EXPECT_NEAR(taken_light(world, {.shutter = 1_s, .iso = 200})->close.value(), 4 * 30.25 * 1.5625, 1e-5);
}

TEST(Taken, NeedsAllThreeSettings) {
  EXPECT_FALSE(taken_light(taken_world(""), {.shutter = 1_s, .iso = 200}));
  EXPECT_FALSE(
      taken_light(taken_world("[taken]\nf_number = 11\nshutter_s = 5\n"), {.shutter = 1_s, .iso = 200}));
}

// g D + A' = f (D + A). Of 60 of the day and 20 of the lamp half is left in all, 40; the lamp, half as far
// again, gives 20 / 2.25 of it: 31.11 of the day, .5185 of 60.
TEST(Taken, TheDayIsWhatTheLampsLeave) {
  const TakenLight half{.difference_stops = -1};
  EXPECT_NEAR(*day_factor(half, 60, 20, 20 / 2.25), (40 - 20 / 2.25) / 60, exact);
  EXPECT_NEAR(*day_factor(half, 60, 0, 0), 0.5, exact);
  // The lamp alone gave more than was there.
  EXPECT_FALSE(day_factor(half, 60, 20, 41));
  EXPECT_FALSE(day_factor(half, 0, 20, 10));
}

}  // namespace
}  // namespace undercap
