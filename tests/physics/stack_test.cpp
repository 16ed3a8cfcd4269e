// Focus stacks from the plan to the merged picture, on three balls one behind the other.
#include "engine/session/stack.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/core/errors.h"
#include "engine/scene/load.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr int width = 96, height = 64;
constexpr unsigned few = 4;  // samples that a frame has where it cannot be the sharpest

const Progress go_on = [](double) { return true; };

// Grey balls of 24 mm at -50, 0 and 60 mm of the plane in focus, m = 1/4, before a pale wall.
// 60 mm f/2: a pixel, 3/8 mm on the sensor, sees the near and the far ball through discs of 4 and 3 pixels.
std::string three_balls(double f_number, double shutter_s, double circle_mm, int seed) {
  std::string text = fmt::format(
      "[ground]\nkind = \"none\"\n[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n[render]\nseed = {}\n"
      "[exposure]\niso = 100\nshutter_s = {}\nwhite_balance_k = 6500\nnoise = false\ndiffraction = false\n"
      "[subject]\nparts = [\"near\", \"middle\", \"far\"]\n"
      "[camera]\nformat_mm = [36, 24]\nfocal_length_mm = 60\nf_number = {}\ncircle_of_confusion_mm = {}\n"
      "barrel_mm = 0\nblades = 0\nposition_m = [0, -0.3, 0]\nlook_at = [0, 0, 0]\n"
      "[[prop]]\nname = \"wall\"\nkind = \"card\"\nat_m = [0, 0.09, 0]\nsize_mm = [600, 600]\n"
      "material.surface = {{ reflectance = 0.8 }}\n",
      seed, shutter_s, f_number, circle_mm);
  for (const auto& [name, x, y] : {std::tuple{"near", -.036, -.05}, {"middle", 0., 0.}, {"far", .05, .06}})
    text += fmt::format(
        "[[prop]]\nname = \"{}\"\nkind = \"sphere\"\ndiameter_mm = 24\nat_m = [{}, {}, 0.0]\n"
        "material.surface = {{ reflectance = 0.5 }}\n",
        name, x, y);
  return text;
}

// The stack as its frames are planned for it, and what is left of the session.
class Bench {
 public:
  explicit Bench(int seed = 1, double circle_mm = .25)
      : session_(test_shaders(), scene(three_balls(2, .004, circle_mm, seed)), Quality::draft) {
    session_.survey(Quality::draft, {}, go_on, Session::For::picture);
  }
  static Scene scene(const std::string& text) {
    test_shaders();
    return SceneFile::from_text("undercap = 1\n" + text, test_folder() + "/stack.toml").scene();
  }
  Session& session() { return session_; }
  StackPlan plan(bool rail = false) const { return plan_of(session_, rail); }
  StackResult stack(StackRequest request = {.quality = Quality::draft}) {
    request.width = width;
    request.height = height;
    const auto result = render_stack(test_shaders(), session_, plan(request.rail), request, go_on);
    return result ? *result : StackResult{};
  }
  Picture8 picture() {
    return session_
        .picture({.width = width, .height = height, .samples = picture_samples(Quality::draft)}, go_on)
        .picture;
  }

 private:
  Session session_;
};

// The same view through a pupil 32 times smaller, and 32^2 times as long: sharp to a tenth of a pixel.
Picture8 sharp_throughout() {
  Session session(test_shaders(), Bench::scene(three_balls(64, .004 * 32 * 32, .25, 1)), Quality::draft);
  session.survey(Quality::draft, {}, go_on, Session::For::picture);
  return session.picture({.width = width, .height = height, .samples = 256}, go_on).picture;
}

double green(const Picture8& picture, std::size_t pixel) { return picture.rgb[3 * pixel + 1]; }

// The pixels whose place in the frame lies within a share of a ball's radius of its centre. A point at (x, y)
// has x / (.3 + y) of the distance; half a frame is .24 of it across.
std::vector<std::size_t> pixels_of_ball(double x_m, double y_m, double share) {
  std::vector<std::size_t> pixels;
  const double distance_m = .3 + y_m, pixel_m = .24 * distance_m / (width / 2.);
  for (int v = 0; v < height; ++v)
    for (int u = 0; u < width; ++u)
      if (std::hypot((u + .5 - width / 2.) * pixel_m - x_m, (v + .5 - height / 2.) * pixel_m) < share * .012)
        pixels.push_back(static_cast<std::size_t>(v * width + u));
  return pixels;
}

constexpr std::pair<double, double> balls[] = {{-.036, -.05}, {0., 0.}, {.05, .06}};

std::vector<std::size_t> pixels_of_balls(double share) {
  std::vector<std::size_t> pixels;
  for (const auto& [x, y] : balls)
    for (const std::size_t pixel : pixels_of_ball(x, y, share)) pixels.push_back(pixel);
  return pixels;
}

// Over the balls and what is around their rims.
double rmse(const Picture8& one, const Picture8& other) {
  const std::vector<std::size_t> pixels = pixels_of_balls(1.4);
  double sum = 0;
  for (const std::size_t i : pixels) sum += std::pow(green(one, i) - green(other, i), 2);
  return std::sqrt(sum / static_cast<double>(pixels.size()));
}

// What a stack is for: nearer to the sharp view than the frame as set, than the best single one and than any
// of its own. What is left is noise, of 64 samples, and the seams about the rims; the frame that is best of
// all has two balls of three out of focus, so a fifth less than its error is asked for.
TEST(Stack, TheMergeIsSharperThanAnyFrame) {
  Bench bench;
  const Picture8 sharp = sharp_throughout();
  const StackResult result = bench.stack({.quality = Quality::good, .whole_frames = true});
  ASSERT_EQ(result.frames.size(), bench.plan().frames.size());
  ASSERT_GE(result.frames.size(), 6u);
  const double merged = rmse(result.merged, sharp);
  EXPECT_LT(merged, .8 * rmse(result.as_set, sharp));
  EXPECT_LT(merged, rmse(result.best, sharp));
  for (const Picture8& frame : result.frames) EXPECT_LT(merged, .8 * rmse(frame, sharp));
  EXPECT_NEAR(result.sampled_share, 1, 1e-12);
}

// A few samples everywhere, all of them only where a frame may be the sharpest. Nothing hides a ball, so each
// frame has blocks of 16 pixels that none of its depths is in; and the merge is none the worse for it: as
// near to the sharp view as with whole frames, to a fifth.
TEST(Stack, FramesAreSampledWhereTheyCount) {
  Bench bench;
  const Picture8 sharp = sharp_throughout();
  const StackResult sparing = bench.stack(),
                    whole = bench.stack({.quality = Quality::draft, .whole_frames = true});
  EXPECT_TRUE(sparing.frames.empty());
  EXPECT_EQ(sparing.samples, picture_samples(Quality::draft));
  EXPECT_LT(sparing.sampled_share, .9);
  EXPECT_GT(sparing.sampled_share, double{few} / sparing.samples);
  EXPECT_LT(rmse(sparing.merged, sharp), 1.2 * rmse(whole.merged, sharp));
}

// 'origin' says which frame a place comes from, 40 for the first to 240 for the last: darker on the near ball
// than on the middle one, and there than on the far one, each near the frame whose plane is nearest to the
// front of the ball. In the ball's inner two fifths, since a rim is shared with the wall's frames by its blur
// and three pixels more. Two frames of tolerance: two frames can be about equally sharp on an even ball.
TEST(Stack, OriginGoesFromNearToFar) {
  Bench bench;
  const StackPlan plan = bench.plan();
  const StackResult result = bench.stack();
  const double step = 200. / (static_cast<double>(plan.frames.size()) - 1);
  double before = 0;
  for (const auto& [x, y] : balls) {
    std::vector<double> codes;
    for (const std::size_t pixel : pixels_of_ball(x, y, .4)) codes.push_back(green(result.origin, pixel));
    ASSERT_GT(codes.size(), 15u);
    std::nth_element(codes.begin(), codes.begin() + static_cast<std::ptrdiff_t>(codes.size() / 2),
                     codes.end());
    const double median = codes[codes.size() / 2];
    std::size_t nearest = 0;
    const auto off = [&](std::size_t k) { return std::abs(plan.frames[k].focus.value() - (.3 + y - .006)); };
    for (std::size_t k = 0; k < plan.frames.size(); ++k)
      if (off(k) < off(nearest)) nearest = k;
    EXPECT_NEAR(median, 40 + step * static_cast<double>(nearest), 2 * step) << y;
    EXPECT_GT(median, before + step) << y;
    before = median;
  }
}

TEST(Stack, SameBytesTwice) {
  Bench one, other;
  const StackResult first = one.stack(), again = one.stack(), anew = other.stack();
  for (const StackResult* second : {&again, &anew}) {
    EXPECT_EQ(first.merged.rgb, second->merged.rgb);
    EXPECT_EQ(first.origin.rgb, second->origin.rgb);
    EXPECT_EQ(first.as_set.rgb, second->as_set.rgb);
    EXPECT_EQ(first.best.rgb, second->best.rgb);
    EXPECT_EQ(first.sampled_share, second->sampled_share);
  }
}

void expect_own_camera(const World& world, const World& before) {
  EXPECT_EQ(world.camera.pupil_m, before.camera.pupil_m);
  EXPECT_EQ(world.camera.forward, before.camera.forward);
  EXPECT_EQ(world.camera.pupil_distance, before.camera.pupil_distance);
  EXPECT_EQ(world.camera.magnification, before.camera.magnification);
  EXPECT_EQ(world.camera.lens.f_number, before.camera.lens.f_number);
}

// On a rail the camera goes back for the nearest frames, behind the front of a barrel that stays: they are as
// bright as without it. Black frames would halve the mean of the merge; the barrel's own shade and noise
// change it by a few per cent.
TEST(Stack, ARailLooksPastTheBarrel) {
  const auto mean = [](const std::string& barrel) {
    std::string text = three_balls(2, .004, .25, 1);
    text.replace(text.find("barrel_mm = 0"), std::string("barrel_mm = 0").size(), barrel);
    Session session(test_shaders(), Bench::scene(text), Quality::draft);
    session.survey(Quality::draft, {}, go_on, Session::For::picture);
    const StackPlan plan = plan_of(session, true);
    EXPECT_LT(plan.frames.front().rail / 1_mm, -5);
    const auto result =
        render_stack(test_shaders(), session, plan,
                     {.width = width, .height = height, .quality = Quality::draft, .rail = true}, go_on);
    double sum = 0;
    for (const std::uint8_t code : result->merged.rgb) sum += code;
    return sum / static_cast<double>(result->merged.rgb.size());
  };
  EXPECT_NEAR(mean("barrel_mm = 80\nfront_diameter_mm = 30\nfront_ahead_mm = 20") / mean("barrel_mm = 0"), 1,
              .1);
}

// By ring and by rail, finished or stopped at any third of it: the session takes the same picture as before,
// bit for bit, and plans the same stack.
TEST(Stack, TheSessionHasItsOwnCameraBack) {
  Bench bench;
  const World before = bench.session().world();
  const Picture8 picture = bench.picture();
  const std::size_t frames = bench.plan().frames.size();
  const auto expect_as_before = [&](const std::string& after) {
    SCOPED_TRACE(after);
    expect_own_camera(bench.session().world(), before);
    EXPECT_EQ(bench.picture().rgb, picture.rgb);
    EXPECT_EQ(bench.plan().frames.size(), frames);
  };
  EXPECT_FALSE(bench.stack().merged.rgb.empty());
  expect_as_before("ring");
  EXPECT_FALSE(bench.stack({.quality = Quality::draft, .rail = true}).merged.rgb.empty());
  expect_as_before("rail");
  for (const double until : {.3, .6, .85}) {
    EXPECT_FALSE(render_stack(test_shaders(), bench.session(), bench.plan(),
                              {.width = width, .height = height, .quality = Quality::draft},
                              [&](double done) { return done < until; }));
    expect_as_before(fmt::format("stopped at {}", until));
  }
}

TEST(Stack, RefusesMoreFramesThanAreRendered) {
  Bench bench(1, .02);
  const StackPlan plan = bench.plan();
  ASSERT_GT(plan.frames.size(), most_rendered_frames);
  const World before = bench.session().world();
  EXPECT_THROW(render_stack(test_shaders(), bench.session(), plan, {}, go_on), Refusal);
  expect_own_camera(bench.session().world(), before);
}

// By seeds: the squared deviation of a picture from their mean, codes^2, over some pixels.
struct Noise {
  std::vector<double> of_seed{};
  double mean = 0, se = 0;
};
Noise noise_of(const std::vector<Picture8>& pictures, const std::vector<std::size_t>& pixels) {
  const auto n = static_cast<double>(pictures.size());
  Noise noise;
  noise.of_seed.assign(pictures.size(), 0);
  for (const std::size_t pixel : pixels) {
    double mean = 0;
    for (const Picture8& picture : pictures) mean += green(picture, pixel) / n;
    for (std::size_t k = 0; k < pictures.size(); ++k)
      noise.of_seed[k] +=
          std::pow(green(pictures[k], pixel) - mean, 2) * n / (n - 1) / static_cast<double>(pixels.size());
  }
  for (const double one : noise.of_seed) noise.mean += one / n;
  for (const double one : noise.of_seed) noise.se += std::pow(one - noise.mean, 2) / (n * (n - 1));
  noise.se = std::sqrt(noise.se);
  return noise;
}

// A stack of twelve takes fewer samples than twelve single pictures, at no more error: over ten seeds the
// merged subject, each ball but for the outer fifth of its radius, varies no more than in one whole picture
// of the same samples a pixel. The tolerance is four standard errors, from the spread over the seeds.
TEST(Stack, TakesFewerSamplesAtNoMoreNoise) {
  std::vector<Picture8> merged, single;
  for (int seed = 1; seed <= 10; ++seed) {
    Bench bench(seed, .19);
    ASSERT_EQ(bench.plan().frames.size(), 12u);
    const StackResult result = bench.stack();
    EXPECT_LT(result.sampled_share, .9);
    merged.push_back(result.merged);
    single.push_back(result.as_set);
  }
  const std::vector<std::size_t> pixels = pixels_of_balls(.8);
  ASSERT_GT(pixels.size(), 150u);
  const Noise of_merged = noise_of(merged, pixels), of_single = noise_of(single, pixels);
  EXPECT_GT(of_single.mean, 1);  // more than what rounding to codes makes
  EXPECT_LT(of_merged.mean, of_single.mean + 4 * std::hypot(of_merged.se, of_single.se))
      << of_merged.mean << " +- " << of_merged.se << ", " << of_single.mean << " +- " << of_single.se;
}

}  // namespace
}  // namespace undercap
