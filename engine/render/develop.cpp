#include "engine/render/develop.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "engine/colour/spaces.h"
#include "engine/core/errors.h"
#include "engine/optics/diffraction.h"
#include "engine/optics/exposure.h"
#include "engine/optics/tone.h"

namespace undercap {

LuminousExposure exposure_per_luminance(const World& world, Duration shutter) {
  const Illuminance per_luminance =
      image_illuminance(Luminance(1.0), world.camera.working_f_number, transmission_of(world.scene.camera));
  return LuminousExposure(per_luminance.value() * shutter.value());
}

glm::dvec3 displayed_linear(const glm::dvec3& exposure, const Development& how) {
  const double raw_clip = raw_clip_exposure(how.iso).value(), grey = mid_grey_exposure(how.iso).value();
  const Tone tone = how.tone == Exposure::Tone::reinhard ? Tone::reinhard : Tone::srgb;
  glm::dvec3 shown;
  for (int c = 0; c < 3; ++c)
    shown[c] = display_linear(tone, std::min(exposure[c], raw_clip) * how.gains[c] * (0.18 / grey));
  return shown;
}

glm::dvec3 white_balance_gains(const glm::dvec3& light) {
  const double y = luminance_y(light);
  // A light without one of the primaries cannot be made neutral; sixteen times is as far as a gain goes.
  return glm::min(glm::dvec3(y) / glm::max(light, glm::dvec3(y / 16)), glm::dvec3(16));
}

Developer::Developer(const ShaderLibrary& shaders) {
  std::string defines = "#define STOP_COLOURS vec3[](";
  for (int band = 0; band <= brightest_stop - darkest_stop + 1; ++band) {
    const glm::vec3 c = stop_colour(band);
    defines += fmt::format("{}vec3({:.4f}, {:.4f}, {:.4f})", band ? ", " : "", c.x, c.y, c.z);
  }
  defines += fmt::format(")\n#define DARKEST_STOP {}.0\n", darkest_stop);
  const auto program = [&](const char* name) {
    const ShaderSource source = shaders.source(name, defines);
    return ComputeProgram(source.text, source.files);
  };
  expose_ = program("expose.comp");
  diffract_ = program("diffract.comp");
  develop_ = program("develop.comp");
}

std::vector<FilmWeight> film_weights(const Mix& mix, const FilmCounts& counts) {
  std::vector<FilmWeight> weights;
  for (std::size_t g = 0; g < mix.size(); ++g)
    weights.push_back({glm::vec4(glm::vec3(mix[g]), 0), {counts[g].passes, counts[g].rows, 0, 0}});
  return weights;
}

FilmCounts even_counts(std::size_t groups, unsigned samples) {
  return FilmCounts(groups, {static_cast<int>(samples), 0});
}

namespace {

Picture8 picture_of(const View& view, const Buffer& codes) {
  std::vector<std::uint32_t> packed(view.pixels());
  codes.read(std::as_writable_bytes(std::span(packed)));
  Picture8 picture;
  picture.width = view.width;
  picture.height = view.band_rows();
  picture.rgb.reserve(packed.size() * 3);
  for (const std::uint32_t code : packed)
    for (int c = 0; c < 3; ++c) picture.rgb.push_back(static_cast<std::uint8_t>(code >> (8 * c)));
  return picture;
}

}  // namespace

glm::vec3 stop_colour(int band) {
  // Even steps of lightness along cividis (Nunez, Anderton, Renslow 2018, PLoS ONE 13(7)); from memory.
  static constexpr glm::vec3 colours[] = {
      {0, .135f, .305f},  {.11f, .20f, .43f}, {.25f, .27f, .42f}, {.35f, .35f, .43f}, {.46f, .44f, .45f},
      {.57f, .53f, .46f}, {.69f, .62f, .44f}, {.81f, .72f, .40f}, {.94f, .83f, .33f}, {.995f, .91f, .22f}};
  return colours[std::clamp(band, 0, static_cast<int>(std::size(colours)) - 1)];
}

Picture8 Developer::develop(const World& world, const View& view, const Film& film, unsigned samples,
                            const Development& how) const {
  const Mix mix = mix_over(world, how.shutter);
  return picture_of(view, codes(world, view, film, film_weights(mix, even_counts(mix.size(), samples)), how));
}

Picture8 Developer::develop_mixed(const World& world, const View& view, const Film& film,
                                  const Development& how, const Overlay& overlay) const {
  return picture_of(
      view, codes(world, view, film, film_weights(Mix{glm::dvec3(1)}, even_counts(1, 2)), how, overlay));
}

void Developer::set_film(const ComputeProgram& program, const World& world, const View& view, int groups,
                         const Development& how) const {
  const CameraRig& rig = world.camera;
  const double diagonal = std::hypot(rig.width.value(), rig.height.value());
  program.use();
  program.set("film_width", view.width);
  program.set("film_rows", view.band_rows());
  program.set("film_height", view.height);
  program.set("first_row", view.first_row);
  program.set("groups", groups);
  program.set("exposure_per_luminance",
              static_cast<float>(exposure_per_luminance(world, how.shutter).value()));
  program.set4("film_window", view.window.x, view.window.y, view.window.z, view.window.w);
  program.set("frame_across", static_cast<float>(rig.width.value() / diagonal));
  program.set("frame_down", static_cast<float>(rig.height.value() / diagonal));
}

namespace {

// Shares of the axis's illuminance at even steps of height squared, from the axis to the corner.
Buffer fall_off_table(const World& world) {
  constexpr int steps = 1024;  // between them straight lines are good to 1e-6
  const Length half_diagonal =
      Length(std::hypot(world.camera.width.value(), world.camera.height.value()) / 2);
  std::vector<float> shares;
  for (int i = 0; i <= steps; ++i)
    shares.push_back(
        static_cast<float>(share_of_axis(world.camera, half_diagonal * std::sqrt(i / double{steps}))));
  return Buffer(std::as_bytes(std::span(shares)));
}

void dispatch_over(const View& view) {
  dispatch((static_cast<unsigned>(view.width) + 7) / 8, (static_cast<unsigned>(view.band_rows()) + 7) / 8);
  storage_barrier();
}

// What the noise of one output pixel goes by; without a sensor the shader makes none.
void set_sensor(const ComputeProgram& program, const World& world, const View& view, const Development& how) {
  const auto f = [](double x) { return static_cast<float>(x); };
  const Length pixel_width = world.camera.width * double{view.window.z} / view.width,
               pixel_height = world.camera.height * double{view.window.w} / view.height;
  if (!how.sensor) {
    program.set("electrons_per_exposure", 0.f);
    return;
  }
  const double in_one = (pixel_width / how.sensor->pitch) * (pixel_height / how.sensor->pitch);
  const SensorModel pixel = of_output_pixel(*how.sensor, in_one);
  program.set("electrons_per_exposure", f(photo_electrons(pixel, 1_lxs)));
  program.set("dark_electrons", f(pixel.dark_current_e_s * how.shutter.value()));
  program.set("read_deviation", f(pixel.read_noise_e));
  program.set("pixel_spread", f(pixel.prnu));
  program.set("noise_seed", static_cast<unsigned>(world.scene.seed));
}

}  // namespace

const Developer::Pattern& Developer::pattern_of(const World& world, const View& view) const {
  const double working_f_number = world.camera.working_f_number;
  const Length pixel = world.camera.width * double{view.window.z} / view.width;
  if (working_f_number != pattern_.working_f_number || pixel != pattern_.pixel) {
    const DiffractionKernel kernel = diffraction_kernel(working_f_number, pixel);
    pattern_ = {working_f_number, pixel, kernel.radius, Buffer(std::as_bytes(std::span(kernel.weight)))};
  }
  return pattern_;
}

std::optional<Buffer> Developer::spread(const World& world, const View& view, int groups,
                                        const Development& how) const {
  if (!how.diffraction) return std::nullopt;
  const Pattern& pattern = pattern_of(world, view);
  UNDERCAP_CHECK(pattern.radius <= margin_rows, "the rows beside a band hold what its rows look at");
  if (pattern.radius == 0) return std::nullopt;
  const Buffer exposures(view.pixels() * sizeof(glm::vec4));
  exposures.bind_storage(3);
  set_film(expose_, world, view, groups, how);
  dispatch_over(view);
  Buffer spread(view.pixels() * sizeof(glm::vec4));
  spread.bind_storage(5);
  pattern.weights.bind_storage(6);
  diffract_.use();
  diffract_.set("film_width", view.width);
  diffract_.set("film_rows", view.band_rows());
  diffract_.set("radius", pattern.radius);
  dispatch_over(view);
  return spread;
}

Buffer Developer::codes(const World& world, const View& view, const Film& film,
                        const std::vector<FilmWeight>& weights, const Development& how,
                        const Overlay& overlay) const {
  const Buffer weight_buffer(std::as_bytes(std::span(weights)));
  const Buffer fall_off = fall_off_table(world);
  const int groups = static_cast<int>(weights.size());
  film.bind(0);
  weight_buffer.bind_storage(1);
  fall_off.bind_storage(4);
  const std::optional<Buffer> exposures = spread(world, view, groups, how);
  Buffer codes(view.pixels() * 4);
  codes.bind_storage(2);
  (exposures ? *exposures : codes).bind_storage(3);
  const auto f = [](double x) { return static_cast<float>(x); };
  set_film(develop_, world, view, groups, how);
  set_sensor(develop_, world, view, how);
  develop_.set("exposed", exposures ? 1 : 0);
  develop_.set("iso", f(how.iso));
  develop_.set3("gains", f(how.gains.x), f(how.gains.y), f(how.gains.z));
  develop_.set("tone", how.tone == Exposure::Tone::reinhard ? 1 : 0);
  const bool can_draw = overlay.features || !Overlay::needs_features(overlay.kind);
  develop_.set("overlay", can_draw ? static_cast<int>(overlay.kind) : 0);
  develop_.set("circle_px", f(overlay.circle_px));
  if (overlay.features) overlay.features->bind(2);
  dispatch_over(view);
  return codes;
}

std::vector<std::vector<float>> group_means(const std::vector<float>& sums, std::size_t pixels, int groups,
                                            unsigned samples) {
  std::vector<std::vector<float>> means;
  const float scale = 1.f / static_cast<float>(samples);
  for (std::size_t g = 0; g < static_cast<std::size_t>(groups); ++g) {
    std::vector<float> mean(pixels * 3);
    const float* a = sums.data() + g * pixels * 3;
    const float* b = sums.data() + (static_cast<std::size_t>(groups) + g) * pixels * 3;
    for (std::size_t i = 0; i < mean.size(); ++i) mean[i] = (a[i] + b[i]) * scale;
    means.push_back(std::move(mean));
  }
  return means;
}

std::vector<float> mixed(const Mix& mix, const std::vector<std::vector<float>>& means) {
  std::vector<float> sum(means.empty() ? 0 : means.front().size(), 0.f);
  for (std::size_t g = 0; g < means.size(); ++g) {
    const glm::vec3 weight(mix[g]);
    for (std::size_t i = 0; i < sum.size(); ++i) sum[i] += weight[static_cast<int>(i % 3)] * means[g][i];
  }
  return sum;
}

}  // namespace undercap
