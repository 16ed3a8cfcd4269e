// The lit and the shadow side of things whose light is known in closed form.
#include "engine/measure/sides.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>

#include "engine/measure/readings.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

Survey white_survey(const World& world, unsigned passes, int cells_high = 64) {
  Tracer tracer(test_shaders(), world);
  return take_survey(
      tracer, world, passes, true, [](double) { return true; }, cells_high);
}

const Reading& reading_of(const std::vector<Reading>& all, const std::string& name) {
  for (const Reading& reading : all)
    if (reading.name == name) return reading;
  ADD_FAILURE() << "no reading " << name;
  return all.front();
}

// A ball of 110 mm in the middle, 0.6 m before the camera, under an even sky of 400 lx on level ground; a
// lamp of 320 kcd 20 m to the left, before and above it.
constexpr double radius_m = .055, sky_lx = 400, lamp_cd = 320'000, lamp_m = 20;
const glm::dvec3 toward_lamp = glm::normalize(glm::dvec3(-.7, -.5, .5));
std::string ball_scene(const glm::dvec3& toward) {
  const glm::dvec3 at = lamp_m * toward;
  return bare +
         fmt::format(
             "[sky]\nmodel = \"uniform\"\nhorizontal_lx = {}\n[camera]\nformat_mm = [24, 24]\nf_number = "
             "32\nblades = 0\nbarrel_mm = 0\nposition_m = [0.0, -0.6, 0.0]\nlook_at = [0.0, 0.0, "
             "0.0]\n[subject]\nparts = [\"ball\"]\n[[prop]]\nname = \"ball\"\nkind = \"sphere\"\nat_m = "
             "[0.0, "
             "0.0, 0.0]\ndiameter_mm = {}\n[[source]]\nname = \"lamp\"\nkind = \"torch\"\nposition_m = "
             "[{:.9f}, {:.9f}, {:.9f}]\naim = [0.0, 0.0, 0.0]\nintensity_cd = {}\ndiameter_mm = 100\n",
             sky_lx, 2e3 * radius_m, at.x, at.y, at.z, lamp_cd);
}

// What a sample of the white survey brings from a place of the frame, lx. On the ball, whose normal n is its
// radius: E_h (1 + n_z) / 2 from the even sky (Moon & Spencer 1942, for a tilted plane), and I cos / d^2 from
// the lamp where n turns toward it. Past the ball pi x the sky's luminance, E_h, above the horizon.
struct Seen {
  bool ball = false;
  double lx = 0;
};
Seen seen(const CameraRig& rig, double across, double down, double lamp_factor) {
  const double focal = rig.image_distance.value();
  const glm::dvec3 way = glm::normalize(rig.forward + (across - .5) * rig.width.value() / focal * rig.right +
                                        (.5 - down) * rig.height.value() / focal * rig.up);
  const double along = glm::dot(rig.pupil_m, way),
               root = along * along - glm::dot(rig.pupil_m, rig.pupil_m) + radius_m * radius_m;
  if (root < 0) return {false, way.z > 0 ? sky_lx : 0};
  const glm::dvec3 place = rig.pupil_m + (-along - std::sqrt(root)) * way, normal = place / radius_m,
                   lamp = lamp_m * toward_lamp - place;
  const double d = glm::length(lamp);
  return {true, sky_lx * (1 + normal.z) / 2 +
                    lamp_factor * lamp_cd * std::max(0., glm::dot(normal, lamp)) / (d * d * d)};
}

// The thirds by that formula, a cell the mean of 12 x 12 places.
struct Exact {
  double lit = 0, shadow = 0;
};
Exact exact_sides(const CameraRig& rig, int side, double lamp_factor) {
  constexpr int parts = 12;
  std::vector<double> cells;
  for (int cell = 0; cell < side * side; ++cell) {
    double sum = 0;
    int on_ball = 0;
    for (int part = 0; part < parts * parts; ++part) {
      const Seen one = seen(rig, (cell % side + (part % parts + .5) / parts) / side,
                            (cell / side + (part / parts + .5) / parts) / side, lamp_factor);
      sum += one.lx;
      on_ball += one.ball ? 1 : 0;
    }
    if (2 * on_ball > parts * parts) cells.push_back(sum / (parts * parts));
  }
  std::sort(cells.begin(), cells.end());
  const std::size_t third = cells.size() / 3;
  Exact sides;
  for (std::size_t i = 0; i < third; ++i) {
    sides.shadow += cells[i] / static_cast<double>(third);
    sides.lit += cells[cells.size() - 1 - i] / static_cast<double>(third);
  }
  return sides;
}

// One survey, the lamp off, as it is, and at twice its power. Half a per cent: the cells at the ball's edge,
// a twelfth of all, are the ball's by a count of 128 samples here and of 144 places there, and the places are
// chosen by light that is a little noisy.
TEST(Sides, OfABall) {
  const World world = world_of(ball_scene(toward_lamp));
  const Survey white = white_survey(world, 4);
  for (const double factor : {0., 1., 2.}) {
    Mix mix = mix_of(world);
    mix[static_cast<std::size_t>(world.group_index("lamp"))] *= factor;
    const Exact exact = exact_sides(world.camera, white.width, factor);
    const auto sides = sides_of(white, mix);
    ASSERT_TRUE(sides && sides->stops);
    EXPECT_TRUE(agrees(sides->lit_lx.estimate, exact.lit, .005)) << factor;
    EXPECT_TRUE(agrees(sides->shadow_lx.estimate, exact.shadow, .005)) << factor;
    EXPECT_NEAR(sides->stops->estimate.value, std::log2(exact.lit / exact.shadow),
                4 * sides->stops->estimate.se + .01)
        << factor;
  }
}

// A card that fills the frame, upright under the even sky, gets half of what level ground does, everywhere:
// no sides, though its cells are noisy.
TEST(Sides, AnEvenCardHasNone) {
  const World world =
      world_of(bare + plain_camera +
               "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 400\n[[prop]]\nname = \"card\"\nkind = "
               "\"card\"\nat_m = [0.0, 0.0, 0.0]\nsize_mm = [1000, 1000]\n");
  const Survey white = white_survey(world, 2, 24);
  const auto sides = sides_of(white, mix_of(world));
  ASSERT_TRUE(sides && sides->stops);
  const Estimate& stops = sides->stops->estimate;
  EXPECT_LT(std::abs(stops.value), 4 * stops.se);
  EXPECT_LT(stops.se, .02);
  EXPECT_NEAR(sides->lit_lx.estimate.value, 200, 4 * sides->lit_lx.estimate.se);
}

// As readings: lux, lux and stops under 'fill', and the reasons where there are none. The lamp stands
// straight to the left.
TEST(Sides, AsReadings) {
  World world = world_of(ball_scene({-1, 0, 0}));
  Tracer tracer(test_shaders(), world);
  const auto go_on = [](double) { return true; };
  const Survey plain = take_survey(tracer, world, 1, false, go_on, 20);
  Survey white = take_survey(tracer, world, 1, true, go_on, 20);
  const auto readings = [&](const Survey* light) {
    return all_readings({world, plain, choose_exposure(world, plain, white), {}, nullptr, light});
  };
  const std::vector<Reading> all = readings(&white);
  const Sides sides = *sides_of(white, mix_of(world));
  const Reading& lit = reading_of(all, "light.lit_side_lx");
  EXPECT_EQ(std::get<double>(lit.value), sides.lit_lx.estimate.value);
  EXPECT_EQ(lit.se, sides.lit_lx.estimate.se);
  EXPECT_EQ(lit.unit, "lx");
  EXPECT_EQ(lit.under, Reading::Under::fill);
  EXPECT_EQ(std::get<double>(reading_of(all, "light.shadow_side_lx").value), sides.shadow_lx.estimate.value);
  EXPECT_EQ(std::get<double>(reading_of(all, "light.sides_stops").value), sides.stops->estimate.value);
  EXPECT_EQ(reading_of(readings(nullptr), "light.sides_stops").note, "not measured yet");

  // A lamp that shines for 1 of 4 s counts for a quarter.
  world.scene.exposure.shutter_s = 4;
  LightGroup& lamp = world.groups[static_cast<std::size_t>(world.group_index("lamp"))];
  lamp.on_s = 1;
  Mix quarter = mix_of(world);
  quarter[static_cast<std::size_t>(world.group_index("lamp"))] *= .25;
  const Reading shorter = reading_of(readings(&white), "light.lit_side_lx");
  EXPECT_NEAR(std::get<double>(shorter.value), sides_of(white, quarter)->lit_lx.estimate.value, 1e-9);
  EXPECT_NE(shorter.note.find("; a mean over the exposure of 4 s"), std::string::npos) << shorter.note;
  lamp.on_s.reset();

  // Without the sky the half away from the lamp is black; without any light all of it is.
  world.groups[static_cast<std::size_t>(world.group_index("sky"))].on = false;
  const std::vector<Reading> one_lamp = readings(&white);
  EXPECT_TRUE(std::holds_alternative<double>(reading_of(one_lamp, "light.lit_side_lx").value));
  EXPECT_EQ(
      reading_of(one_lamp, "light.sides_stops").note,
      "the shadow side is too dark to tell from black (under 5 standard errors): a finer --quality takes "
      "more samples");
  lamp.on = false;
  EXPECT_EQ(reading_of(readings(&white), "light.lit_side_lx").note, "black: no light comes from it");

  // A subject that is not in the picture.
  const World empty = world_of(bare + "[sky]\nmodel = \"uniform\"\n" + plain_camera +
                               "[subject]\nparts = [\"ball\"]\n[[prop]]\nname = \"ball\"\nkind = "
                               "\"sphere\"\nat_m = [0.0, -2.0, 0.0]\n");
  Tracer other(test_shaders(), empty);
  const Survey no_plain = take_survey(other, empty, 1, false, go_on, 8),
               no_white = take_survey(other, empty, 1, true, go_on, 8);
  const ExposureChoice exposure = choose_exposure(empty, no_plain, no_white);
  const std::vector<Reading> none = all_readings({empty, no_plain, exposure, {}, nullptr, &no_white});
  EXPECT_TRUE(std::holds_alternative<std::monostate>(reading_of(none, "light.lit_side_lx").value));
  EXPECT_EQ(reading_of(none, "light.sides_stops").note, "the subject is not seen");
}

}  // namespace
}  // namespace undercap
