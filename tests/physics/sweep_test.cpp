// Sweeps: what is held is held in the scene and in the picture, and what shares samples comes out as it would
// alone.
#include "engine/session/sweep.h"

#include <fmt/format.h>

#include <cmath>
#include <glm/geometric.hpp>

#include "engine/core/errors.h"
#include "engine/optics/depth.h"
#include "engine/render/aperture_rings.h"
#include "engine/session/backdrop_help.h"
#include "engine/session/sweep_page.h"
#include "engine/session/sweep_plan.h"
#include "tests/physics/bench_top.h"
#include "tests/physics/statistics.h"

namespace undercap {
namespace {

const Progress go_on = [](double) { return true; };

// A pale card in focus between a dark and a striped backdrop far behind, under an even sky and a torch.
const std::string cards = R"([ground]
kind = "none"
[sky]
model = "uniform"
horizontal_lx = 1000
[exposure]
iso = 100
white_balance_k = 6500
noise = false
diffraction = false
[subject]
parts = ["card"]
[camera]
format_mm = [36, 24]
focal_length_mm = 60
f_number = 4
barrel_mm = 0
position_m = [0, -0.4, 0]
look_at = [0, 0, 0]
[[source]]
name = "torch"
kind = "torch"
position_m = [-0.1, -0.3, 0.1]
aim = [0, 0, 0]
flux_lm = 20
[[prop]]
name = "card"
kind = "card"
at_m = [0, 0, 0]
size_mm = [40, 30]
material.surface = { reflectance = 0.6 }
[[prop]]
name = "stripe"
kind = "card"
at_m = [0.05, 0.3, 0]
size_mm = [60, 400]
material.surface = { reflectance = 0.8 }
[[prop]]
name = "wall"
kind = "card"
at_m = [0, 0.5, 0]
size_mm = [3000, 3000]
material.surface = { reflectance = 0.05 }
)";

SceneFile file_of(const std::string& text) {
  test_shaders();
  return SceneFile::from_text("undercap = 1\n" + text, test_folder() + "/sweep.toml");
}

std::vector<SweepEntry> entries_of(const std::string& text, const SweepWish& wish, int side = 72) {
  const SceneFile file = file_of(text);
  std::vector<std::string> notes;
  const SweepPlan plan = sweep_plan(wish, file.scene());
  return sweep_entries(
      [&](const std::string& variant) {
        SceneFile one = file;
        if (!variant.empty()) one.use_variant(variant);
        return one;
      },
      plan, side, std::nullopt, notes);
}

SweepResult swept(const std::vector<SweepEntry>& entries,
                  SweepRequest request = {.quality = Quality::draft}) {
  const auto result = run_sweep(test_shaders(), entries, request, go_on);
  EXPECT_TRUE(result.has_value());
  return result.value_or(SweepResult{});
}

// The middle of a picture's light, pixels from its left and upper edge.
glm::dvec2 middle_of(const Picture8& picture) {
  glm::dvec2 sum{0};
  double all = 0;
  for (int y = 0; y < picture.height; ++y)
    for (int x = 0; x < picture.width; ++x) {
      const double light = picture.rgb[pixel_index(picture, x, y)];
      sum += light * glm::dvec2(x + 0.5, y + 0.5);
      all += light;
    }
  return sum / all;
}

// Samples of a wide pupil taken at once, and as a middle with rings around it: the same mean in each tile of
// 2 x 2 pixels, by Welch's test over twelve seeds, at each of six f-numbers a stop apart.
TEST(ApertureRings, GiveWhatSeparateRendersGive) {
  constexpr int seeds = 12, tile = 2;
  constexpr unsigned samples = 16;
  const double stops[] = {16, 11.314, 8, 5.657, 4, 2.828};
  // The stripe shines, so that next to nothing but its blur makes noise.
  std::string text = cards;
  const std::string pale = "material.surface = { reflectance = 0.8 }";
  text.replace(text.find(pale), pale.size(), "material.surface = { emission_cd_m2 = 3000 }");
  World world = world_of(text);
  // Of the frame a quarter, where the stripe's edges lie: discs of up to 8 pixels.
  const View view{.width = 48, .height = 32, .window = {0.5f, 0.4f, 0.25f, 0.25f}};
  const std::size_t tiles = (48 / tile) * (32 / tile);
  using Means = std::vector<std::vector<double>>;  // by tile, of each seed
  std::vector<Means> alone(std::size(stops), Means(tiles)), ringed = alone;
  const auto add = [&](const SampledPicture& picture, Means& into) {
    const auto means = group_means(picture.sums, view.pixels(), 3, picture.samples);
    const std::vector<float> mix = mixed(mix_of(world), means);
    std::vector<double> sums(tiles);
    for (std::size_t p = 0; p < view.pixels(); ++p)
      sums[p / 48 / tile * (48 / tile) + p % 48 / tile] += static_cast<double>(mix[3 * p + 1]);
    for (std::size_t t = 0; t < tiles; ++t) into[t].push_back(sums[t]);
  };
  Tracer tracer(test_shaders(), world);
  ASSERT_EQ(tracer.groups(), 3);
  for (unsigned seed = 0; seed < seeds; ++seed) {
    std::optional<SampledPicture> film;
    for (std::size_t k = 0; k < std::size(stops); ++k) {
      world.scene.camera.f_number = stops[k];
      Scene scene = world.scene;
      update_camera(world, scene);
      tracer.move_camera(world);
      add(*sample_picture(tracer, view, samples, 1000 + seed, go_on), alone[k]);
      View ring = view;
      if (k > 0) ring.hole = 1 - ring_share(stops[k], stops[k - 1]);
      const unsigned own = k == 0 ? samples : ring_samples(1 - ring.hole, samples);
      const auto part = sample_picture(tracer, ring, own, 7 + seed * 100 + static_cast<unsigned>(k), go_on);
      film = k == 0 ? *part : with_ring(*film, *part, 1 - ring.hole);
      add(*film, ringed[k]);
    }
  }
  Verdicts verdicts;
  double variance_alone = 0, variance_ringed = 0;
  for (std::size_t k = 0; k < std::size(stops); ++k)
    for (std::size_t t = 0; t < tiles; ++t) {
      verdicts.add(welch_chance(alone[k][t], ringed[k][t]), fmt::format("f/{:g}, tile {}", stops[k], t));
      const auto spread = [](const std::vector<double>& values) {
        double mean = 0, squares = 0;
        for (const double value : values) mean += value / seeds;
        for (const double value : values) squares += (value - mean) * (value - mean) / (seeds - 1);
        return squares / (mean * mean);
      };
      variance_alone += spread(alone[k][t]);
      variance_ringed += spread(ringed[k][t]);
    }
  EXPECT_TRUE(verdicts.hold());
  // Here all noise is blur, where the even samples of one pupil gain on those of its pieces (measured 1.6);
  // in a wood, where most noise is light between leaves, the errors are alike.
  EXPECT_LT(std::sqrt(variance_ringed / variance_alone), 2);
}

// Six stops: 1 + 5 x (1/2) / (2 - 1/2) = 2.67 pictures' samples, 64 each; counts are even.
TEST(ApertureRings, SixStopsCostTwoAndTwoThirdsPictures) {
  unsigned all = 64;
  for (int k = 0; k < 5; ++k) all += ring_samples(ring_share(4, 4 * std::sqrt(2)), 64);
  EXPECT_LE(all / 64., 2.72);
  EXPECT_NEAR(ring_share(4, 8), 0.75, 1e-12);
  EXPECT_EQ(ring_samples(1e-6, 64), 2u);
}

// Power, colour and shutter time: bytes as of a sweep of that picture alone, from one picture's rays.
TEST(Sweeps, LightIsMixedFromOneFilm) {
  for (const char* vary : {"source.torch.power_pct=100,25,3", "source.torch.cct_k=3000,6500",
                           "exposure.shutter_s=0.01,0.1", "exposure.compensation_stops=-1,1"}) {
    SCOPED_TRACE(vary);
    const auto entries = entries_of(cards, {.vary = {vary}});
    const SweepResult all = swept(entries);
    const double pixels = 72 * 48;
    EXPECT_EQ(all.camera_rays, pixels * 16);
    EXPECT_EQ(all.camera_rays_alone, pixels * 16 * static_cast<double>(entries.size()));
    for (std::size_t i = 0; i < entries.size(); ++i) {
      const SweepResult one = swept({entries[i]});
      EXPECT_EQ(one.pictures[0].rgb, all.pictures[i].rgb) << entries[i].name;
      EXPECT_EQ(one.headlines[0].shutter_s, all.headlines[i].shutter_s) << entries[i].name;
    }
  }
}

// What a lamp's place or the set changes is sampled anew.
TEST(Sweeps, WhatMovesHasFilmsOfItsOwn) {
  for (const char* vary : {"distance_cm.torch=20,40", "prop.card.visible=true,false", "lens=40,60",
                           "sky.model=\"uniform\",\"off\""}) {
    SCOPED_TRACE(vary);
    const auto entries = entries_of(cards, {.vary = {vary}});
    const SweepResult all = swept(entries);
    EXPECT_EQ(all.camera_rays, all.camera_rays_alone);
    for (std::size_t i = 0; i < entries.size(); ++i)
      EXPECT_EQ(swept({entries[i]}).pictures[0].rgb, all.pictures[i].rgb) << entries[i].name;
  }
}

// Inverse square: twice as far is two stops less, to 1 % from five lamp widths on. The light of the torch
// alone, from small receivers' view: the subject's mean, so to 3 %.
TEST(Sweeps, ALampTwiceAsFarGivesAQuarter) {
  const std::string text =
      "[ground]\nkind = \"none\"\n[sky]\nmodel = \"off\"\n" + cards.substr(cards.find("[exposure]"));
  std::string small = text;
  small.replace(small.find("size_mm = [40, 30]"), 18, "size_mm = [6, 6]");
  const SweepResult result =
      swept(entries_of(small, {.vary = {"distance_cm.torch=25,50,100"}}), {.quality = Quality::good});
  ASSERT_TRUE(result.headlines[0].light_lx && result.headlines[1].light_lx && result.headlines[2].light_lx);
  EXPECT_NEAR(result.headlines[0].light_lx->value / result.headlines[1].light_lx->value, 4, 0.06);
  EXPECT_NEAR(result.headlines[1].light_lx->value / result.headlines[2].light_lx->value, 4, 0.06);
}

// Held in the scene to 1e-6: the field at the plane in focus and its middle.
TEST(Holds, FramingHoldsTheFieldInFocus) {
  const SweepResult result =
      swept(entries_of(cards, {.vary = {"lens=24,35,60,100,180"}, .hold = {Held::framing}}, 24));
  const CameraRig& first = result.rigs.front();
  for (const CameraRig& rig : result.rigs) {
    EXPECT_NEAR(rig.width.value() / rig.magnification, first.width.value() / first.magnification, 1e-9);
    EXPECT_LT(glm::distance(rig.focus_point_m, first.focus_point_m), 1e-9);
    EXPECT_LT(glm::distance(rig.forward, first.forward), 1e-9);
  }
}

// And in the picture to half a pixel: a small bright patch in the plane in focus, off the middle, stays where
// it is while the camera goes from .16 to 1.2 m.
TEST(Holds, FramingHoldsThePictureToHalfAPixel) {
  const std::string patch = R"([ground]
kind = "none"
[sky]
model = "off"
[exposure]
iso = 100
shutter_s = 0.01
white_balance_k = 6500
noise = false
diffraction = false
[camera]
format_mm = [36, 24]
focal_length_mm = 60
f_number = 8
barrel_mm = 0
position_m = [0, -0.4, 0]
look_at = [0, 0, 0]
[[prop]]
name = "patch"
kind = "card"
at_m = [0.06, 0, 0.03]
size_mm = [6, 6]
material.surface = { emission_cd_m2 = 2000 }
)";
  const SweepResult result =
      swept(entries_of(patch, {.vary = {"lens=24,60,180"}, .hold = {Held::framing}}, 192));
  const glm::dvec2 first = middle_of(result.pictures.front());
  // 36 mm lens axis to (60, 30) mm at the scale of the 60 mm lens at .4 m: m = 1 / (400/60 - 1) = .17647.
  EXPECT_NEAR(first.x, 96 + 60 * .17647 / 36 * 192, 0.5);
  EXPECT_NEAR(first.y, 64 - 30 * .17647 / 24 * 128, 0.5);
  for (const Picture8& picture : result.pictures) EXPECT_LT(glm::distance(middle_of(picture), first), 0.5);
}

TEST(Holds, ViewpointHoldsPlaceDirectionAndPlaneInFocus) {
  const SweepResult result =
      swept(entries_of(cards, {.vary = {"lens=35,60,100"}, .hold = {Held::viewpoint}}, 24));
  const CameraRig& first = result.rigs.front();
  for (const CameraRig& rig : result.rigs) {
    EXPECT_LT(glm::distance(rig.pupil_m, first.pupil_m), 1e-9);
    EXPECT_NEAR(rig.pupil_distance.value(), first.pupil_distance.value(), 1e-9);
  }
}

// Depth of field to 1e-6, by the f-number alone.
TEST(Holds, DepthIsHeldByTheFNumber) {
  const SweepResult result =
      swept(entries_of(cards, {.vary = {"camera.magnification=0.15,0.2,0.3"}, .hold = {Held::depth}}, 24));
  const auto total = [](const CameraRig& rig) {
    const Length circle = SensorFormat{rig.width, rig.height}.diagonal() / 1500;
    return depth_of_field(rig.lens, rig.magnification, circle).total().value().value();
  };
  const World base = world_of(cards);
  for (const CameraRig& rig : result.rigs) EXPECT_NEAR(total(rig) / total(base.camera), 1, 1e-6);
  EXPECT_GT(result.rigs[2].lens.f_number, 3 * result.rigs[0].lens.f_number);
}

// Each picture is metered: mean exposures 10 / S to 1 %, over four stops of aperture (mid-grey H = 10 / S,
// ISO 12232). H = (pi / 4) T t L / N_w^2, with the mean luminance of the film by its own cos^4.
TEST(Holds, BrightnessIsHeldToOnePerCent) {
  const auto entries =
      entries_of(cards, {.vary = {"camera.f_number=4,8,16"}, .hold = {Held::framing, Held::brightness}}, 96);
  const SweepResult result = swept(entries, {.quality = Quality::good});
  std::vector<double> means;
  for (const Picture8& picture : result.pictures) {
    double sum = 0;
    for (const std::uint8_t code : picture.rgb) {
      const double v = code / 255.;  // IEC 61966-2-1
      sum += v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
    }
    means.push_back(sum / static_cast<double>(picture.rgb.size()));
  }
  for (const double mean : means) EXPECT_NEAR(mean / means.front(), 1, 0.01);
}

// The height of the lens axis above the ground under the pupil, with subject and scale as before: 10, 6 and
// 3 cm to 1e-6 m. 100 mm at W = 144 mm on 36 mm (m = .25): a = 100 (1/.25 + 1) = 500 mm. The upper edge of
// the frame, 12 mm high on the sensor at 125 mm, meets the ground: at 10 cm aimed at 4 cm the axis falls
// 60 / 500, at 6.8 degrees; the edge rises 5.48 above it, so that it falls 1.37 degrees and meets the ground
// 4.2 m from the pupil; from 6 cm, falling 2.3 degrees, it rises and meets none.
TEST(Holds, AxisHeightTurnsTheCameraAboutWhatIsInFocus) {
  std::string text = cards;
  text.replace(text.find("focal_length_mm = 60"), 20, "focal_length_mm = 100");
  text.replace(text.find("position_m = [0, -0.4, 0]"), 25, "position_m = [0, -0.5, 0.04]");
  text.replace(text.find("look_at = [0, 0, 0]"), 19, "look_at = [0, 0, 0.04]\nmagnification = 0.25");
  const SweepResult result = swept(entries_of(text, {.vary = {"axis_height_cm=10,6,3"}}, 24));
  const double heights[] = {.10, .06, .03};
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_NEAR(result.rigs[i].axis_height.value(), heights[i], 1e-6);
    EXPECT_NEAR(result.rigs[i].magnification, 0.25, 1e-9);
    EXPECT_NEAR(result.rigs[i].pupil_distance.value(), 0.5, 1e-9);
  }
  const auto upper_edge_meets_m = [&](const CameraRig& rig) {
    const double falls = std::asin(-rig.forward.z) - std::atan(12. / 125);
    return falls > 0 ? rig.pupil_m.z / std::tan(falls) : 0;
  };
  EXPECT_NEAR(upper_edge_meets_m(result.rigs[0]), 4.2, 0.05 * 4.2);
  EXPECT_EQ(upper_edge_meets_m(result.rigs[1]), 0);
}

// Equal entrance pupils on 17.3 and 36 mm at a framed width of 144 mm: f/8 and f/14.9 (k = 36 / 17.3,
// N' = N k (1 + m) / (1 + k m), m = 17.3 / 144), the same blur as a share of the frame.
TEST(Holds, FormatsOfTheSamePupilTakeTheSamePicture) {
  std::string text = cards;
  text.replace(text.find("format_mm = [36, 24]"), 20, "format_mm = [17.3, 13]\nmagnification = 0.120139");
  text.replace(text.find("f_number = 4"), 12, "f_number = 8");
  const auto entries =
      entries_of(text, {.vary = {"format=17.3x13,36x27.05"}, .same = "pupil", .match = "width"}, 96);
  const SweepResult result = swept(entries, {.quality = Quality::good});
  EXPECT_NEAR(result.rigs[1].lens.f_number, 14.9, 0.05);
  const auto& a = result.pictures[0].rgb;
  const auto& b = result.pictures[1].rgb;
  ASSERT_EQ(a.size(), b.size());
  double off = 0;
  for (std::size_t i = 0; i < a.size(); ++i) off += std::abs(double{a[i] / 1.} - double{b[i] / 1.});
  EXPECT_LT(off / static_cast<double>(a.size()), 2.0);  // codes; of noise
}

// A card of reflectance .6 before a wall of .5: log2(.6 / .5) = .26 stop. Dark wood behind it, luminous
// reflectance .2126 x .055 + .7152 x .043 + .0722 x .030 = .0446: log2(.6 / .0446) = 3.75. Card and wood face
// the same half of an even sky; the wood, 25 cm behind, loses under a tenth of it to the card.
TEST(Help, DarkWoodBehindRaisesTheRimByWhatItsReflectanceSays) {
  const std::string from = "reflectance = 0.05", text = [&] {
    std::string wall = cards.substr(0, cards.find("[[source]]")) + cards.substr(cards.find("[[prop]]"));
    wall.replace(wall.find(from), from.size(), "reflectance = 0.5");
    const std::size_t stripe = wall.find("[[prop]]\nname = \"stripe\"");
    return wall.erase(stripe, wall.find("[[prop]]\nname = \"wall\"") - stripe);
  }();
  const auto helps = what_helps_most(test_shaders(), file_of(text).scene(), go_on);
  ASSERT_TRUE(helps && helps->as_set.rim_stops);
  EXPECT_NEAR(helps->as_set.rim_stops->value, 0.26, 0.15);
  ASSERT_FALSE(helps->tried.empty());
  const BackdropHelp& best = helps->tried.front();
  EXPECT_NE(best.words.find("dark piece of wood"), std::string::npos) << best.words;
  ASSERT_TRUE(best.rim_stops.has_value());
  EXPECT_NEAR(best.rim_stops->value, 3.75, 0.25);
  EXPECT_EQ(help_words(*helps).size(), helps->tried.size());
}

// The part in the box is what a picture so wide would have there: its share of the frame, its place.
TEST(Details, AreACutOfALargerPicture) {
  const auto entries = entries_of(cards, {.vary = {"camera.f_number=8"}}, 72);
  const DetailBox box{.middle = std::array{0.5, 0.5}, .width = 24, .height = 16, .picture_width = 144};
  const SweepResult result = swept(entries, {.quality = Quality::good, .detail = box});
  EXPECT_NEAR(result.windows[0].z, 24. / 144, 1e-6);
  EXPECT_NEAR(result.windows[0].x, 0.5 - 12. / 144, 1e-6);
  const auto large = entries_of(cards, {.vary = {"camera.f_number=8"}}, 144);
  const SweepResult whole = swept(large, {.quality = Quality::good});
  double sum_cut = 0, sum_detail = 0;
  for (int y = 0; y < 16; ++y)
    for (int x = 0; x < 24; ++x) {
      sum_cut += whole.pictures[0].rgb[pixel_index(whole.pictures[0], 60 + x, 40 + y)];
      sum_detail += result.details[0].rgb[pixel_index(result.details[0], x, y)];
    }
  EXPECT_NEAR(sum_detail / sum_cut, 1, 0.01);
}

}  // namespace
}  // namespace undercap
