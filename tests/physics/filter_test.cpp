// The display filter: it takes noise away, and nothing else.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <tuple>

#include "engine/colour/spaces.h"
#include "engine/core/errors.h"
#include "engine/render/picture_job.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

// A picture as display codes 0..255 that are not rounded, one channel a number.
using Codes = std::vector<double>;

struct Shot {
  View view;
  Film film;
  unsigned samples;
};

Shot shoot(const World& world, Tracer& tracer, const View& view, unsigned samples, std::uint32_t seed = 1) {
  Shot shot{view, tracer.make_film(view), samples};
  for (std::uint32_t half = 0; half < 2; ++half)
    for (unsigned i = 0; i < samples / 2; i += 8)
      tracer.sample(view, shot.film,
                    {.index = i, .count = std::min(8u, samples / 2 - i), .half = half, .seed = seed});
  UNDERCAP_CHECK(world.scene.seed == 1, "features are taken with the seed of the scene");
  return shot;
}

std::vector<float> raw_mix(const World& world, const Shot& shot) {
  return mixed(mix_of(world), group_means(shot.film.read(), shot.view.pixels(),
                                          static_cast<int>(world.groups.size()), shot.samples));
}

// One half of a film alone.
std::vector<float> half_mix(const World& world, const Shot& shot, int half) {
  std::vector<float> sums = shot.film.read();
  const auto middle = static_cast<std::ptrdiff_t>(sums.size() / 2);
  if (half == 0)
    std::copy(sums.begin(), sums.begin() + middle, sums.begin() + middle);
  else
    std::copy(sums.begin() + middle, sums.end(), sums.begin());
  return mixed(mix_of(world),
               group_means(sums, shot.view.pixels(), static_cast<int>(world.groups.size()), shot.samples));
}

std::vector<float> filtered_mix(const World& world, Tracer& tracer, const Shot& shot,
                                const Development& how) {
  const DisplayFilter filter(test_shaders(), tracer);
  const std::vector<float> sums =
      filter
          .run(world, shot.view, shot.film, filter.features(tracer, world, shot.view, shot.samples),
               shot.samples, how)
          .read();
  std::vector<float> mix(sums.size() / 2);
  for (std::size_t i = 0; i < mix.size(); ++i) mix[i] = 0.5f * (sums[i] + sums[i + mix.size()]);
  return mix;
}

double mean(const std::vector<float>& mix) {
  double sum = 0;
  for (const float x : mix) sum += static_cast<double>(x);
  return sum / static_cast<double>(mix.size());
}

// Exposed so that 'grey' is mid-grey.
Development development_for(const World& world, double grey_luminance) {
  return {.shutter = Duration(0.1 / (exposure_per_luminance(world, 1_s).value() * grey_luminance)),
          .iso = 100};
}

Codes codes(const std::vector<float>& mix, double grey_luminance) {
  Codes shown(mix.size());
  for (std::size_t i = 0; i < mix.size(); ++i)
    shown[i] = 255 * srgb_encode(std::clamp(0.18 * static_cast<double>(mix[i]) / grey_luminance, 0.0, 1.0));
  return shown;
}

double root_mean_square(const Codes& a, const Codes& b) {
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += (a[i] - b[i]) * (a[i] - b[i]);
  return std::sqrt(sum / static_cast<double>(a.size()));
}

// 17.3 x 13 mm, 60 mm f/2.8 at m 0.5, looking along +y at the origin: the entrance pupil is 180 mm from the
// plane in focus and 21.43 mm wide. No sky: what is seen glows, and its reflectance is there for the features
// alone.
const std::string lens = bare + no_sky +
                         "[camera]\nformat_mm = [17.3, 13.0]\nfocal_length_mm = 60\nf_number = "
                         "2.8\nposition_m = [0.0, -0.5, 0.0]\nlook_at = [0.0, 0.0, 0.0]\nmagnification = "
                         "0.5\nblades = 0\nbarrel_mm = 0\ntransmission = 1\n";

// A card that faces the camera, from x = 'from' to 'to', mm, 'behind' the plane in focus.
std::string card(const std::string& name, double from_mm, double to_mm, double behind_mm, double luminance,
                 double reflectance) {
  return fmt::format(
      "[[prop]]\nname = \"{}\"\nkind = \"card\"\nat_m = [{:.6f}, {:.6f}, 0.0]\nsize_mm = [{}, 800]\n"
      "material.surface = {{ reflectance = {}, emission_cd_m2 = {} }}\n",
      name, (from_mm + to_mm) * 0.5e-3, behind_mm * 1e-3, to_mm - from_mm, reflectance, luminance);
}

constexpr double dark = 20, bright = 100;

// A blurred edge in the middle of the picture: columns' means in codes, filtered from few samples, and exact.
// An edge through the middle of an even disc of diameter b shows 1/2 + (t sqrt(1 - t^2) + asin t) / pi of the
// right side at t = 2 x / b from it.
struct Profile {
  std::vector<double> filtered, exact;
};

Profile profile_of(const std::string& cards, double blur_mm, unsigned samples) {
  constexpr int width = 96, height = 48;
  const World world = world_of(lens + cards);
  Tracer tracer(test_shaders(), world);
  const Shot shot = shoot(world, tracer, {.width = width, .height = height}, samples);
  const Codes shown = codes(filtered_mix(world, tracer, shot, development_for(world, bright)), bright);
  Profile profile;
  for (int x = 0; x < width; ++x) {
    double sum = 0;
    for (int y = 0; y < height; ++y) sum += shown[static_cast<std::size_t>((y * width + x) * 3 + 1)];
    profile.filtered.push_back(sum / height);
    const double t = std::clamp((x + 0.5 - width / 2.0) * 17.3 / width * 2 / blur_mm, -1.0, 1.0);
    const double share = 0.5 + (t * std::sqrt(1 - t * t) + std::asin(t)) / std::numbers::pi;
    profile.exact.push_back(255 * srgb_encode(0.18 * (dark + share * (bright - dark)) / bright));
  }
  return profile;
}

// A filter led by features of the lens's middle makes a step where that middle changes sides: 1.7 and 3.5
// times the true slope at 16 and 4 samples (measured), and leaves the true profile by 1.4 and 5.7 codes.
void expect_no_invented_edge(const std::string& cards, double blur_mm) {
  for (const auto& [samples, steeper, codes_off] : {std::tuple{16u, 1.5, 1.25}, {4u, 2.0, 4.0}}) {
    const Profile profile = profile_of(cards, blur_mm, samples);
    double steepest = 0, exact = 0, off = 0;
    for (std::size_t x = 1; x < profile.exact.size(); ++x) {
      steepest = std::max(steepest, profile.filtered[x] - profile.filtered[x - 1]);
      exact = std::max(exact, profile.exact[x] - profile.exact[x - 1]);
      off = std::max(off, std::abs(profile.filtered[x] - profile.exact[x]));
    }
    EXPECT_LE(steepest, steeper * exact) << samples;
    EXPECT_LE(off, codes_off) << samples;
  }
}

// A near card 60 mm in front of the plane in focus hides the left half of a wall in it, on which there is a
// hard edge that no part of the lens sees: b = m d 60 / 120 = 5.357 mm, 30 pixels.
TEST(Filter, NothingHiddenBehindANearBlurDisc) {
  expect_no_invented_edge(card("near", -200, 0, -60, dark, 0) + card("wall", -12, 200, 0, bright, 0.7) +
                              card("hidden", -200, -12, 0, 4 * bright, 0.3),
                          5.357);
}

// Two cards 200 mm behind meet in a hard edge: b = m d 200 / 380 = 5.639 mm.
TEST(Filter, NoEdgeInsideAFarBlurDisc) {
  expect_no_invented_edge(card("left", -500, 0, 200, dark, 0.1) + card("right", 0, 500, 200, bright, 0.7),
                          5.639);
}

// b = m d 50 / 230 = 2.3292 mm is 12.925 of 96 pixels; the inverse distance is 180 / 230 in units of the
// plane in focus; the normal looks at the camera.
TEST(Filter, FeaturesOfACardBehind) {
  const World world = world_of(lens + card("card", -200, 200, 50, bright, 0.36));
  Tracer tracer(test_shaders(), world);
  const DisplayFilter filter(test_shaders(), tracer);
  const View view{.width = 96, .height = 16};
  std::vector<glm::vec4> texel(view.pixels() * 3);
  filter.features(tracer, world, view, 8).read(std::as_writable_bytes(std::span(texel)));
  for (std::size_t p = 0; p < view.pixels(); ++p) {
    EXPECT_NEAR(texel[3 * p].y, -1, 1e-6);
    EXPECT_NEAR(texel[3 * p + 1].x, 0.6, 1e-6);
    EXPECT_NEAR(texel[3 * p + 2].x, 180.0 / 230, 1e-5);
    EXPECT_NEAR(texel[3 * p + 2].z, 12.925, 1e-2);
    EXPECT_NEAR(texel[3 * p].w + texel[3 * p + 1].w + texel[3 * p + 2].y, 0, 1e-9);
  }
}

// Two mushrooms in litter, under a sky and a torch.
const std::string wood = R"([ground]
relief_mm = 0
[camera]
position_m = [0, -0.5, 0.12]
look_at = "tuft"
f_number = 5.6
[[prop]]
name = "tuft"
kind = "bonnet"
at_m = [0, 0]
count = 2
[[prop]]
name = "leaves"
kind = "litter"
at_m = [0, 0]
radius_m = 0.2
[[source]]
name = "torch"
kind = "torch"
position_m = [-0.2, -0.2, 0.05]
aim = "tuft"
flux_lm = 60
)";

// RMSE against many samples, whose own noise, known from their halves, is taken off; and the mean of the
// picture. Half the error is what three and a half times the samples would give; measured: see the figures
// printed on failure.
TEST(Filter, TakesHalfTheErrorAndKeepsTheMean) {
  const World world = world_of(wood);
  Tracer tracer(test_shaders(), world);
  // The middle of a picture of 480 x 320.
  const View view{.width = 72, .height = 48, .window = {0.425, 0.425, 0.15, 0.15}};
  const Shot few = shoot(world, tracer, view, 16), many = shoot(world, tracer, view, 128, 77);
  const std::vector<float> truth = raw_mix(world, many), raw = raw_mix(world, few);
  const double grey = mean(truth);
  const std::vector<float> smooth = filtered_mix(world, tracer, few, development_for(world, grey));
  const Codes reference = codes(truth, grey);
  const double own =
      0.5 * root_mean_square(codes(half_mix(world, many, 0), grey), codes(half_mix(world, many, 1), grey));
  const auto error = [&](const std::vector<float>& mix) {
    return std::sqrt(std::pow(root_mean_square(codes(mix, grey), reference), 2) - own * own);
  };
  EXPECT_LE(error(smooth), 0.55 * error(raw)) << error(raw) << ' ' << error(smooth);
  EXPECT_NEAR(mean(smooth) / mean(raw), 1, 0.005);
}

// A ball under an even sky after many samples: the filter changes no pixel by half a code.
TEST(Filter, LeavesAConvergedPictureAlone) {
  const World world = world_of(
      "[ground]\nsize_m = 2\nrelief_mm = 0\n[sky]\nhorizontal_lx = 800\n[camera]\n"
      "position_m = [0.0, -0.5, 0.1]\nf_number = 32\nbarrel_mm = 0\n[[prop]]\nname = \"ball\"\nkind = "
      "\"sphere\"\nat_m = [0.0, 0.0, 0.05]\n");
  Tracer tracer(test_shaders(), world);
  const Shot shot = shoot(world, tracer, {.width = 24, .height = 16}, 2048);
  const std::vector<float> raw = raw_mix(world, shot);
  const double grey = mean(raw);
  const Codes before = codes(raw, grey),
              after = codes(filtered_mix(world, tracer, shot, development_for(world, grey)), grey);
  double worst = 0;
  for (std::size_t i = 0; i < before.size(); ++i) worst = std::max(worst, std::abs(after[i] - before[i]));
  EXPECT_LE(worst, 0.5);
}

PictureResult picture_of(const World& world, bool filtered, std::size_t film_limit_bytes) {
  Tracer tracer(test_shaders(), world);
  const Developer developer(test_shaders());
  const DisplayFilter filter(test_shaders(), tracer);
  const PictureRequest request{.width = 24,
                               .height = 288,
                               .samples = 4,
                               .keep_groups = true,
                               .filtered = filtered,
                               .film_limit_bytes = film_limit_bytes};
  return render_picture(
      tracer, developer, world, request, development_for(world, 30), [](double) { return true; }, &filter);
}

// Bands overlap by what the filter and diffraction see, so that seams do not show: same bytes in bands,
// again, and at once. The mix and the groups are raw.
TEST(Filter, BandsAndRepeatsAreTheSameBytes) {
  const World world = world_of(wood);
  constexpr std::size_t all = std::size_t{1} << 30;
  const PictureResult whole = picture_of(world, true, all), again = picture_of(world, true, all),
                      raw = picture_of(world, false, all);
  constexpr std::size_t margins = 2 * (DisplayFilter::margin_rows + Developer::margin_rows);
  const PictureResult banded = picture_of(world, true, 24 * (96 + margins) * 24 * world.groups.size());
  EXPECT_EQ(whole.bands, 1);
  EXPECT_EQ(banded.bands, 3);
  EXPECT_TRUE(whole.filtered);
  EXPECT_EQ(whole.picture.rgb, again.picture.rgb);
  EXPECT_EQ(whole.picture.rgb, banded.picture.rgb);
  EXPECT_NE(whole.picture.rgb, raw.picture.rgb);
  EXPECT_EQ(whole.mix.rgb, raw.mix.rgb);
  EXPECT_EQ(banded.mix.rgb, raw.mix.rgb);
  EXPECT_EQ(banded.groups, raw.groups);
}

}  // namespace
}  // namespace undercap
