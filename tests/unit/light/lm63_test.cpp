#include "engine/light/lm63.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>
#include <string>
#include <utility>

#include "engine/core/errors.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

Angle from_degrees(double value) { return Angle(value * pi / 180); }

// Made by hand: a lamp of 1000 cd along its axis and 500 cd at 45 degrees, with a factor of 2 and ballast .5.
const char* const plain =
    "IESNA:LM-63-2002\n"      // 1
    "[TEST] made by hand\n"   // 2
    "[MANUFAC] none\n"        // 3
    "TILT=NONE\n"             // 4
    "1 -1 2 3 1 1 2 0 0 0\n"  // 5
    "0.5 1 10\n"              // 6
    "0 45 90\n"               // 7
    "0\n"                     // 8
    "1000 500 0\n";           // 9

std::string with(std::string text, const std::string& old, const std::string& fresh) {
  const std::size_t place = text.find(old);
  EXPECT_NE(place, std::string::npos) << old;
  return text.replace(place, old.size(), fresh);
}

MeasuredBeam read(const std::string& text) { return beam_from_lm63(text, "torch.ies"); }

std::string refusal(const std::string& text) {
  try {
    read(text);
  } catch (const Refusal& refusal) {
    return refusal.what();
  }
  return "not refused";
}

// Between the file's angles the candela are linear in the angle; the flux is 2 pi times the integral of I sin
// t over the two pieces 1000 (1 - t / 90) that these make: with I = 1 - t / (pi / 2) it is 1 - 2 / pi =
// .36338 of 1000 cd.
TEST(Lm63, OnePlane) {
  const MeasuredBeam lamp = read(plain);
  EXPECT_EQ(lamp.beam.planes, 1);
  EXPECT_NEAR(lamp.peak.value(), 1000, 1e-9);
  for (double angle : {0., 10., 30., 45., 60., 89.})
    EXPECT_NEAR(beam_ratio(lamp.beam, from_degrees(angle)), 1 - angle / 90, 1e-5) << angle;
  EXPECT_NEAR(lamp.flux.value(), 2 * pi * 1000 * (1 - 2 / pi), .01);
  EXPECT_EQ(lamp.behind, 0);
}

// What a factor is for: multiplier, ballast, and in 1995 the ballast-lamp factor, which later forms do not
// have.
TEST(Lm63, Factors) {
  const std::string tripled = with(plain, "0.5 1 10", "0.5 3 10");
  EXPECT_NEAR(read(tripled).peak.value(), 1000, 1e-9);
  EXPECT_NEAR(read(with(tripled, "2002", "1995")).peak.value(), 3000, 1e-9);
  EXPECT_NEAR(read(with(tripled, "IESNA:LM-63-2002", "IES:LM-63-2019")).peak.value(), 1000, 1e-9);
}

// Line ends of all systems, commas and blanks between numbers, numbers over several lines, a plus sign, a
// byte order mark: all the same file.
TEST(Lm63, SameFileInOtherClothes) {
  std::string dos, mac;
  for (const char c : std::string(plain)) {
    dos += c == '\n' ? "\r\n" : std::string(1, c);
    mac += c == '\n' ? '\r' : c;
  }
  const std::string others[] = {dos,
                                mac,
                                "\xEF\xBB\xBF" + std::string(plain),
                                with(plain, "1 -1 2 3 1 1 2 0 0 0", "1,-1 , 2\n3 1\t1 2\n\n0 0 0"),
                                with(plain, "1000 500 0\n", "+1.0e3\n500\n0"),
                                with(plain, "TILT=NONE", "  TILT=NONE ")};
  for (const std::string& other : others) {
    EXPECT_NEAR(read(other).peak.value(), 1000, 1e-9);
    EXPECT_NEAR(beam_ratio(read(other).beam, 30_deg), 2. / 3, 1e-5);
  }
}

// Planes of 100, 200 and 400 cd (even over the angles from the axis) at the horizontal angles of each
// symmetry, and what stands at every 45 degrees around: mirrored at 0 and 90, mirrored at 0, as it stands.
TEST(Lm63, Symmetries) {
  const std::string three =
      with(with(plain, "3 1 1 2", "3 3 1 2"), "1000 500 0", "100 100 100\n200 200 200\n400 400 400");
  const std::pair<const char*, std::array<double, 9>> cases[] = {
      {"0 45 90\n100", {100, 200, 400, 200, 100, 200, 400, 200, 100}},
      {"0 90 180\n100", {100, 150, 200, 300, 400, 300, 200, 150, 100}},
      {"0 180 360\n100", {100, 125, 150, 175, 200, 175, 150, 125, 100}}};
  for (const auto& [angles, around] : cases) {
    std::string file = with(three, "0\n100", angles);
    if (angles[3] == '8') file = with(file, "400 400 400", "100 100 100");
    const MeasuredBeam lamp = read(file);
    const double peak = angles[3] == '8' ? 200 : 400;
    EXPECT_NEAR(lamp.peak.value(), peak, 1e-9);
    for (std::size_t i = 0; i < 9; ++i)
      EXPECT_NEAR(beam_ratio(lamp.beam, 20_deg, from_degrees(45. * static_cast<double>(i))) * peak, around[i],
                  1e-4)
          << angles << " " << i;
  }
}

// Uneven steps of 0, 10, 90 become planes 10 degrees apart.
TEST(Lm63, UnevenPlanes) {
  const MeasuredBeam lamp = read(with(with(plain, "3 1 1 2", "3 3 1 2"), "0\n1000 500 0",
                                      "0 10 90\n100 100 100\n200 200 200\n400 400 400"));
  EXPECT_EQ(lamp.beam.planes, 36);
  EXPECT_NEAR(beam_ratio(lamp.beam, 20_deg, 5_deg) * 400, 150, 1e-4);
  EXPECT_NEAR(beam_ratio(lamp.beam, 20_deg, 50_deg) * 400, 300, 1e-4);
  EXPECT_NEAR(beam_ratio(lamp.beam, 20_deg, 355_deg) * 400, 150, 1e-4);
}

// As much behind as in front: an even 100 cd over the whole sphere is half behind.
TEST(Lm63, LightBehind) {
  const MeasuredBeam lamp = read(with(with(plain, "0 45 90", "0 90 180"), "1000 500 0", "100 100 100"));
  EXPECT_NEAR(lamp.behind, .5, 1e-4);
  EXPECT_NEAR(lamp.flux.value(), 2 * pi * 100, .01);
}

// Angles of 0, 80 and 180 with 1, 0 and 1000 cd: at 90 degrees, a tenth on, are 100 cd, the brightest of the
// front.
TEST(Lm63, BrightestBesideTheLamp) {
  const MeasuredBeam lamp = read(with(with(plain, "0 45 90", "0 80 180"), "1000 500 0", "1 0 1000"));
  EXPECT_NEAR(lamp.peak.value(), 100, 1e-9);
  EXPECT_NEAR(beam_ratio(lamp.beam, 90_deg), 1, 1e-6);
}

TEST(Lm63, Refusals) {
  const std::pair<std::string, const char*> cases[] = {
      {with(plain, "LM-63-2002", "LM-63-1991"),
       "torch.ies:1:1: 'IESNA:LM-63-1991' on the first line: allowed are"},
      {"",
       "torch.ies:1:1: '' on the first line: allowed are IESNA:LM-63-1995, IESNA:LM-63-2002 and "
       "IES:LM-63-2019"},
      {with(plain, "TILT=NONE", "TILT=INCLUDE"), "torch.ies:4:1: 'TILT=INCLUDE': only TILT=NONE is read"},
      {"IESNA:LM-63-2002\n[TEST] x\n", "the file ends without a line TILT=NONE"},
      {with(plain, "1 -1 2", "one -1 2"), "torch.ies:5:1: 'one' should be the number of lamps, a number"},
      {with(plain, "-1 2 3", "-1 0 3"),
       "torch.ies:5:6: the candela multiplier of 0: allowed is 1e-06 to 1e+06"},
      {with(plain, "2 3 1 1", "2 1 1 1"), "the number of vertical angles of 1: allowed is 2 to 1801"},
      {with(plain, "2 3 1 1", "2 1e9 1 1"), "the number of vertical angles of 1e+09: allowed is 2 to 1801"},
      {with(plain, "2 3 1 1", "2 3 722 1"), "the number of horizontal angles of 722: allowed is 1 to 721"},
      {with(plain, "2 3 1 1", "2 3 1.5 1"),
       "the number of horizontal angles of 1.5: allowed is a whole number"},
      {with(plain, "3 1 1 2", "3 1 2 2"),
       "torch.ies:5:12: photometric type 2: only type C is read, number 1"},
      {with(plain, "3 1 1 2", "3 1 1 3"), "the type of units of 3: allowed is 1 to 2"},
      {with(plain, "0.5 1", "nan 1"), "torch.ies:6:1: 'nan' should be the ballast factor, a number"},
      {with(plain, "0 45 90", "0 90 45"),
       "torch.ies:7:6: vertical angle 45 after 90: allowed are ascending angles"},
      {with(plain, "0 45 90", "5 45 90"), "torch.ies:7:1: the first vertical angle is 5: allowed is 0"},
      {with(plain, "0 45 90", "0 45 80"),
       "torch.ies:7:6: the last vertical angle is 80: allowed are 90 and 180"},
      {with(plain, "0 45 90", "0 45 190"), "vertical angle 3 of 190: allowed is 0 to 180"},
      {with(plain, "90\n0\n", "90\n30\n"), "torch.ies:8:1: the first horizontal angle is 30: allowed is 0"},
      {with(with(plain, "3 1 1 2", "3 2 1 2"), "90\n0\n", "90\n0 45\n"),
       "torch.ies:8:3: the last horizontal angle is 45: allowed are 0, 90, 180 and 360"},
      {with(plain, "500 0", "-5 0"),
       "torch.ies:9:6: the candela at 45, 0 degrees of -5: allowed is 0 to 1e+12"},
      {with(plain, "500 0", "500"), "the file ends where the candela at 90, 0 degrees should stand"},
      {with(plain, "500 0", "500 0 7"), "torch.ies:9:12: '7' after the last candela value"},
      {with(plain, "1000 500 0", "0 0 0"), "torch.ies: no light at vertical angles of 0 to 90 degrees"},
      {with(with(with(plain, "2 3 1 1", "2 4 1 1"), "0 45 90", "0 1e-5 2e-5 90"), "1000 500 0", "0 1 0 0"),
       "its brightest direction lies between all of 512 angles"},
      {with(with(with(plain, "3 1 1 2", "3 2 1 2"), "0\n1000", "0 360\n1000"), "500 0\n",
            "500 0\n1000 400 0\n"),
       "torch.ies: at vertical angle 45 500 cd at horizontal angle 0 and 400 cd at 360, the same direction"},
      {std::string(lm63_limit_bytes + 1, ' '),
       "torch.ies: 4194305 bytes: the limit of a measured beam is 4194304"}};
  for (const auto& [text, message] : cases)
    EXPECT_NE(refusal(text).find(message), std::string::npos) << message << "\n" << refusal(text);
}

}  // namespace
}  // namespace undercap
