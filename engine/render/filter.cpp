#include "engine/render/filter.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace undercap {
namespace {

constexpr int levels = 5;
constexpr unsigned most_feature_samples = 4;  // of each half; more cost as much as they gain
// Mid-grey H = 10 / S is shown as 0.18, the raw value clips at H = 78 / S (shaders/expose.comp).
constexpr double value_per_exposure = 0.18 / 10, ceiling = 4 * 78 * value_per_exposure;
constexpr int covered_rows = 2 + 5 + ((1 << levels) - 1);
static_assert(covered_rows <= DisplayFilter::margin_rows);

ComputeProgram program_of(const ShaderLibrary& shaders, const char* name, const std::string& defines) {
  const ShaderSource source = shaders.source(name, defines);
  return ComputeProgram(source.text, source.files);
}

void run_over(const View& view, const ComputeProgram& program) {
  program.use();
  dispatch((static_cast<unsigned>(view.width) + 7) / 8, (static_cast<unsigned>(view.band_rows()) + 7) / 8);
  storage_barrier();
}

// The two halves of a picture on the device.
struct Halves {
  explicit Halves(std::size_t pixels) : a(TexelFormat::rgba32f, pixels), b(TexelFormat::rgba32f, pixels) {}
  TexelBuffer a, b;
};

// Diameter of the blur disc of a point at infinity, pixels: m d on the film (the Gaussian lens as a thin-lens
// camera at its entrance pupil, m = image distance / distance in focus). At distance D it is m d |1 - a / D|.
double infinity_blur_pixels(const CameraRig& camera, const View& view) {
  const double magnification = camera.image_distance / camera.pupil_distance;
  return magnification * (entrance_pupil_diameter(camera.lens) / camera.width) * view.width /
         static_cast<double>(view.window.z);
}

}  // namespace

DisplayFilter::DisplayFilter(const ShaderLibrary& shaders, const Tracer& tracer)
    : features_(program_of(shaders, "features.comp", tracer.walk_defines())),
      mix_(program_of(shaders, "filter.comp", "#define PASS_MIX\n")),
      prepare_(program_of(shaders, "filter.comp", "#define PASS_PREPARE\n")),
      level_(program_of(shaders, "filter.comp", "#define PASS_LEVEL\n")),
      out_(program_of(shaders, "filter.comp", "#define PASS_OUT\n")) {}

TexelBuffer DisplayFilter::features(Tracer& tracer, const World& world, const View& view,
                                    unsigned samples) const {
  TexelBuffer seen(TexelFormat::rgba32f, view.pixels() * 3);
  tracer.bind_walk(view);
  seen.bind_storage(1);
  features_.set("sample_count", std::min(samples / 2, most_feature_samples));
  features_.set("sample_seed", static_cast<std::uint32_t>(world.scene.seed));
  features_.set("infinity_blur", static_cast<float>(infinity_blur_pixels(world.camera, view)));
  run_over(view, features_);
  return seen;
}

Film DisplayFilter::run(const World& world, const View& view, const Film& film, const TexelBuffer& features,
                        unsigned samples, const Development& how) const {
  const glm::dvec3 value_per_luminance =
      how.gains * (exposure_per_luminance(world, how.shutter).value() * how.iso * value_per_exposure);
  std::vector<glm::vec4> weights;
  for (const glm::dvec3& weight : mix_over(world, how.shutter))
    weights.emplace_back(glm::vec3(weight * value_per_luminance * (2.0 / samples)), 0.f);
  const Buffer weight_buffer(std::as_bytes(std::span(weights)));
  std::array<Halves, 2> halves{Halves(view.pixels()), Halves(view.pixels())};
  const TexelBuffer prepared(TexelFormat::rgba32f, view.pixels() * 3);

  const auto pass = [&](const ComputeProgram& program, int from) {
    const Halves &in = halves[static_cast<std::size_t>(from)],
                 &out = halves[static_cast<std::size_t>(1 - from)];
    in.a.bind(0);
    in.b.bind(1);
    if (&program != &out_) {
      out.a.bind_storage(0);
      out.b.bind_storage(1);
    }
    program.set("film_width", view.width);
    program.set("film_rows", view.band_rows());
    run_over(view, program);
  };
  film.bind(2);
  weight_buffer.bind_storage(3);
  mix_.set("groups", static_cast<int>(weights.size()));
  mix_.set("ceiling", static_cast<float>(ceiling));
  pass(mix_, 1);
  features.bind(2);
  prepared.bind_storage(2);
  pass(prepare_, 0);
  prepared.bind(2);
  for (int level = 0; level < levels; ++level) {
    level_.set("stride", 1 << level);
    pass(level_, 1 - level % 2);
  }
  Film result(view, 1);
  result.bind(0);
  const glm::vec3 back(1.0 / value_per_luminance);
  out_.set3("luminance_per_value", back.x, back.y, back.z);
  pass(out_, 1 - levels % 2);
  return result;
}

}  // namespace undercap
