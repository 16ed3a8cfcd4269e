// Jobs of the trade for a lamp in the hand: a little fill under a cap, a torch that is far too strong, a
// light from behind. Each answer is worked out above its test; what is right or usual in the field is common
// practice, no source.
#include <fmt/format.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/measure/place_levels.h"
#include "engine/report/from_source.h"
#include "engine/report/light_sheet.h"
#include "tests/physics/place_bench.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi, degree = pi / 180;
const auto go_on = [](double) { return true; };

std::string disc(const std::string& name, const std::string& at, double diameter_mm,
                 const std::string& normal, const std::string& surface) {
  return fmt::format(
      "[[prop]]\nname = \"{}\"\nkind = \"disc\"\nat_m = {}\ndiameter_mm = {}\nnormal = "
      "{}\nmaterial.surface = {{ {}, roughness = 1 }}\n",
      name, at, diameter_mm, normal, surface);
}
PlaceFields in_hand(PlaceBench& bench, const Placement& placement, const glm::dvec3& place) {
  return bench.fields(placement, {place})[0];
}
std::string said(const std::vector<std::string>& sentences) {
  std::string all;
  for (const std::string& one : sentences) all += one + "\n";
  return all;
}

// A dull morning: f/8, 1 s, ISO 200 off a grey card is 2.5 x 8^2 / (1 x 2) = 80 lx (ISO 2720, C = 250). Under
// a brown cap of 6 cm, 5 cm over litter of .10, gills that slant by 0 to 30 degrees have 3.2 to 3.7 stops
// less than its top: 6.2 to 8.7 lx. With 20 lx of fill on top that is 1.5 stops less: log2(27.5 / 80) =
// -1.54.
//
// A panel of 60 x 40 mm and 150 lm, Lambertian, has 150 / pi = 47.7 cd, and at 25 cm 764 lx, .7 % less for
// its size: 20 lx are 2.6 % of its power. One that stops at 10 % goes back to 25 cm x sqrt(10 / 2.63) = 49
// cm.
//
// It stands at 4 o'clock, 120 degrees to the right of the way that the camera looks, as high as the cap. The
// target is a gill's face on that side, turned to the lamp.
const glm::dvec3 at_four(std::sin(120 * degree), std::cos(120 * degree), 0);

std::string ottersholt() {
  const glm::dvec3 gill = .015 * at_four;
  return bare +
         "[sky]\nmodel = \"uniform\"\ngrey_card = { f_number = 8, shutter_s = 1, iso = 200 }\n[camera]\n"
         "format_mm = [36, 24]\nfocal_length_mm = 60\nf_number = 8\nbarrel_mm = 0\nposition_m = [0, -0.35, "
         "0.05]\nlook_at = [0, 0, 0.045]\n[exposure]\niso = 200\nshutter_s = 1\n[subject]\nparts = "
         "[\"gill\"]\n[[prop]]\nname = \"litter\"\nkind = \"plane\"\nat_m = [0, 0, 0]\nsize_m = [10, "
         "10]\nmaterial.surface = { reflectance = 0.1, roughness = 1 }\n" +
         disc("cap", "[0, 0, 0.05]", 60, "[0, 0, 1]", "reflectance = [0.2, 0.12, 0.06]") +
         disc("gill", fmt::format("[{}, {}, 0.043]", gill.x, gill.y), 6,
              fmt::format("[{}, {}, 0]", at_four.x, at_four.y), "reflectance = 0.3") +
         "[[source]]\nname = \"torch\"\nkind = \"panel\"\non = false\nposition_m = [0.3, -0.2, 0.05]\naim = "
         "[0, 0, 0.05]\nflux_lm = 150\nbeam_deg = 120\nsize_mm = [60, 40]\n";
}

TEST(PracticePlace, ALittleFillUnderACap) {
  PlaceBench bench(ottersholt());
  // Gills away from the target's disc, half way out: straight down, and slanting outward by 30 degrees.
  const glm::dvec3 out(-1, 0, 0);
  const auto lux = [&](const glm::dvec3& at, const glm::dvec3& normal) {
    return illuminance(bench.tracer(), bench.world(), {{at, normal}}, 2).value;
  };
  const double top = lux({0, 0, .051}, {0, 0, 1});
  EXPECT_NEAR(top, 80, .02 * 80);
  for (const double slant : {0.0, 30.0}) {
    const glm::dvec3 down = std::sin(slant * degree) * out - glm::dvec3(0, 0, std::cos(slant * degree));
    const double before = lux(glm::dvec3(0, 0, .049) + .015 * out, down);
    EXPECT_GT(std::log2(before / top), -3.7 - .1) << slant;
    EXPECT_LT(std::log2(before / top), -3.2 + .3) << slant;
    EXPECT_NEAR(std::log2((before + 20) / top), -1.5, .15) << slant;
  }

  const double had = bench.placement().target_luminance().value * pi / .3;
  const Placement placement = bench.placement({.rise_stops = std::log2(1 + 20 / had), .spill_stops = 8});
  const glm::dvec3 lamp = placement.target_middle() + .25 * at_four;
  const PlaceFields there = in_hand(bench, placement, lamp);
  EXPECT_EQ(there.limits, 0) << there.limits;  // out of the frame, above all
  EXPECT_NEAR(there.power_pct, 100 * 20 / (150 / pi / (.25 * .25)), .05 * 2.6);
  EXPECT_NEAR(there.power_pct, 2.6, .05 * 2.6);
  const LevelWays ways = level_ways(placement, bench.tracer(), bench.world(), there,
                                    {bench.source(), bench.full_peak(), 10, bench.shutter()});
  ASSERT_TRUE(ways.least_distance_m);
  EXPECT_NEAR(*ways.least_distance_m, .49, .05 * .49);
  // By the film, with all that comes back from litter and cap: a tenth at most of so direct a light.
  const Survey unit = bench.survey_from(lamp, placement.target_middle(), 4, 3);
  const double by_film =
      100 * bench.film_of(unit).peak_for(placement.wish().rise_stops).value / bench.full_peak();
  EXPECT_NEAR(by_film, 2.6, .1 * 2.6);
}

// A bare pen torch of 100 lm and 20 degrees: cos^n with n = ln .5 / ln cos 10 = 45.3 has 100 (n + 1) / (2 pi)
// = 737 cd, and 2946 lx at 50 cm. Fill one stop under 150 lx is 75 lx: log2(2946 / 75) = 5.3 stops too
// strong. Ways out, for a picture of 4 s: back to 50 cm x sqrt(39.3) = 3.1 m, beyond the 3 m that are looked
// through; a diffuser that lets .6 through, 60 / pi = 19.1 cd, 76.4 lx: 98 %; the beam on a white card of .85
// there, 85 / pi = 27.1 cd, 108 lx: 69 %, and 7 % more for the card's size; or 4 s / 39.3 = .10 s, too short
// for a hand. One that can be dimmed to a tenth is 2 stops too strong, goes back to 50 cm x sqrt(3.93) = 99
// cm, or stays on for 1.0 s.
TEST(PracticePlace, ATorchFarTooStrong) {
  constexpr double ambient_lx = 150, fill_lx = 75, away = .5;
  const double n = std::log(.5) / std::log(std::cos(10 * degree)), peak_cd = 100 * (n + 1) / (2 * pi),
               full_lx = peak_cd / (away * away);
  const glm::dvec3 side = glm::normalize(glm::dvec3(1, -1, 0));
  PlaceBench bench(bare + fmt::format("[sky]\nmodel = \"uniform\"\nhorizontal_lx = {}\n", 2 * ambient_lx) +
                   "[camera]\nf_number = 11\nbarrel_mm = 0\nposition_m = [0, -0.5, 0]\nlook_at = [0, 0, "
                   "0]\n[exposure]\nshutter_s = 4\n" +
                   disc("stem", "[0, 0, 0]", 10, "[1, -1, 0]", "reflectance = 0.3") +
                   "[[source]]\nname = \"torch\"\nkind = \"torch\"\non = false\nposition_m = [0.3, -0.3, "
                   "0]\naim = [0, 0, 0]\nflux_lm = 100\nbeam_deg = 20\ndiameter_mm = 20\n");
  EXPECT_NEAR(bench.full_peak(), peak_cd, 1e-3 * peak_cd);
  const Placement placement =
      bench.placement({.rise_stops = std::log2(1 + fill_lx / ambient_lx), .spill_stops = 8});
  const PlaceFields there = in_hand(bench, placement, away * side);
  const double wanted_pct = 100 * fill_lx / full_lx;
  EXPECT_NEAR(there.power_pct, wanted_pct, .03 * wanted_pct);  // the survey's error of the ambient light
  EXPECT_NEAR(std::log2(100 / there.power_pct), 5, .4);

  const auto ways_for = [&](double least_pct) {
    return level_ways(placement, bench.tracer(), bench.world(), there,
                      {bench.source(), bench.full_peak(), least_pct, bench.shutter()});
  };
  const auto words_for = [&](double least_pct, const LevelWays& ways) {
    const LightQuestion asked{.source = "torch",
                              .target = "stem",
                              .wish = placement.wish(),
                              .shutter = bench.shutter(),
                              .least_power_pct = least_pct};
    return said(level_words(asked, {.fields = there, .power_pct = there.power_pct, .ways = ways}));
  };
  const LevelWays plain = ways_for(100), dimmed = ways_for(10);
  EXPECT_FALSE(plain.least_distance_m);
  ASSERT_TRUE(dimmed.least_distance_m && plain.diffused_pct && plain.bounced_pct && plain.on_s &&
              dimmed.least_on_s);
  EXPECT_NEAR(*dimmed.least_distance_m, away * std::sqrt(10 / wanted_pct), .03);
  EXPECT_NEAR(*plain.diffused_pct, 100 * fill_lx / (60 / pi / (away * away)), .03 * 98);
  // A rectangle of 21 x 14.8 cm at .5 m: mean of cos^2 / d^2 over it, to first order 1 - (a^2 + b^2) / (6
  // d^2) with the fall of both, cosine and distance, at either end: 4 (a^2 + b^2) / (12 x 2 d^2).
  const double spread = 1 - 4 * (.210 * .210 + .148 * .148) / (24 * away * away);  // derived
  EXPECT_NEAR(*plain.bounced_pct, 100 * fill_lx / (85 / pi / (away * away) * spread), .04 * 69);
  EXPECT_NEAR(*plain.on_s, 4 * wanted_pct / 100, .005);
  EXPECT_NEAR(*dimmed.least_on_s, 4 * wanted_pct / 10, .05);

  const std::string words = words_for(100, plain), dimmed_words = words_for(10, dimmed);
  EXPECT_NE(words.find("5.3 stops too strong there"), std::string::npos) << words;
  EXPECT_NE(words.find("moving back on this line does not do it within 3 m"), std::string::npos) << words;
  EXPECT_NE(words.find("through a diffuser 9"), std::string::npos) << words;
  EXPECT_NE(words.find("off a white A5 card held there"), std::string::npos) << words;
  EXPECT_NE(words.find("on for 0.10 of 4.0 s at full power is too short for a hand"), std::string::npos)
      << words;
  EXPECT_NE(dimmed_words.find("at 10 % move back to 99 cm"), std::string::npos) << dimmed_words;
  EXPECT_NE(dimmed_words.find("on for 1.0 s of 4.0 s at 10 %"), std::string::npos) << dimmed_words;
}

// A thin cap, a disc of 40 mm that lets .3 through and sends .3 back, stands over a log before the camera, in
// an even sky of 200 lx: 100 lx on either face, luminance (.3 + .3) 100 / pi. A torch straight behind at 12,
// I cd at d, adds .3 I / d^2 / pi in its middle: glow against front light log2(1 + .3 I / d^2 / 60), for 100
// cd at 20 cm log2(1 + 750 / 60) = 3.75 stops; off the middle by h its light falls by cos^4.
//
// A black tube of 100 mm on the 25 mm front: its mouth, half way to the cap, is seen from there as a circle
// twice as wide as the front, shifted by h on it; what lies outside is lost (overlap of two circles,
// geometry).
//
// The log's flat top lies 8 cm below, 5 to 35 cm from the lamp. Behind the tube light falls by 25 mm in 100
// at most, from 12.5 mm over the axis: it is 8 cm below after 37 cm, past the log. No spill.
constexpr double cap_radius_m = .02, front_radius_m = .0125, lamp_behind_m = .2, lamp_cd = 100;

// The area that two circles share, by their radii and the distance of their centres.
double shared_area(double r, double s, double d) {
  if (d <= std::abs(s - r)) return pi * std::min(r, s) * std::min(r, s);
  const double a = std::acos((d * d + r * r - s * s) / (2 * d * r)),
               b = std::acos((d * d + s * s - r * r) / (2 * d * s));
  return r * r * (a - std::sin(a) * std::cos(a)) + s * s * (b - std::sin(b) * std::cos(b));
}
// Mean over the cap for 1 cd, lx.
double behind_the_cap(bool tube) {
  double sum = 0;
  for (const GaussNode& node : gauss_nodes(32)) {
    const double h = cap_radius_m * std::sqrt(node.at), square = lamp_behind_m * lamp_behind_m + h * h;
    const double open =
        tube ? shared_area(front_radius_m, 2 * front_radius_m, h) / (pi * front_radius_m * front_radius_m)
             : 1;
    sum += node.weight * open * lamp_behind_m * lamp_behind_m / (square * square);
  }
  return sum;
}

std::string lanthorn(bool tube, bool on) {
  return bare +
         "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 200\n[camera]\nformat_mm = [36, 24]\nfocal_length_mm = "
         "50\nf_number = 11\nbarrel_mm = 0\nposition_m = [0, -0.5, 0]\nlook_at = [0, 0, 0]\nfocus_distance_m "
         "= 0.5\n[exposure]\nshutter_s = 1\n[subject]\nparts = [\"cap\"]\nbackdrop = [\"log\"]\n" +
         disc("cap", "[0, 0, 0]", 40, "[0, -1, 0]", "reflectance = 0.3, transmittance = 0.3") +
         "[[prop]]\nname = \"log\"\nkind = \"box\"\nat_m = [0, 0, -0.082]\nsize_mm = [200, 300, "
         "4]\nmaterial.surface = { reflectance = 0.02, roughness = 1 }\n[[source]]\nname = \"torch\"\nkind = "
         "\"torch\"\nposition_m = [0, 0.2, 0]\naim = [0, 0, 0]\nintensity_cd = 100\nbeam_deg = "
         "120\ndiameter_mm = 25\n" +
         fmt::format("on = {}\n{}", on, tube ? "snoot_mm = 100\n" : "");
}

TEST(PracticePlace, AConeOfLightFromBehind) {
  const glm::dvec3 behind(0, lamp_behind_m, 0);
  for (const bool tube : {false, true}) {
    const double glow = std::log2(1 + .3 * lamp_cd * behind_the_cap(tube) / 60);
    EXPECT_NEAR(glow, 3.75, .2);
    PlaceBench bench(lanthorn(tube, false));
    const Placement placement = bench.placement({.rise_stops = glow, .spill_stops = 8, .least_angle_deg = 0});
    const PlaceFields there = in_hand(bench, placement, behind);
    EXPECT_NEAR(there.angle_deg, 180, .5);
    EXPECT_TRUE(there.hidden);
    EXPECT_FALSE(has(there.limits, PlaceLimit::in_picture));
    // To 3 % for the map's points and the survey.
    EXPECT_NEAR(there.power_pct, 100, 3) << tube;
    EXPECT_EQ(there.backdrop_stops > .05, !tube) << there.backdrop_stops;
    EXPECT_TRUE(!tube || there.backdrop_stops == 0);
    // Higher up it shows over the cap.
    const PlaceFields above = in_hand(bench, placement, behind + glm::dvec3(0, 0, .04));
    EXPECT_FALSE(above.hidden);
    EXPECT_TRUE(has(above.limits, PlaceLimit::in_picture));

    // The scene with the lamp in its place, rendered: the same glow, and as little spill.
    const World world = world_of(lanthorn(tube, true));
    Tracer tracer(test_shaders(), world);
    const Survey survey = take_survey(tracer, world, 2, false, go_on);
    const LampFilm film(world, survey, world.subject, static_cast<std::size_t>(world.group_index("torch")),
                        1_s);
    const auto rise = film.rise(lamp_cd);
    ASSERT_TRUE(rise);
    // What log and cap send back and forth adds to it.
    EXPECT_NEAR(rise->value, glow, 4 * rise->se + .04) << tube;
    if (tube)
      EXPECT_LT(film.backdrop(lamp_cd), .1);  // what the cap throws down there
    else
      EXPECT_NEAR(film.backdrop(lamp_cd), there.backdrop_stops, .1);
  }
}

// The view from the lamp. From .2 m the cap's disc of 20 mm radius is seen under atan(.1), and takes sin^2 =
// .01 / 1.01 of a Lambertian beam's light.
TEST(PracticePlace, TheViewFromTheLamp) {
  const World world = world_of(lanthorn(false, true));
  constexpr int side = 256;
  const SourceView view = source_view(world, 0, side);
  EXPECT_NEAR(view.half_field_tan, 1, 1e-6);
  EXPECT_NEAR(view.subject_share, .01 / 1.01, .04 * .01);  // pixels of 1/13 of its radius
  EXPECT_TRUE(view.subject[static_cast<std::size_t>(side / 2 * side + side / 2)]);
  EXPECT_FALSE(view.subject[0]);
  const double seen =
      static_cast<double>(std::count(view.subject.begin(), view.subject.end(), std::uint8_t{1}));
  // A circle of a tenth of the half side.
  EXPECT_NEAR(seen, pi * std::pow(.1 * side / 2, 2), .06 * seen);
}

}  // namespace
}  // namespace undercap
