// Backdrop separation in the readings of rendered sets: what the focal length changes and what it does not;
// the rim between glowing cards; the display's picture against the shader that makes it.
#include <fmt/format.h>

#include <cmath>

#include "engine/colour/spaces.h"
#include "engine/measure/readings.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

// A glowing card in focus, 40 mm wide and 80 mm high; a wall of another glow
// behind it. 17.3 x 13 mm, f/4, m .1.
std::string set_text(double focal_mm, double wall_m = 1) {
  return bare + no_sky +
         fmt::format(R"([camera]
format_mm = [17.3, 13]
focal_length_mm = {}
f_number = 4
magnification = 0.1
position_m = [0, -0.5, 0]
look_at = [0, 0, 0]
barrel_mm = 0
[exposure]
shutter_s = 0.01
white_balance_k = 6500
[subject]
parts = ["card"]
backdrop = ["wall"]
[[prop]]
name = "card"
kind = "card"
at_m = [0, 0, 0]
size_mm = [40, 80]
material.surface = {{ reflectance = 0, emission_cd_m2 = 40 }}
[[prop]]
name = "wall"
kind = "card"
at_m = [0, {}, 0]
size_mm = [9000, 9000]
material.surface = {{ reflectance = 0, emission_cd_m2 = 10 }}
)",
                     focal_mm, wall_m);
}

std::vector<Reading> readings_of(const World& world) {
  const auto go_on = [](double) { return true; };
  Tracer tracer(test_shaders(), world);
  const Survey survey = take_survey(tracer, world, 1, false, go_on, 8),
               white = take_survey(tracer, world, 1, true, go_on, 8);
  const SeparationFilm film = take_separation(tracer, world, 1, go_on);
  const std::vector<MeterSums> meters;
  return all_readings({world, survey, choose_exposure(world, survey, white), meters, nullptr, &white, &film});
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

// At equal framing and f-number, a wall 1 m behind: blur disc in % of the frame's height and the wall's width
// in the frame, m, by focal length; the disc on the wall is 22.727 mm for all (Gaussian lens, derived: b = m
// d |D - a| / D, w D / (m a), |D - a| m / N_w). So long a lens shows less of the wall and larger discs, and
// hides no more of it. 1 %: the distance is single precision, the wall square to the axis.
TEST(Separation, FocalLengthsAtEqualFraming) {
  const double table[][3] = {{12, 2.0386, 1.4836},
                             {30, 4.3378, .69724},
                             {60, 6.9509, .43512},
                             {100, 9.1575, .33027},
                             {210, 12.201, .24789}};
  for (const auto& [focal_mm, blur_pct, width_m] : table) {
    const auto readings = readings_of(world_of(set_text(focal_mm)));
    EXPECT_NEAR(value_of(readings, "backdrop.blur_pct"), blur_pct, .01 * blur_pct) << focal_mm;
    EXPECT_NEAR(value_of(readings, "backdrop.width_m"), width_m, .01 * width_m) << focal_mm;
    EXPECT_NEAR(value_of(readings, "backdrop.disc_mm"), 22.727, .01 * 22.727) << focal_mm;
    EXPECT_NEAR(value_of(readings, "backdrop.blur_infinity_mm"), .1 * focal_mm / 4, 1e-9) << focal_mm;
    EXPECT_NE(named(readings, "backdrop.disc_mm").note.find("0.06, 0.94"), std::string::npos)
        << named(readings, "backdrop.disc_mm").note;
  }
}

// 40 cd/m2 against 10 is 2 stops, all along the outline. A pixel that counts for a side may have one sample
// in eight of the other; in one row of the five of a side that is at most 2 % less of 40 and 7.5 % more of
// 10, .13 stop; pixels that mix evenly would make it .3. A card and a wall without a pattern have no
// gradient, and the wall has no texture, no spots. Noise there is none: what glows evenly is met or not met.
TEST(Separation, GlowingCards) {
  const auto readings = readings_of(world_of(set_text(60)));
  EXPECT_NEAR(value_of(readings, "backdrop.rim_step_stops"), 2, .13);
  EXPECT_NEAR(value_of(readings, "backdrop.rim_step_low_stops"), 2, .13);
  for (const char* band : {"2_8", "8_32", "32_128"})
    EXPECT_NEAR(value_of(readings, fmt::format("backdrop.texture_{}_pct", band)), 0, .01) << band;
  EXPECT_EQ(value_of(readings, "backdrop.hot_spots_pct"), 0);
}

// Nothing behind but open sky, where no backdrop is named: endless, its blur that of infinity (6 / 4 mm of
// 13), with a reason where there is no number.
TEST(Separation, OpenSkyIsInfinite) {
  World world = world_of(set_text(60, -3));
  world.backdrop.reset();
  const auto readings = readings_of(world);
  EXPECT_NEAR(value_of(readings, "backdrop.blur_pct"), 100 * 1.5 / 13, 1e-9);
  EXPECT_EQ(named(readings, "backdrop.width_m").note, "infinite: open sky alone is behind");
  EXPECT_EQ(named(readings, "backdrop.disc_mm").note, "infinite: open sky alone is behind");
  world.backdrop = std::vector<std::uint32_t>{};
  EXPECT_EQ(named(readings_of(world), "backdrop.blur_pct").note, "no backdrop is seen");
}

// The display's linear light, worked out here for figures, is that of the shader which makes the pictures:
// codes of a film of known luminances, both tones, a coloured white, from black through the clip; within half
// a code and the shader's single precision.
TEST(Separation, DisplayedIsWhatIsDeveloped) {
  const World world = world_of(set_text(60));
  const View view{.width = 32, .height = 1};
  std::vector<float> sums;
  std::vector<glm::dvec3> luminance;
  for (int half = 0; half < 2; ++half)
    for (int x = 0; x < 32; ++x)
      for (int c = 0; c < 3; ++c) sums.push_back(static_cast<float>(.05 * std::exp2(x / 2. + c)));
  for (int x = 0; x < 32; ++x)
    luminance.emplace_back(.05 * std::exp2(x / 2.), .05 * std::exp2(x / 2. + 1), .05 * std::exp2(x / 2. + 2));
  const Developer developer(test_shaders());
  for (const auto tone : {Exposure::Tone::srgb, Exposure::Tone::reinhard}) {
    const Development how{.shutter = Duration(.02), .iso = 400, .gains = {1.3, .9, 1.1}, .tone = tone};
    const Display display = display_of(world, how, view.width, view.height);
    const Picture8 picture = developer.develop_mixed(world, view, Film(view, sums), how);
    for (std::size_t x = 0; x < 32; ++x) {
      const glm::dvec3 shown = displayed_linear(display.exposure_per_luminance[x] * luminance[x], how);
      for (int c = 0; c < 3; ++c)
        EXPECT_NEAR(255 * srgb_encode(shown[c]), picture.rgb[3 * x + static_cast<std::size_t>(c)], .52) << x;
    }
  }
}

}  // namespace
}  // namespace undercap
