#include "engine/session/stack.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <glm/geometric.hpp>

#include "engine/core/errors.h"
#include "engine/optics/depth.h"
#include "engine/optics/exposure.h"
#include "engine/optics/third_stops.h"
#include "engine/render/strays.h"

namespace undercap {
namespace {

using Clock = std::chrono::steady_clock;

// Where a frame cannot be the sharpest: enough for the merge's coarse bands.
constexpr unsigned few_samples = 4;

DepthRange range_of(const Session& session) {
  const auto range = session.needed_depth();
  if (!range)
    throw Refusal(
        "the subject is not seen, so there is nothing to stack: set subject.parts to what stands in "
        "the picture");
  return *range;
}

// The scene with its focus at a distance from where the entrance pupil is, and moved forward along the axis.
Scene focused_scene(const World& world, Length rail, Length focus) {
  Scene scene = world.scene;
  const CameraRig& rig = world.camera;
  Camera& camera = scene.camera;
  camera.position_m = rig.pupil_m + rig.forward * rail.value();
  camera.look_at = camera.position_m + rig.forward;
  // The barrel stays where it was: rays begin past its front all the same.
  camera.front_ahead_mm = std::max(camera.front_ahead_mm - rail / 1_mm, 1e-3);
  camera.magnification.reset();
  camera.focus_distance_m.reset();
  camera.focus = rig.pupil_m + rig.forward * focus.value();
  return scene;
}

// What decides for a pixel: how far what it shows lies along the axis, as a share of the distance to the
// plane in focus of the scene's own camera. 0 for the sky. Seen through a small pupil, so that rims are where
// they are.
std::vector<float> inverse_depths(const DisplayFilter& filter, Session& session, const View& view) {
  constexpr unsigned samples = 8;
  const Scene own = session.world().scene;
  Scene small = own;
  small.camera.f_number = highest_f_number;
  session.place_camera(small);
  const TexelBuffer features = filter.features(session.tracer(), session.world(), view, samples);
  std::vector<glm::vec4> texels(view.pixels() * DisplayFilter::features_of_a_pixel);
  features.read(std::as_writable_bytes(std::span(texels)));
  session.place_camera(own);
  std::vector<float> inverse;
  for (std::size_t i = 0; i < view.pixels(); ++i)
    inverse.push_back(texels[i * DisplayFilter::features_of_a_pixel + 2].x);
  return inverse;
}

// Of each frame, the pixels that may be the sharpest of the stack, and the blocks that hold some.
class Candidates {
 public:
  Candidates(const View& view, std::size_t frames)
      : view_(view), trust_(frames, std::vector<float>(view.pixels(), 0.f)) {}

  // A pixel of the reference, at its place in a frame of this scale, with what is around it: the edge of a
  // blurred thing has depths that nothing is at.
  void want(std::size_t frame, double scale, int x, int y) {
    constexpr int around = 3;
    const int cx = place(x, view_.width, scale), cy = place(y, view_.height, scale);
    for (int v = std::max(0, cy - around); v <= std::min(view_.height - 1, cy + around); ++v)
      for (int u = std::max(0, cx - around); u <= std::min(view_.width - 1, cx + around); ++u)
        trust_[frame][index(u, v)] = 1;
  }
  const std::vector<float>& trust(std::size_t frame) const { return trust_[frame]; }
  // By blocks of the film: 0 where there is a pixel that counts, 1 where a few samples are enough.
  std::vector<std::uint32_t> enough(std::size_t frame) const {
    const int across = (view_.width + Film::block_side - 1) / Film::block_side;
    std::vector<std::uint32_t> words(Film::blocks(view_), 1);
    for (int y = 0; y < view_.height; ++y)
      for (int x = 0; x < view_.width; ++x)
        if (trust_[frame][index(x, y)] > 0)
          words[static_cast<std::size_t>(y / Film::block_side * across + x / Film::block_side)] = 0;
    return words;
  }

 private:
  static int place(int i, int n, double scale) {
    const double centre = (n - 1) / 2.0;
    return std::clamp(static_cast<int>(std::lround(centre + scale * (i - centre))), 0, n - 1);
  }
  std::size_t index(int x, int y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(view_.width) + static_cast<std::size_t>(x);
  }
  View view_;
  std::vector<std::vector<float>> trust_;
};

// Each pixel's depth names the frame whose plane in focus is nearest in vergence, as blur goes, and the next
// one where that is not much further off. Photographs, with less noise, are merged without knowing depths.
Candidates candidates_of(const Session& session, const StackPlan& plan, const View& view,
                         const std::vector<float>& inverse, const std::vector<double>& places, bool all) {
  constexpr double near_enough = 0.6;  // of the way from one frame's plane to the next
  Candidates candidates(view, plan.frames.size());
  const double focus_m = session.world().camera.pupil_distance.value();
  std::vector<double> planes;
  for (const StackFrame& frame : plan.frames) planes.push_back(focus_m / frame.focus.value());
  for (int y = 0; y < view.height; ++y)
    for (int x = 0; x < view.width; ++x) {
      const double own =
          static_cast<double>(inverse[static_cast<std::size_t>(y) * static_cast<std::size_t>(view.width) +
                                      static_cast<std::size_t>(x)]);
      const auto off = [&](double plane) { return std::abs(plane - own); };
      const double least = off(*std::min_element(planes.begin(), planes.end(),
                                                 [&](double a, double b) { return off(a) < off(b); }));
      for (std::size_t k = 0; k < planes.size(); ++k) {
        const double step =
            std::abs(planes[k] - planes[k > 0 ? k - 1 : std::min<std::size_t>(1, planes.size() - 1)]);
        if (all || off(planes[k]) <= std::max(least, near_enough * step)) candidates.want(k, places[k], x, y);
      }
    }
  return candidates;
}

// The mean of two halves of means, cd/m2.
Picture picture_of(const std::vector<float>& halves, const View& view) {
  Picture picture = make_picture(view.width, view.height);
  for (std::size_t i = 0; i < picture.rgb.size(); ++i)
    picture.rgb[i] = (halves[i] + halves[picture.rgb.size() + i]) / 2;
  return picture;
}

Picture filtered_picture(const DisplayFilter& filter, Session& session, const View& view,
                         const std::vector<float>& sums, unsigned samples, const Development& how) {
  const Film film(view, sums);
  const TexelBuffer features = filter.features(session.tracer(), session.world(), view, samples);
  return picture_of(filter.run(session.world(), view, film, features, samples, how).read(), view);
}

// As a camera's frame is: no channel above what its pixels hold.
Picture clipped(Picture picture, float most) {
  for (float& channel : picture.rgb) channel = std::min(channel, most);
  return picture;
}

Film film_of(const View& view, const Picture& picture) {
  std::vector<float> halves = picture.rgb;
  halves.insert(halves.end(), picture.rgb.begin(), picture.rgb.end());
  return {view, halves};
}

// One frame's film and sums: a few samples everywhere, the rest where it may be the sharpest. Empty when
// stopped.
struct SampledFrame {
  std::vector<float> sums;
  double share = 0;  // of the samples of a whole picture
};
SampledFrame sample_frame(Tracer& tracer, const View& view, const std::vector<std::uint32_t>& enough,
                          unsigned samples, std::uint32_t seed, const std::function<bool(double)>& go_on) {
  Film film = tracer.make_film(view);
  const auto take = [&](unsigned from, unsigned to) {
    for (unsigned i = from; i < to; i += 2) {
      for (std::uint32_t half = 0; half < 2; ++half)
        tracer.sample(view, film, {.index = i / 2, .half = half, .seed = seed});
      finish();
      if (!go_on(static_cast<double>(i + 2) / samples)) return false;
    }
    return true;
  };
  if (!take(0, few_samples)) return {};
  film.leave_out(enough);
  if (!take(few_samples, samples)) return {};
  SampledFrame frame{film.read()};
  // What was left out is brought to the count of the others.
  const float factor = static_cast<float>(samples) / few_samples;
  const int across = (view.width + Film::block_side - 1) / Film::block_side;
  double full = 0;
  for (std::size_t at = 0; at < frame.sums.size() / 3; ++at) {
    const auto pixel = static_cast<int>(at % view.pixels());
    const int x = pixel % view.width, y = pixel / view.width;
    if (enough[static_cast<std::size_t>(y / Film::block_side * across + x / Film::block_side)] == 0) {
      ++full;
      continue;
    }
    for (std::size_t c = 0; c < 3; ++c) frame.sums[3 * at + c] *= factor;
  }
  full /= static_cast<double>(frame.sums.size()) / 3;
  frame.share = full + (1 - full) * few_samples / samples;
  return frame;
}

// Even steps of lightness from the first frame to the last.
Picture8 origin_of(const MergedStack& merged, std::size_t frames) {
  Picture8 picture = make_picture8(merged.picture.width, merged.picture.height);
  for (std::size_t i = 0; i < merged.slice_of.size(); ++i) {
    const double share =
        frames < 2 ? 0 : static_cast<double>(merged.slice_of[i]) / static_cast<double>(frames - 1);
    for (std::size_t c = 0; c < 3; ++c)
      picture.rgb[3 * i + c] = static_cast<std::uint8_t>(std::lround(40 + 200 * share));
  }
  return picture;
}

}  // namespace

StackPlan plan_of(const Session& session, bool rail) {
  const StackTask task = stack_task(session.world(), range_of(session));
  return rail ? rail_plan(task, session.world().camera.magnification) : focus_ring_plan(task);
}

AxisPlot stack_plot(const Session& session, const StackPlan& plan) {
  const World& world = session.world();
  const CameraRig& rig = world.camera;
  const DepthRange range = range_of(session);
  const auto best = best_single_frame(rig.lens, range, circle_of(world));
  PlotLine as_set{fmt::format("{}, one frame", f_number_label(rig.lens.f_number)), {}};
  PlotLine at_best{best ? fmt::format("{}, best one frame", f_number_label(best->lens.f_number)) : "", {}};
  PlotLine stacked{fmt::format("{} frames, {}", plan.frames.size(), f_number_label(rig.lens.f_number)), {}};
  const Length depth = range.far - range.near, from = range.near - depth * 0.15,
               to = range.far + depth * 0.15;
  constexpr int points = 300;
  for (int i = 0; i <= points; ++i) {
    const Length at = from + (to - from) * (i / double{points});
    const double x = (at - rig.pupil_distance) / 1_mm;
    as_set.points.emplace_back(x, blur_at(rig.lens, rig.magnification, at) / 1_um);
    if (best) at_best.points.emplace_back(x, blur_at(best->lens, best->magnification, at) / 1_um);
    stacked.points.emplace_back(x, stack_blur_at(world, plan, at) / 1_um);
  }
  AxisPlot plot{.title = "Blur along the lens axis",
                .x = {.label = "mm behind the plane in focus (minus: toward the camera)"},
                .y = {.label = "equivalent disc on the sensor, \xc2\xb5m"},
                .lines = {as_set, stacked}};
  if (best) plot.lines.push_back(at_best);
  plot.x_marks = {{"subject's near end", (range.near - rig.pupil_distance) / 1_mm},
                  {"far end", (range.far - rig.pupil_distance) / 1_mm}};
  plot.y_marks = {{"circle of confusion", circle_of(world) / 1_um}};
  return plot;
}

std::optional<StackResult> render_stack(const ShaderLibrary& shaders, Session& session, const StackPlan& plan,
                                        const StackRequest& request, const Progress& progress) {
  const std::size_t count = plan.frames.size();
  if (count > most_rendered_frames)
    throw Refusal(
        fmt::format("this stack has {} frames; up to {} are rendered: a larger f-number, a smaller "
                    "scale or a larger circle of confusion needs fewer",
                    count, most_rendered_frames));
  const World base = session.world();
  const Scene own = base.scene;
  const Development how = session.exposure().development;
  const Mix mix = mix_over(base, how.shutter);
  const View view{.width = request.width, .height = request.height};
  const unsigned samples = picture_samples(request.quality);
  const DisplayFilter filter(shaders, session.tracer());
  // How large a frame shows a thing, and where it shows what is sharp in it, against the scene's own picture:
  // on a rail everything sharp has one scale.
  std::vector<double> scales, places;
  for (const StackFrame& frame : plan.frames) {
    const double turned =
        equivalent_image_distance(base.camera.lens, frame.magnification) / base.camera.image_distance;
    scales.push_back(request.rail ? 1 : turned);
    places.push_back(request.rail ? frame.focus / base.camera.pupil_distance : turned);
  }
  const Candidates candidates =
      candidates_of(session, plan, view, inverse_depths(filter, session, view), places, request.whole_frames);
  const auto most =
      static_cast<float>(raw_clip_exposure(how.iso) / exposure_per_luminance(base, how.shutter));  // cd/m2
  StackResult result;
  result.samples = samples;
  result.sampled_share = 0;
  std::vector<StackSlice> slices;
  const double share = 1 / static_cast<double>(count + 2);
  const auto start = Clock::now();
  for (std::size_t k = 0; k < count; ++k) {
    session.place_camera(focused_scene(base, plan.frames[k].rail, plan.frames[k].focus));
    const SampledFrame frame = sample_frame(
        session.tracer(), view, candidates.enough(k), samples, static_cast<std::uint32_t>(own.seed),
        [&](double done) { return progress((static_cast<double>(k) + done) * share); });
    if (frame.sums.empty()) {
      session.place_camera(own);
      return std::nullopt;
    }
    const Picture picture =
        request.filtered
            ? filtered_picture(filter, session, view, frame.sums, samples, how)
            : picture_of(spread_strays(mixed_halves(mix, frame.sums, view.pixels(), samples), view.width),
                         view);
    slices.push_back({clipped(picture, most), scales[k], candidates.trust(k)});
    if (request.whole_frames)
      result.frames.push_back(
          session.developer().develop_mixed(session.world(), view, film_of(view, picture), how));
    result.sampled_share += frame.share / static_cast<double>(count);
  }
  const MergedStack merged = merge_focus_stack(slices);
  result.frames_s = std::chrono::duration<double>(Clock::now() - start).count();
  result.origin = origin_of(merged, count);
  session.place_camera(own);
  result.merged = session.developer().develop_mixed(base, view, film_of(view, merged.picture), how);

  const auto single = [&](const Scene& scene, double from) {
    session.place_camera(scene);
    // The same brightness: the shutter follows the working f-number.
    Development longer = how;
    longer.shutter =
        how.shutter * std::pow(session.world().camera.working_f_number / base.camera.working_f_number, 2);
    return render_picture(
        session.tracer(), session.developer(), session.world(),
        {.width = request.width, .height = request.height, .samples = samples, .filtered = request.filtered},
        longer, [&](double done) { return progress(from + done * share); }, &filter);
  };
  const auto best = best_single_frame(base.camera.lens, range_of(session), circle_of(base));
  Scene best_scene = own;
  if (best) {
    best_scene = focused_scene(base, 0_mm, best->focus);
    best_scene.camera.f_number = best->lens.f_number / own.camera.converter;
  }
  const PictureResult as_set = single(own, 1 - 2 * share);
  const PictureResult at_best = as_set.complete ? single(best_scene, 1 - share) : as_set;
  session.place_camera(own);
  if (!at_best.complete) return std::nullopt;
  result.as_set = as_set.picture;
  result.best = at_best.picture;
  return result;
}

}  // namespace undercap
