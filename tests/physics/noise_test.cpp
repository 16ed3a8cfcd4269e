// The sensor's noise, from the kernel's own lines: its mean, its spread, its chances; then in a developed
// picture.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/colour/spaces.h"
#include "engine/optics/sensor.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr std::size_t pixel_count = 1 << 20;

struct Pixels {
  double electrons_per_exposure = 1, dark = 0, read = 0, spread = 0;  // as sensor.glsl names them
  double full_exposure = 1e9;
  unsigned seed = 1;
  int channel = 0;
};

std::vector<double> reported(const Pixels& how, double exposure, std::size_t count = pixel_count) {
  test_shaders();
  static const ComputeProgram program = [] {
    const ShaderSource source = shader_of_tests("noise.comp");
    return ComputeProgram(source.text, source.files);
  }();
  const auto f = [](double x) { return static_cast<float>(x); };
  const Buffer buffer(count * sizeof(float));
  program.use();
  buffer.bind_storage(0);
  program.set("electrons_per_exposure", f(how.electrons_per_exposure));
  program.set("dark_electrons", f(how.dark));
  program.set("read_deviation", f(how.read));
  program.set("pixel_spread", f(how.spread));
  program.set("noise_seed", how.seed);
  program.set("exposure", f(exposure));
  program.set("full_exposure", f(how.full_exposure));
  program.set("channel", how.channel);
  program.set("total", static_cast<int>(count));
  dispatch(1024, static_cast<unsigned>((count + 65535) / 65536));
  storage_barrier();
  std::vector<float> values(count);
  buffer.read(std::as_writable_bytes(std::span(values)));
  return {values.begin(), values.end()};
}

struct Spread {
  double mean = 0, variance = 0;
};

Spread spread_of(const std::vector<double>& values) {
  Spread result;
  for (const double value : values) result.mean += value;
  result.mean /= static_cast<double>(values.size());
  for (const double value : values) result.variance += std::pow(value - result.mean, 2);
  result.variance /= static_cast<double>(values.size() - 1);
  return result;
}

// 8 s at f/8 on 17.3 x 13 mm, ISO 200, mid-grey: 1226.6 electrons, .8 of dark current, 3 of read noise and .5
// % of unevenness have a deviation of 35.693 (EMVA 1288, from memory: sqrt(S + D t + read^2 + (PRNU S)^2)).
// Of 10^6 pixels it is known to .07 % and the mean to .035 electrons; 1 % and four of its errors.
TEST(Noise, HasTheDeviationOfTheModel) {
  const Pixels how{.electrons_per_exposure = 24532, .dark = .8, .read = 3, .spread = .005};
  std::vector<double> electrons = reported(how, .05);
  for (double& value : electrons) value *= how.electrons_per_exposure;
  const Spread got = spread_of(electrons);
  EXPECT_NEAR(got.mean, 1226.6, .14);
  EXPECT_NEAR(std::sqrt(got.variance), 35.693, .01 * 35.693);
  EXPECT_NEAR(got.variance, noise_variance({.dark_current_e_s = .1}, 1226.6, 8_s), .01 * got.variance);
}

// The photon transfer: without the unevenness of the pixels, (spread S)^2, the variance rises by 1 electron
// with each electron of the mean, and in the dark it is that of reading out and of the dark current. A
// variance of 10^6 pixels is known to .14 %, a slope between levels four times apart to .3 % at worst: 1 %.
TEST(Noise, VarianceRisesWithTheMeanBySlopeOne) {
  const Pixels how{.dark = 2, .read = 4, .spread = .005};
  const auto at = [&](double electrons) {
    Spread spread = spread_of(reported(how, electrons));
    spread.variance -= std::pow(how.spread * electrons, 2);
    return spread;
  };
  Spread before = at(0);
  EXPECT_NEAR(before.mean, 0, .02);
  EXPECT_NEAR(before.variance, 18, .18);
  for (const double electrons : {100., 400., 1600., 6400., 25600.}) {
    const Spread now = at(electrons);
    EXPECT_NEAR((now.variance - before.variance) / (now.mean - before.mean), 1, .01) << electrons;
    before = now;
  }
}

// Few electrons are counted: whole numbers k with the chance e^-mean mean^k / k! (Poisson). The count of a
// chance p among n pixels spreads by sqrt(n p); mean and variance by sqrt(mean / n) and sqrt((mean + 2
// mean^2) / n).
TEST(Noise, FewElectronsAreCountedByPoissonsLaw) {
  constexpr auto n = static_cast<double>(pixel_count);
  for (const double mean : {.3, 5., 20., 49.}) {
    const std::vector<double> electrons = reported({}, mean);
    const Spread got = spread_of(electrons);
    EXPECT_NEAR(got.mean, mean, 4 * std::sqrt(mean / n));
    EXPECT_NEAR(got.variance, mean, 4 * std::sqrt((mean + 2 * mean * mean) / n));
    EXPECT_TRUE(std::all_of(electrons.begin(), electrons.end(), [](double k) { return k == std::floor(k); }));
    for (const double k : {0., 1., std::floor(mean), std::floor(1.5 * mean)}) {
      const double expected = n * std::exp(k * std::log(mean) - mean - std::lgamma(k + 1));
      const auto counted = static_cast<double>(std::count(electrons.begin(), electrons.end(), k));
      EXPECT_NEAR(counted, expected, 4.5 * std::sqrt(expected) + 1) << mean << " " << k;
    }
  }
}

// One seed, one noise; another seed, another exposure of the same pixels: where light is plenty, shot noise
// is .1 % and what is left of the pixels' 5 % is their own, the same in each exposure. Channels differ in
// all.
TEST(Noise, BelongsToSeedPixelAndChannel) {
  const Pixels how{.spread = .05};
  constexpr double electrons = 1e6;
  const std::vector<double> first = reported(how, electrons, 65536), again = reported(how, electrons, 65536);
  EXPECT_EQ(first, again);
  const auto likeness = [&](Pixels other) {
    const std::vector<double> second = reported(other, electrons, 65536);
    EXPECT_NE(first, second);
    const Spread a = spread_of(first), b = spread_of(second);
    double product = 0;
    for (std::size_t i = 0; i < first.size(); ++i) product += (first[i] - a.mean) * (second[i] - b.mean);
    return product / 65535 / std::sqrt(a.variance * b.variance);
  };
  Pixels later = how, blue = how;
  later.seed = 2;
  blue.channel = 2;
  // 1 / (1 + (.001 / .05)^2); numbers without likeness have 0 +- 1 / 256.
  EXPECT_NEAR(likeness(later), .9996, 5e-4);
  EXPECT_NEAR(likeness(blue), 0, 4. / 256);
  later.spread = 0;
  Pixels even = how;
  even.spread = 0;
  const std::vector<double> one = reported(even, electrons, 65536), two = reported(later, electrons, 65536);
  double product = 0;
  for (std::size_t i = 0; i < one.size(); ++i) product += (one[i] - electrons) * (two[i] - electrons);
  EXPECT_NEAR(product / 65536 / electrons, 0, 4. / 256);
}

// Full is full: H = 78 / S (ISO 12232 saturation speed, from memory), whatever the noise; and a sensor
// without electrons makes none.
TEST(Noise, EndsWhereThePixelIsFull) {
  const Pixels noisy{.electrons_per_exposure = 1e4, .read = 100, .full_exposure = 78. / 200};
  const std::vector<double> bright = reported(noisy, 3.9, 4096);
  EXPECT_TRUE(std::all_of(bright.begin(), bright.end(), [](double x) { return x == double{78.f / 200.f}; }));
  const std::vector<double> near = reported(noisy, .38, 4096);
  EXPECT_LE(*std::max_element(near.begin(), near.end()), double{78.f / 200.f});
  EXPECT_LT(*std::min_element(near.begin(), near.end()), .36);
  for (const double exposure : {.1, 3.9}) {
    const std::vector<double> none =
        reported({.electrons_per_exposure = 0, .full_exposure = .39}, exposure, 64);
    EXPECT_EQ(none, std::vector<double>(64, double{static_cast<float>(std::min(exposure, .39))}));
  }
}

// --- in a developed picture

// A long lens, so that nothing falls off to the corners: cos^4 is .9998 there.
World flat_world() {
  return world_of(bare + no_sky +
                  "[camera]\nformat_mm = [17.3, 13]\nfocal_length_mm = 1000\nf_number = 8\nbarrel_mm = 0\n"
                  "transmission = 1\nposition_m = [0, -5, 0]\nlook_at = [0, 0, 0]\n[render]\nseed = 7\n");
}

// A picture of one grey, which no ray has been followed for: two halves of one group.
Picture8 flat_picture(const World& world, int side, double luminance, const Development& how) {
  const View view{.width = side, .height = side};
  const std::vector<float> sums(view.pixels() * 3 * 2, static_cast<float>(luminance));
  return Developer(test_shaders()).develop_mixed(world, view, Film(view, sums), how);
}

// Relative variance of the linear values behind the codes of one channel, less that of their rounding, a
// twelfth of a step squared (Sheppard).
double relative_variance(const Picture8& picture, std::size_t channel) {
  std::vector<double> linear;
  double rounding = 0;
  for (std::size_t i = channel; i < picture.rgb.size(); i += 3) {
    const int code = picture.rgb[i];
    linear.push_back(linear_from_srgb_code(code));
    const double step =
        (linear_from_srgb_code(std::min(code + 1, 255)) - linear_from_srgb_code(std::max(code - 1, 0))) / 2;
    rounding += step * step / 12;
  }
  const Spread got = spread_of(linear);
  return (got.variance - rounding / static_cast<double>(linear.size())) / (got.mean * got.mean);
}

// Mid-grey in pictures of two sizes. The model of the output pixel, which gathers n = area / pitch^2 sensor
// pixels, has the variance S + D t + read^2 + (PRNU S)^2 of n S electrons; half the picture's size is n = 4
// for each. 3 %: the variance of 65536 values is known to .6 %, and a mean of 117.6 codes leaves Sheppard's
// rule another.
TEST(Noise, OfADevelopedPictureIsThatOfItsOutputPixels) {
  const World world = flat_world();
  const Duration shutter = 2_s;
  const SensorModel sensors[] = {{.pitch = 5_um, .read_noise_e = 3, .dark_current_e_s = 5, .prnu = .005},
                                 {.pitch = 4_um, .read_noise_e = 0, .dark_current_e_s = 0, .prnu = .3},
                                 {.pitch = 8_um, .read_noise_e = 12, .dark_current_e_s = .1, .prnu = 0}};
  for (const SensorModel& sensor : sensors)
    for (const int side : {256, 512}) {
      const double iso = sensor.prnu > .1 ? 800 : 25600;
      const double luminance = 10 / iso / exposure_per_luminance(world, shutter).value();
      const Picture8 picture =
          flat_picture(world, side, luminance, {.shutter = shutter, .iso = iso, .sensor = sensor});
      const double n = 17.3e-3 / side * (13e-3 / side) / (sensor.pitch.value() * sensor.pitch.value());
      const SensorModel pixel = of_output_pixel(sensor, n);
      const double electrons = photo_electrons(pixel, LuminousExposure(10 / iso));
      const double expected = noise_variance(pixel, electrons, shutter) / (electrons * electrons);
      for (std::size_t channel = 0; channel < 3; ++channel)
        EXPECT_NEAR(relative_variance(picture, channel) / expected, 1, .03) << side << " " << n;
    }
}

// Without a sensor the picture is even; with one the same scene gives the same noise, and another seed
// another.
TEST(Noise, OfADevelopedPictureGoesByTheScenesSeed) {
  World world = flat_world();
  const Development quiet{.shutter = 1_s, .iso = 3200};
  Development noisy = quiet;
  noisy.sensor = SensorModel{};
  const double luminance = 10 / 3200. / exposure_per_luminance(world, 1_s).value();
  const Picture8 even = flat_picture(world, 64, luminance, quiet),
                 first = flat_picture(world, 64, luminance, noisy);
  EXPECT_EQ(even.rgb, std::vector<std::uint8_t>(even.rgb.size(), 118));
  EXPECT_NE(first.rgb, even.rgb);
  EXPECT_EQ(first.rgb, flat_picture(world, 64, luminance, noisy).rgb);
  world.scene.seed = 8;
  EXPECT_NE(first.rgb, flat_picture(world, 64, luminance, noisy).rgb);
}

}  // namespace
}  // namespace undercap
