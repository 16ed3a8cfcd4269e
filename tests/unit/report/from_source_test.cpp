// What a lamp sees, against projection.
#include "engine/report/from_source.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tests/unit/report/small_set.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

std::string lamp_at(const std::string& place, const std::string& beam = "beam_deg = 120") {
  return fmt::format(
      "[[source]]\nname = \"lamp\"\nkind = \"torch\"\nposition_m = {}\naim = [0, 0, 0.05]\nintensity_cd = "
      "10\n{}\n",
      place, beam);
}

std::string ball_at(const std::string& name, const std::string& place, double diameter_mm) {
  return fmt::format("[[prop]]\nname = \"{}\"\nkind = \"sphere\"\ndiameter_mm = {}\nat_m = {}\n", name,
                     diameter_mm, place);
}

struct Seen {
  glm::dvec2 low{1e9}, high{-1e9};
  std::size_t pixels = 0;
};

Seen subject_in(const SourceView& view) {
  Seen seen;
  for (int y = 0; y < view.side_px; ++y)
    for (int x = 0; x < view.side_px; ++x)
      if (view.subject[static_cast<std::size_t>(y * view.side_px + x)]) {
        seen.low = glm::min(seen.low, glm::dvec2(x, y));
        seen.high = glm::max(seen.high, glm::dvec2(x + 1, y + 1));
        ++seen.pixels;
      }
  return seen;
}

// A ball of radius r at d on the axis is a disc with tan = r / sqrt(d^2 - r^2) in the middle: 5 cm at 50 cm,
// with 90 degrees across 256 pixels, is 12.86 pixels in radius. One pixel, for the edge falls between
// middles.
TEST(SourceView, ABallOnTheAxisIsADisc) {
  const World world = small_set(ball_at("ball", "[0, 0, 0.05]", 100) + lamp_at("[0.5, 0, 0.05]"));
  const SourceView view = source_view(world, 0, 256);
  EXPECT_NEAR(view.half_field_tan, 1, 1e-9);
  const Seen seen = subject_in(view);
  const double radius = 0.05 / std::sqrt(0.25 - 0.0025) * 128;
  EXPECT_NEAR(seen.low.x, 128 - radius, 1);
  EXPECT_NEAR(seen.high.x, 128 + radius, 1);
  EXPECT_NEAR(seen.low.y, 128 - radius, 1);
  EXPECT_NEAR(seen.high.y, 128 + radius, 1);
  ASSERT_EQ(view.contour.size(), 1U);
  // Lambert's beam: the share within alpha of the axis is sin^2 alpha = (r / d)^2 = 1 %. The edge's pixels
  // are right to a few in 520.
  EXPECT_NEAR(view.subject_share, 0.01, 3e-4);
}

// To the lamp's right is right, and up is up: the ball is 20 cm to the right of the aim and 10 cm above it,
// for a lamp in the south.
TEST(SourceView, RightIsRightAndUpIsUp) {
  const World world = small_set(ball_at("ball", "[0.2, 0, 0.15]", 50) + lamp_at("[0, -0.5, 0.05]"));
  const Seen seen = subject_in(source_view(world, 0, 256));
  ASSERT_GT(seen.pixels, 0U);
  EXPECT_NEAR((seen.low.x + seen.high.x) / 2, 128 + 128 * 0.2 / 0.5, 1.5);
  EXPECT_NEAR((seen.low.y + seen.high.y) / 2, 128 - 128 * 0.1 / 0.5, 1.5);
}

// A larger ball between lamp and subject takes all of its light.
TEST(SourceView, WhatStandsBetweenTakesTheLight) {
  const std::string subject = ball_at("ball", "[0, 0, 0.05]", 40), lamp = lamp_at("[0, -0.5, 0.05]");
  const World open = small_set(subject + lamp),
              shaded = small_set(subject + ball_at("stone", "[0, -0.25, 0.05]", 100) + lamp);
  EXPECT_GT(source_view(open, 0, 128).subject_share, 0);
  EXPECT_EQ(source_view(shaded, 0, 128).subject_share, 0);
  EXPECT_TRUE(source_view(shaded, 0, 128).contour.empty());
}

// The ball's middle faces the lamp and is the brightest; a flat card at 60 degrees to the light gets half of
// what one square to it does. Coded for the screen over the upper part of the range: compared by order alone,
// and at the two ends.
TEST(SourceView, GreyFallsOffWithTheAngle) {
  const World world = small_set(ball_at("ball", "[0, 0, 0.05]", 100) + lamp_at("[0.5, 0, 0.05]"));
  const SourceView view = source_view(world, 0, 256);
  const auto grey = [&](int x, int y) { return int{view.grey[static_cast<std::size_t>(y * 256 + x)]}; };
  EXPECT_GE(grey(128, 128), 250);
  EXPECT_GT(grey(128, 128), grey(128, 134));
  EXPECT_GT(grey(128, 134), grey(128, 138));
  EXPECT_EQ(grey(5, 5), 70);  // nothing there
}

// A narrow beam is seen over its own field: cos^n through one half at 5 degrees has a tenth at
// acos(.1^(1/n)).
TEST(SourceView, TheFieldIsTheBeams) {
  const World world =
      small_set(ball_at("ball", "[0, 0, 0.05]", 100) + lamp_at("[0.5, 0, 0.05]", "beam_deg = 10"));
  const double n = std::log(0.5) / std::log(std::cos(pi / 36));
  // 1e-3: the table of the beam.
  EXPECT_NEAR(source_view(world, 0, 64).half_field_tan, std::tan(std::acos(std::pow(0.1, 1 / n))), 1e-3);
}

TEST(SourceDrawing, SaysWhichLampAndHowMuchMeetsTheSubject) {
  const World world = small_set(ball_at("ball", "[0, 0, 0.05]", 100) + lamp_at("[0.5, 0, 0.05]"));
  const Drawing drawing = from_source_drawing(world, 0, 74, 74);
  std::string words;
  int images = 0;
  for (const Mark& mark : drawing.marks) {
    if (const auto* text = std::get_if<Text>(&mark.shape)) words += text->words + "|";
    images += std::holds_alternative<Image>(mark.shape);
  }
  EXPECT_EQ(words, "From the source: lamp|90\xc2\xb0 across; the subject gets 1 % of its light|");
  EXPECT_EQ(images, 1);
}

}  // namespace
}  // namespace undercap
