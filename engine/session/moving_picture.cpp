#include "engine/session/moving_picture.h"

#include <algorithm>
#include <chrono>
#include <cmath>

#include "engine/core/errors.h"
#include "engine/world/sway.h"

namespace undercap {
namespace {

// Enough that a smear looks even; each costs a set that is built and sent to the device anew.
constexpr unsigned most_moments = 16;

// Moments spread evenly over the exposure, each a little off the middle of its share, so that none of them
// keeps step with what sways: the golden ratio's multiples (Weyl 1916, from memory).
Duration moment(unsigned i, unsigned moments, Duration shutter) {
  const double off = std::fmod((i + 1) * 0.6180339887498949, 1.0);
  return shutter * ((i + off) / moments);
}

}  // namespace

PictureResult render_moving_picture(const ShaderLibrary& shaders, Session& session,
                                    const PictureRequest& request, const Progress& progress) {
  if (request.filtered || request.noise_pct || request.seconds || request.overlay != Overlay::Kind::none)
    throw Refusal(
        "a prop with sway_mm moves while the shutter is open, which takes --quality alone: leave --filtered, "
        "--noise, --seconds and --overlay out, or set sway_mm = 0");
  const auto start = std::chrono::steady_clock::now();
  const World& world = session.world();
  const Development how = session.exposure().development;
  const View view{.width = request.width, .height = request.height};
  const Mix mix = mix_over(world, how.shutter);
  const unsigned passes = (request.samples + 1) / 2, moments = std::min(most_moments, passes);
  Film film = session.tracer().make_film(view);
  PictureResult result;
  for (unsigned i = 0; i < moments; ++i) {
    const World moved = swayed(world, moment(i, moments, how.shutter));
    GpuWorld gpu(moved);
    gpu.find_pattern_means(shaders, moved);
    Tracer tracer(shaders, moved, std::move(gpu), &session.tracer());
    for (unsigned pass = i; pass < passes; pass += moments) {
      for (std::uint32_t half = 0; half < 2; ++half)
        tracer.sample(view, film,
                      {.index = pass, .half = half, .seed = static_cast<std::uint32_t>(world.scene.seed)});
      finish();
    }
    if (!progress(static_cast<double>(i + 1) / moments)) {
      result.whole = false;
      return result;
    }
  }
  const unsigned samples = 2 * passes;
  const std::vector<float> sums = film.read();
  result.complete = true;
  result.samples = result.most_samples = samples;
  result.noise_pct = noise_pct(TileStopRule(mix, view).tiles(sums, samples));
  result.picture =
      session.developer().develop_mixed(world, view, film_without_strays(mix, view, sums, samples), how);
  if (request.keep_groups) {
    result.groups = group_means(sums, view.pixels(), static_cast<int>(world.groups.size()), samples);
    result.mix = Picture{view.width, view.height, mixed(mix, result.groups)};
  }
  result.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  return result;
}

}  // namespace undercap
