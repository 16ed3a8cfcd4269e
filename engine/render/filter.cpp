#include "engine/render/filter.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace undercap {
namespace {

constexpr unsigned most_feature_samples = 4;  // of each half; more cost as much as they gain
// Mid-grey H = 10 / S is shown as 0.18, the raw value clips at H = 78 / S (shaders/expose.comp).
constexpr double value_per_exposure = 0.18 / 10, ceiling = 4 * 78 * value_per_exposure;

ComputeProgram program_of(const ShaderLibrary& shaders, const char* name, const std::string& defines) {
  const ShaderSource source = shaders.source(name, defines);
  return ComputeProgram(source.text, source.files);
}

void run_over(const View& view, const ComputeProgram& program, int first_row, int rows) {
  program.use();
  program.set("slice_row", first_row);
  program.set("slice_end", first_row + rows);
  dispatch((static_cast<unsigned>(view.width) + 7) / 8, (static_cast<unsigned>(rows) + 7) / 8);
  storage_barrier();
}

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
  TexelBuffer seen(TexelFormat::rgba32f, view.pixels() * features_of_a_pixel);
  find_features(tracer, world, view, samples, 0, view.band_rows(), seen);
  return seen;
}

void DisplayFilter::find_features(Tracer& tracer, const World& world, const View& view, unsigned samples,
                                  int first_row, int rows, const TexelBuffer& into) const {
  tracer.bind_walk(view);
  into.bind_storage(1);
  features_.set("sample_count", std::clamp(samples / 2, 1u, most_feature_samples));
  features_.set("sample_seed", static_cast<std::uint32_t>(world.scene.seed));
  features_.set("infinity_blur", static_cast<float>(infinity_blur_pixels(world.camera, view)));
  run_over(view, features_, first_row, rows);
}

Film DisplayFilter::run(const World& world, const View& view, const Film& film, const TexelBuffer& features,
                        unsigned samples, const Development& how) const {
  FilterRun filtering(*this, world, view, film, even_counts(world.groups.size(), samples), features, how);
  while (!filtering.done()) filtering.advance(view.band_rows());
  return std::move(filtering).result();
}

FilterRun::Halves::Halves(std::size_t pixels)
    : a(TexelFormat::rgba32f, pixels), b(TexelFormat::rgba32f, pixels) {}

FilterRun::FilterRun(const DisplayFilter& filter, const World& world, const View& view, const Film& film,
                     const FilmCounts& counts, const TexelBuffer& features, const Development& how)
    : filter_(filter),
      view_(view),
      film_(film),
      features_(features),
      halves_{Halves(view.pixels()), Halves(view.pixels())},
      prepared_(TexelFormat::rgba32f, view.pixels() * DisplayFilter::features_of_a_pixel),
      result_(view, 1) {
  static_assert(levels + 3 == steps);
  static_assert(2 + 5 + ((1 << levels) - 1) <= DisplayFilter::margin_rows);
  const glm::dvec3 value_per_luminance =
      how.gains * (exposure_per_luminance(world, how.shutter).value() * how.iso * value_per_exposure);
  Mix values = mix_over(world, how.shutter);
  for (glm::dvec3& weight : values) weight *= value_per_luminance;
  weights_ = film_weights(values, counts);
  weight_buffer_ = Buffer(std::as_bytes(std::span(weights_)));
  luminance_per_value_ = glm::vec3(1.0 / value_per_luminance);
}

// One pass over some rows, from one pair of halves into the other.
void FilterRun::dispatch_rows(const ComputeProgram& program, int from, int rows) {
  const Halves &in = halves_[static_cast<std::size_t>(from)],
               &out = halves_[static_cast<std::size_t>(1 - from)];
  in.a.bind(0);
  in.b.bind(1);
  if (&program == &filter_.out_) {
    result_.bind(0);
  } else {
    out.a.bind_storage(0);
    out.b.bind_storage(1);
  }
  program.set("film_width", view_.width);
  program.set("film_rows", view_.band_rows());
  run_over(view_, program, row_, rows);
}

void FilterRun::advance(int rows) {
  rows = std::min(rows, view_.band_rows() - row_);
  if (step_ == 0) {
    film_.bind(2);
    weight_buffer_.bind_storage(3);
    filter_.mix_.set("groups", static_cast<int>(weights_.size()));
    filter_.mix_.set("ceiling", static_cast<float>(ceiling));
    dispatch_rows(filter_.mix_, 1, rows);
  } else if (step_ == 1) {
    features_.bind(2);
    prepared_.bind_storage(2);
    dispatch_rows(filter_.prepare_, 0, rows);
  } else if (step_ < steps - 1) {
    const int level = step_ - 2;
    prepared_.bind(2);
    filter_.level_.set("stride", 1 << level);
    dispatch_rows(filter_.level_, 1 - level % 2, rows);
  } else {
    filter_.out_.set3("luminance_per_value", luminance_per_value_.x, luminance_per_value_.y,
                      luminance_per_value_.z);
    dispatch_rows(filter_.out_, 1 - levels % 2, rows);
  }
  row_ += rows;
  if (row_ < view_.band_rows()) return;
  row_ = 0;
  ++step_;
}

}  // namespace undercap
