// The map of places for a lamp: closed forms on bare sets, what stands in the way, order and symmetry.
#include "engine/measure/placement.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/measure/place_candidates.h"
#include "engine/measure/place_choice.h"
#include "engine/world/update.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi, degree = pi / 180;

// A white card of 20 mm that faces the camera, before the sky's even light.
std::string small_card(double side_mm = 20) {
  return fmt::format(
      "[[prop]]\nname = \"card\"\nkind = \"card\"\nat_m = [0, 0, 0]\nnormal = [0, -1, 0]\nsize_mm = [{0}, "
      "{0}]\n"
      "material.surface = {{ reflectance = 0.5, roughness = 1 }}\n",
      side_mm);
}
const std::string torch_text =
    "[[source]]\nname = \"torch\"\nkind = \"torch\"\non = false\nposition_m = [0.1, -0.3, 0]\naim = [0, 0, "
    "0]\n"
    "intensity_cd = 100\nbeam_deg = 120\ndiameter_mm = 30\n";
const std::string even_sky = "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 100\n";

// A world with all that a map of it takes.
struct Map {
  World world;
  Tracer tracer;
  LightProbe probe;
  Survey base;
  std::size_t group;
  Mix without;
  ProbeLamp lamp;
  double full_peak;

  explicit Map(const std::string& text, const std::string& source = "torch")
      : world(world_of(text)),
        tracer(test_shaders(), world),
        probe(test_shaders(), tracer),
        base(take_survey(tracer, world, 1, false, [](double) { return true; })),
        group(static_cast<std::size_t>(world.group_index(source))),
        without(mix_with(world, Duration(1), group, false)) {
    for (const Source& one : world.scene.sources)
      if (one.name == source) {
        const CarriedLamp carried = carried_lamp(world.scene, one);
        lamp = {carried.lamp, one.roll_deg, carried.group.colour, 0};
        full_peak = carried.group.power;
      }
  }
  Placement placement(PlaceWish wish = {}, Placement::Counts counts = {}) {
    if (wish.target.empty()) wish.target = world.subject;
    return {probe, tracer, world, base, without, wish, counts};
  }
};

// A small card that faces the lamp gets I / d^2 for a point and I / (d^2 + R^2) on the axis of a Lambertian
// disc (light from a disc, on its axis: E = pi L R^2 / (R^2 + d^2), any photometry handbook); turned by an
// angle t, times cos t. Luminance is rho E / pi. The card's own width changes E by (5 mm / 100 mm)^2, a
// quarter of a per cent.
TEST(Map, BareCardHasTheClosedForm) {
  Map map(bare + even_sky + plain_camera + torch_text + small_card(5));
  const Placement placement = map.placement();
  for (const double d : {0.1, 0.2, 0.5})
    for (const double turn : {0.0, 30.0, 60.0}) {
      const glm::dvec3 place(d * std::sin(turn * degree), -d * std::cos(turn * degree), 0);
      const PlaceFields fields =
          placement.at(map.tracer, map.lamp, map.full_peak, {place, glm::normalize(-place)}, 16);
      // On the axis the disc's exact form; off it the first order of the receiver's turn: times cos t.
      const double lux = 1 / (d * d + 0.015 * 0.015) * std::cos(turn * degree);
      EXPECT_NEAR(fields.target_cd_m2 / (0.5 / pi * lux), 1, 5e-3) << d << " m, " << turn << " deg";
    }
}

// A disc parallel to a card beside its axis: Howell's catalogue, disc to a parallel element (from memory):
// with H = h / a, R = r / a, Z = 1 + H^2 + R^2: F = (1 - (Z - 2 R^2) / sqrt(Z^2 - 4 R^2)) / 2; E = pi L F, L
// = I0 / (pi r^2). (r, h, a) = (1, 1, 1): F = .276393.
TEST(Map, NearDiscHasItsExactForm) {
  Map map(bare + even_sky + plain_camera +
          "[[source]]\nname = \"torch\"\nkind = \"torch\"\non = false\nposition_m = [0.1, -0.3, 0]\naim = "
          "[0, 0, 0]\n"
          "intensity_cd = 100\nbeam_deg = 120\ndiameter_mm = 200\n" +
          small_card(2));
  const Placement placement = map.placement();
  const double r = 0.1;
  const PlaceFields fields =
      placement.at(map.tracer, map.lamp, map.full_peak, {{0.1, -0.1, 0}, {0, 1, 0}}, 16);
  EXPECT_NEAR(fields.target_cd_m2 / (0.5 / pi * 0.276393 / (r * r)), 1, 5e-3);
}

// The rise that a power gives is log2(1 + I l / L); so the power for a rise of 1 stop doubles the target, and
// for 2 stops is three times that.
TEST(Map, PowerIsThatOfTheRise) {
  Map map(bare + even_sky + plain_camera + torch_text + small_card());
  Placement placement = map.placement();
  const LampPlace place{{0.2, -0.3, 0}, glm::normalize(glm::dvec3(-0.2, 0.3, 0))};
  const double one = placement.at(map.tracer, map.lamp, map.full_peak, place, 4).power_pct;
  placement.set_wish(2, 0.2);
  const double two = placement.at(map.tracer, map.lamp, map.full_peak, place, 4).power_pct;
  EXPECT_NEAR(two / one, 3, 1e-9);
  // An even sky of 100 lx on level ground has luminance 100 / pi, and gives half on an upright card: 50 lx.
  // 50 lx more from .36 m at 33.69 degrees take I = 50 (d^2 + R^2) / cos.
  const double cosine = 0.3 / std::hypot(0.2, 0.3), needed = 50 * (0.13 + 0.015 * 0.015) / cosine;
  EXPECT_NEAR(one, needed, 0.02 * needed);  // of 100 cd; the survey's error and the card's width
}

// A wall's straight edge before a disc that is far against its own width: the visible share of the disc is
// (acos u - u sqrt(1 - u^2)) / pi with u = edge offset / radius (geometry of a circle's segment). The wall's
// upper edge is at z = 0, .1 m before the card, the lamp .2 m before that: from a point at height z of the
// card the edge stands at -z (0.3 - 0.1) / 0.1 + ... on the lamp's plane.
TEST(Map, WallHasItsShadowAndPenumbra) {
  const std::string wall =
      "[[prop]]\nname = \"wall\"\nkind = \"card\"\nat_m = [0, -0.1, -0.5]\nnormal = [0, -1, 0]\nsize_mm = "
      "[2000, 1000]\n"
      "material.surface = { reflectance = 0, roughness = 1 }\n";
  // Seen from above the wall.
  const std::string camera =
      "[camera]\nbarrel_mm = 0\nlook_at = [0, 0, 0]\nposition_m = [0, -0.3, 0.4]\nf_number = 32\n";
  Map map(bare + even_sky + camera + torch_text + small_card(60) + wall + "[subject]\nparts = [\"card\"]\n");
  const Placement placement = map.placement({}, {.target = 512, .backdrop = 1, .foreground = 1});
  const std::vector<LampPlace> lamp{{{0, -0.3, 0}, {0, 1, 0}}};
  std::vector<SeenPoint> points;
  for (const SeenPoint& point : placement.points())
    if (std::abs(point.place_m().y) < 1e-4f) points.push_back(point);
  const std::vector<Received> got = map.probe.light(map.tracer, map.lamp, lamp, points, 16);
  int in_shadow = 0, in_penumbra = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double z = static_cast<double>(points[i].place_m().z);
    // The line from the point through the edge (y = -.1, z = 0) meets the lamp's plane (y = -.3) at -2 z.
    const double u = -2 * z / 0.015;
    const double share = u >= 1 ? 0 : u <= -1 ? 1 : (std::acos(u) - u * std::sqrt(1 - u * u)) / pi;
    if (u >= 1) {
      EXPECT_EQ(got[i].share, 0.f) << z;
      EXPECT_EQ(got[i].luminance, 0.f) << z;
      ++in_shadow;
    } else if (u <= -1) {
      EXPECT_EQ(got[i].share, 1.f) << z;
    } else {
      // Sixteen samples of the disc: a stratified share is off by some 1 / 16.
      EXPECT_NEAR(static_cast<double>(got[i].share), share, 0.13) << z;
      ++in_penumbra;
    }
    // Edges spread by the lamp's width x gap / (way before): .1 / .2.
    if (got[i].penumbra_ratio >= 0) {
      EXPECT_NEAR(static_cast<double>(got[i].penumbra_ratio), 0.5, 0.02) << z;
    }
  }
  EXPECT_GT(in_shadow, 50);
  EXPECT_GT(in_penumbra, 50);
}

// The same places in another order, or some of them alone, have the same fields, bit by bit.
TEST(Map, OrderOfPlacesMattersForNothing) {
  Map map(bare + even_sky + plain_camera + torch_text + small_card() +
          "[[prop]]\nname = \"ball\"\nkind = \"sphere\"\nat_m = [0.03, -0.05, 0.03]\ndiameter_mm = 20\n");
  const Placement placement = map.placement();
  std::vector<glm::dvec3> places = candidate_places(map.world, placement.target_middle(), {});
  places.resize(600);
  const auto forward = placement.fields(map.tracer, map.lamp, map.full_peak, places, 2);
  std::reverse(places.begin(), places.end());
  const auto back = placement.fields(map.tracer, map.lamp, map.full_peak, places, 2);
  for (std::size_t i = 0; i < forward.size(); ++i) {
    const PlaceFields &a = forward[i], &b = back[forward.size() - 1 - i];
    EXPECT_EQ(a.limits, b.limits);
    EXPECT_EQ(a.power_pct, b.power_pct);
    EXPECT_EQ(a.evenness_stops, b.evenness_stops);
  }
  const auto apart = [&](const std::vector<PlaceFields>& from) {
    return best_apart(from, placement.target_middle(), PlaceColumn::evenness, 4);
  };
  const auto one = apart(forward), two = apart(back);
  ASSERT_EQ(one.size(), two.size());
  for (std::size_t i = 0; i < one.size(); ++i) EXPECT_EQ(one[i].position_m, two[i].position_m);
}

// A set that is its own mirror image about the lens axis has a map that is. Points are samples, so that the
// two sides agree to their noise: .05 stop RMS.
TEST(Map, SymmetricSetHasASymmetricMap) {
  Map map(bare + even_sky + plain_camera + torch_text +
          "[[prop]]\nname = \"ball\"\nkind = \"sphere\"\nat_m = [0, 0, 0]\ndiameter_mm = 40\n"
          "material.surface = { reflectance = 0.5, roughness = 1 }\n");
  const Placement placement = map.placement({}, {.target = 256, .backdrop = 1, .foreground = 1});
  const std::vector<glm::dvec3> places = candidate_places(map.world, {0, 0, 0}, {});
  std::vector<glm::dvec3> mirrored;
  for (const glm::dvec3& place : places) mirrored.emplace_back(-place.x, place.y, place.z);
  const auto here = placement.fields(map.tracer, map.lamp, map.full_peak, places, 2),
             there = placement.fields(map.tracer, map.lamp, map.full_peak, mirrored, 2);
  double squares = 0;
  int count = 0;
  for (std::size_t i = 0; i < here.size(); ++i) {
    if ((here[i].limits & impossible) != 0 || here[i].lit_share < 0.3) continue;
    squares += std::pow(std::log2(here[i].power_pct / there[i].power_pct), 2);
    ++count;
    EXPECT_EQ(has(here[i].limits, PlaceLimit::flat), has(there[i].limits, PlaceLimit::flat));
  }
  ASSERT_GT(count, 500);
  EXPECT_LT(std::sqrt(squares / count), 0.05);
}

// What the camera, who holds the lamp and what stands there forbid.
TEST(Map, LimitsOfPlaces) {
  Map map(bare + even_sky +
          "[camera]\nbarrel_mm = 80\nlook_at = [0, 0, 0]\nposition_m = [0, -0.5, 0]\nfocal_length_mm = 90\n" +
          torch_text + small_card() +
          "[[prop]]\nname = \"post\"\nkind = \"box\"\nat_m = [0.3, 0, 0]\nsize_mm = [100, 100, 100]\n");
  PlaceWish wish;
  wish.hand = true;
  const Placement placement = map.placement(wish);
  struct Case {
    glm::dvec3 place;
    PlaceLimit limit;
    bool expected;
  };
  // The picture is 23.5 mm x 15.6 mm at some 100 mm image distance: 110 mm wide at .5 m.
  const Case cases[] = {
      {{0, -0.1, 0}, PlaceLimit::in_picture, true},
      {{0.04, -0.05, 0}, PlaceLimit::in_picture, true},
      {{0.15, -0.1, 0}, PlaceLimit::in_picture, false},
      {{0.3, 0, 0}, PlaceLimit::no_light, true},       // in the box
      {{0.3, 0, 0.06}, PlaceLimit::in_the_way, true},  // 19 mm of radius, 10 mm over its top
      {{0.3, 0, 0.16}, PlaceLimit::in_the_way, false},
      {{0, -0.5, 0.02}, PlaceLimit::photographer, true},  // in the lens
      {{0.1, -0.8, 0}, PlaceLimit::photographer, true},
      {{0.1, -0.3, 0.1}, PlaceLimit::photographer, false},
      {{0.03, 0.02, 0.02}, PlaceLimit::near_subject, true},
      {{0.2, 0, 0}, PlaceLimit::near_subject, false},
      {{0.1, 0.35, 0}, PlaceLimit::out_of_reach, true},  // .856 m from the pupil
      {{0.1, 0.15, 0.1}, PlaceLimit::out_of_reach, false},
      {{0.05, -0.4, 0}, PlaceLimit::flat, true},  // 7 degrees
      {{0.3, -0.2, 0}, PlaceLimit::flat, false},
      {{-0.3, -0.2, 0}, PlaceLimit::arm_in_picture, false},
  };
  for (const Case& one : cases) {
    const std::vector<glm::dvec3> places{one.place};
    const PlaceFields fields = placement.fields(map.tracer, map.lamp, map.full_peak, places, 1)[0];
    EXPECT_EQ(has(fields.limits, one.limit), one.expected)
        << limit_words(one.limit) << " at " << one.place.x << " " << one.place.y << " " << one.place.z;
  }
}

// A lamp within the frame that a post hides from the whole pupil may stay there, and is said to be hidden.
TEST(Map, HiddenLampMayStandInTheFrame) {
  Map map(bare + even_sky + plain_camera + torch_text + small_card() +
          "[[prop]]\nname = \"post\"\nkind = \"box\"\nat_m = [0, 0.05, 0]\nsize_mm = [60, 20, 60]\n");
  const Placement placement = map.placement();
  const std::vector<glm::dvec3> places{{0, 0.2, 0}, {0.06, 0.2, 0}};
  const auto fields = placement.fields(map.tracer, map.lamp, map.full_peak, places, 1);
  EXPECT_TRUE(fields[0].hidden);
  EXPECT_FALSE(has(fields[0].limits, PlaceLimit::in_picture));
  EXPECT_FALSE(fields[1].hidden);
  EXPECT_TRUE(has(fields[1].limits, PlaceLimit::in_picture));
}

PlaceFields standing(double power, double spill, double uneven, const glm::dvec3& place) {
  PlaceFields one;
  one.position_m = place;
  one.power_pct = power;
  one.backdrop_stops = spill;
  one.evenness_stops = uneven;
  one.distance_m = one.nearest_m = glm::length(place);
  return one;
}

// Beaten is what another place is at least equal to in all three, to .02 stop, and better in one.
TEST(Choice, UnbeatenPlaces) {
  const std::vector<PlaceFields> places{
      standing(10, 0.10, 1.0, {0.1, 0, 0}),    standing(20, 0.10, 1.0, {0.2, 0, 0}),  // twice the power
      standing(20, 0.05, 1.0, {0.3, 0, 0}),    standing(40, 0.05, 0.5, {0.4, 0, 0}),
      standing(10.05, 0.10, 1.0, {0.5, 0, 0}),  // .007 stop more: equal
  };
  const auto best = unbeaten(places);
  ASSERT_EQ(best.size(), 4u);
  EXPECT_EQ(best[0].position_m.x, 0.1);
  EXPECT_EQ(best[1].position_m.x, 0.3);
  EXPECT_EQ(best[2].position_m.x, 0.4);
  EXPECT_EQ(best[3].position_m.x, 0.5);
}

// 130 % of the power is log2 1.3 = .38 stop too weak; .17 stop of spill too much is the smaller step, even in whole tenths.
TEST(Choice, SmallestStepIsRelaxedFirst) {
  const World world = world_of(bare + plain_camera + small_card());
  std::vector<PlaceFields> places{standing(130, 0.1, 1, {0.1, 0, 0}), standing(50, 0.37, 1, {0.2, 0, 0}),
                                  standing(50, 0.1, 1, {0.3, 0, 0})};
  places[0].limits = places[0].limits | PlaceLimit::power;
  places[1].limits = places[1].limits | PlaceLimit::spill;
  places[2].limits = places[2].limits | PlaceLimit::in_the_way;  // cannot be helped
  const auto relaxing = relax_first(places, {}, world);
  ASSERT_TRUE(relaxing);
  ASSERT_EQ(relaxing->steps.size(), 1u);
  EXPECT_EQ(relaxing->steps[0].limit, PlaceLimit::spill);
  EXPECT_DOUBLE_EQ(relaxing->steps[0].from, 0.2);
  EXPECT_DOUBLE_EQ(relaxing->steps[0].to, 0.5);  // whole tenths, half a one more
  places.erase(places.begin(), places.begin() + 2);
  EXPECT_FALSE(relax_first(places, {}, world));
}

}  // namespace
}  // namespace undercap
