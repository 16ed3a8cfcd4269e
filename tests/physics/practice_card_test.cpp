// Cards as a photographer holds them: white, black and foil under a cap, and what their search says.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/scene/load.h"
#include "engine/session/place_card.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

// Gills of 3 cm that look down and toward the camera, under a black cap of 6 cm, 5 cm over dark litter.
// 'card' is the card's material.
Scene under_a_cap(const std::string& sky, const std::string& card) {
  return SceneFile::from_text(
             "undercap = 1\n" + sky +
                 "[camera]\nposition_m = [0, -0.5, 0.0]\nlook_at = [0, 0, 0.05]\nfocal_length_mm = "
                 "120\nf_number = "
                 "16\nbarrel_mm = 0\n[subject]\nparts = [\"gills\"]\n[ground]\nrelief_mm = 0\nreflectance = "
                 "0.1\n"
                 "[[prop]]\nname = \"gills\"\nkind = \"disc\"\nat_m = [0, 0, 0.05]\nnormal = [0, -0.5, "
                 "-0.866]\n"
                 "diameter_mm = 30\nmaterial.surface = { reflectance = 0.5, roughness = 1 }\n"
                 "[[prop]]\nname = \"cap\"\nkind = \"disc\"\nat_m = [0, 0.012, 0.066]\nnormal = [0, 0, 1]\n"
                 "diameter_mm = 60\nmaterial.surface = { reflectance = 0, roughness = 1 }\n"
                 "[[prop]]\nname = \"card\"\nkind = \"card\"\nat_m = [0, 0, 1]\nsize_mm = [210, "
                 "148]\nvisible = false\n"
                 "material.surface = { " +
                 card + " }\n",
             "cards.toml")
      .scene();
}
const std::string even = "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n";
const std::string gap = "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 20000\n[canopy]\ngap_deg = 20\n";
const std::string white = "reflectance = 0.9, roughness = 1", black = "reflectance = 0.04, roughness = 1",
                  foil = "mirror = 0.9, roughness = 0.05";

CardResult placed(const Scene& scene, double least_cm = 3) {
  Session session(test_shaders(), scene_without_card(scene, "card"), Quality::draft);
  CardRequest request{.card = "card", .offers = 2, .quality = Quality::draft, .width = 48, .height = 32};
  request.wish.nearest_m = least_cm / 100;
  request.wish.spill_stops = 4;
  return *run_place_card(test_shaders(), session, scene, request, [](double) { return true; });
}

// The gills' mean luminance in a set of its own, by other samples; with the card at a place, or without.
Estimate gills(Scene scene, const CardPlace* place) {
  for (Prop& prop : scene.props) {
    if (prop.name != "card" || !place) continue;
    prop.visible = true;
    prop.at_m = {place->position_m.x, place->position_m.y};
    prop.at_z_m = place->position_m.z;
    prop.values["normal"] = std::array<double, 3>{place->normal.x, place->normal.y, place->normal.z};
  }
  scene.seed += 7;
  const World world = build_world(scene);
  Tracer tracer(test_shaders(), world);
  const Survey survey = take_survey(tracer, world, 2, false, [](double) { return true; });
  return *mean_luminance(survey.subject, mix_of(world));
}

// What the search says of a place is what a set with the card there gives: to 4 standard errors of both
// renders.
void expect_rendered_alike(const Scene& scene, const CardPlace& place) {
  const Estimate without = gills(scene, nullptr), with = gills(scene, &place);
  const double stops = std::log2(with.value / without.value),
               se = std::hypot(with.se / with.value, without.se / without.value) / std::log(2.0);
  EXPECT_NEAR(place.target->value, stops, 4 * std::hypot(se, place.target->se)) << place.edge_m;
}

// A white card lifts an underside; a nearer one shows in the picture, and that is said. How much it lifts by
// its distance is held in set_up_test.cpp.
TEST(Card, WhiteLiftsAnUnderside) {
  const Scene scene = under_a_cap(even, white);
  const CardResult result = placed(scene);
  EXPECT_EQ(result.use, CardUse::white);
  ASSERT_FALSE(result.offers.empty());
  EXPECT_GT(result.offers[0].target->value, 0.3);
  EXPECT_FALSE(result.offers[0].turned_stops);
  for (const CardPlace& place : result.offers) expect_rendered_alike(scene, place);
  const auto shows = [](const CardPlace& place) { return has(place.limits, PlaceLimit::in_picture); };
  EXPECT_TRUE(std::any_of(result.places.begin(), result.places.end(), shows));
}

// A black card beside the subject stands where litter and sky were: .15 to .35 stop off an underside (common
// practice, no source), more where it covers most of what the gills see.
TEST(Card, BlackTakesLightAway) {
  const Scene scene = under_a_cap(even, black);
  const CardResult result = placed(scene);
  EXPECT_EQ(result.use, CardUse::black);
  const CardPlace* most = nullptr;
  for (const CardPlace& place : result.places)
    if (place.target && (!most || place.target->value < most->target->value)) most = &place;
  ASSERT_TRUE(most);
  EXPECT_LT(most->target->value, -0.15);
  EXPECT_GT(most->target->value, -0.8);
  expect_rendered_alike(scene, *most);
}

// Under one gap overhead a foil that mirrors the gap sends two stops or more above what a white card in its
// place sends; turned by 20 degrees, which turns the ray by 40, it falls below the card, and is called
// aim-critical.
TEST(Card, FoilIsAimCritical) {
  const CardResult result = placed(under_a_cap(gap, foil));
  EXPECT_EQ(result.use, CardUse::silver);
  ASSERT_FALSE(result.offers.empty());
  const CardPlace& best = result.offers[0];
  ASSERT_TRUE(best.turned_stops);
  EXPECT_TRUE(best.aim_critical);
  // A white card in the foil's own place.
  const Scene sheet = under_a_cap(gap, white);
  const double without = gills(sheet, nullptr).value, with_sheet = gills(sheet, &best).value - without,
               with_foil = without * (std::exp2(best.target->value) - 1),
               turned = without * (std::exp2(*best.turned_stops) - 1);
  EXPECT_GT(std::log2(with_foil / std::max(with_sheet, 1e-9)), 2.0) << with_foil << " against " << with_sheet;
  EXPECT_LT(turned, with_sheet);
}

}  // namespace
}  // namespace undercap
