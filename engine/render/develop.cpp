#include "engine/render/develop.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "engine/colour/spaces.h"

namespace undercap {

LuminousExposure exposure_per_luminance(const World& world, Duration shutter) {
  const Illuminance per_luminance =
      image_illuminance(Luminance(1.0), world.camera.working_f_number, world.scene.camera.transmission);
  return LuminousExposure(per_luminance.value() * shutter.value());
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
  const ShaderSource source = shaders.source("expose.comp", defines);
  program_ = ComputeProgram(source.text, source.files);
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
                                  const Development& how) const {
  return picture_of(view, codes(world, view, film, film_weights(Mix{glm::dvec3(1)}, even_counts(1, 2)), how));
}

Buffer Developer::codes(const World& world, const View& view, const Film& film,
                        const std::vector<FilmWeight>& weights, const Development& how,
                        const Overlay& overlay) const {
  const Buffer weight_buffer(std::as_bytes(std::span(weights)));
  Buffer codes(view.pixels() * 4);
  program_.use();
  film.bind(0);
  weight_buffer.bind_storage(1);
  codes.bind_storage(2);
  const auto f = [](double x) { return static_cast<float>(x); };
  program_.set("film_width", view.width);
  program_.set("film_rows", view.band_rows());
  program_.set("film_height", view.height);
  program_.set("first_row", view.first_row);
  program_.set("groups", static_cast<int>(weights.size()));
  program_.set("exposure_per_luminance", f(exposure_per_luminance(world, how.shutter).value()));
  program_.set("iso", f(how.iso));
  program_.set("half_width_slope", f(world.camera.width / world.camera.image_distance / 2));
  program_.set("half_height_slope", f(world.camera.height / world.camera.image_distance / 2));
  program_.set3("gains", f(how.gains.x), f(how.gains.y), f(how.gains.z));
  program_.set("tone", how.tone == Exposure::Tone::reinhard ? 1 : 0);
  const bool has_features = overlay.kind != Overlay::Kind::sharp_zone || overlay.features;
  program_.set("overlay", has_features ? static_cast<int>(overlay.kind) : 0);
  program_.set("circle_px", f(overlay.circle_px));
  if (overlay.features) overlay.features->bind(2);
  dispatch((static_cast<unsigned>(view.width) + 7) / 8, (static_cast<unsigned>(view.band_rows()) + 7) / 8);
  storage_barrier();
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
