#include "engine/session/session.h"

#include <fmt/format.h>

#include <chrono>

#include "engine/core/errors.h"

namespace undercap {
namespace {

using Clock = std::chrono::steady_clock;
double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

constexpr unsigned most_meter_passes = 256;

}  // namespace

unsigned picture_samples(Quality quality) {
  switch (quality) {
    case Quality::draft:
      return 16;
    case Quality::good:
      return 64;
    case Quality::fine:
      return 256;
  }
  return 64;
}

unsigned survey_passes(Quality quality) {
  switch (quality) {
    case Quality::draft:
      return 1;
    case Quality::good:
      return 4;
    case Quality::fine:
      return 16;
  }
  return 4;
}

Session::Session(const ShaderLibrary& shaders, const Scene& scene) : shaders_(shaders) {
  auto start = Clock::now();
  world_ = build_world(scene);
  times_.world_s = seconds_since(start);
  start = Clock::now();
  tracer_ = std::make_unique<Tracer>(shaders, world_);
  developer_ = std::make_unique<Developer>(shaders);
  finish();
  times_.device_s = seconds_since(start);
}

bool Session::survey(Quality quality, const StopRule& stop, const Progress& keep_going) {
  const auto start = Clock::now();
  bool stopped = false;
  // The light on the subject, for the white balance, needs no more than an eighth of the samples.
  const unsigned passes = survey_passes(quality), white_passes = std::max(1u, passes / 8);
  const double share = static_cast<double>(passes) / (passes + white_passes);
  const auto within = [&](double from, double width) {
    return [&, from, width](double done) {
      if (!keep_going(from + width * done)) stopped = true;
      return !stopped && !(stop.seconds && seconds_since(start) > *stop.seconds);
    };
  };
  survey_ = take_survey(*tracer_, world_, passes, false, within(0, share));
  if (stopped) return false;
  std::optional<Survey> white;
  if (!world_.scene.exposure.white_balance_k)
    white = take_survey(*tracer_, world_, white_passes, true, within(share, 1 - share));
  if (stopped) return false;
  std::optional<RegionSums> spot;
  if (const Meter* meter = exposing_spot(world_.scene)) spot = take_meter(*tracer_, world_, *meter, passes);
  exposure_ = choose_exposure(world_, *survey_, white ? *white : *survey_, spot ? &*spot : nullptr);
  return true;
}

PictureResult Session::picture(const PictureRequest& request, const Progress& keep_going) {
  UNDERCAP_CHECK(exposure_.has_value(), "a picture is made after the survey that exposes it");
  if (request.filtered && !filter_) filter_ = std::make_unique<DisplayFilter>(shaders_, *tracer_);
  return render_picture(*tracer_, *developer_, world_, request, exposure_->development, keep_going,
                        filter_.get());
}

RegionSums Session::measure_meter(const Meter& meter, Quality quality, const StopRule& stop) {
  unsigned passes = survey_passes(quality);
  for (;;) {
    RegionSums sums = take_meter(*tracer_, world_, meter, passes);
    const auto mean = mean_luminance(sums, mix_of(world_));
    if (!stop.noise_pct || !mean || mean->value <= 0 || 100 * mean->se <= *stop.noise_pct * mean->value)
      return sums;
    if (passes >= most_meter_passes) {
      notes_.push_back(fmt::format("meter '{}' reached {:.2f} %, not the {:g} % asked for", meter.name,
                                   100 * mean->se / mean->value, *stop.noise_pct));
      return sums;
    }
    passes *= 2;
  }
}

std::vector<Reading> Session::readings(Quality quality, const StopRule& stop, const Progress& keep_going) {
  UNDERCAP_CHECK(survey_ && exposure_, "readings are taken after the survey");
  std::vector<MeterSums> meters;
  for (const Meter& meter : world_.scene.meters)
    meters.push_back({meter, measure_meter(meter, quality, stop)});
  std::optional<Survey> without_barrel;
  const Camera& camera = world_.scene.camera;
  if (camera.barrel_mm > 0 || camera.body_shade) {
    const World bare = build_world(world_.scene, false);
    Tracer tracer(shaders_, bare);
    without_barrel = take_survey(tracer, bare, std::max(1u, survey_passes(quality) / 2), false, keep_going);
  }
  return all_readings({world_, *survey_, *exposure_, meters, without_barrel ? &*without_barrel : nullptr});
}

std::vector<std::string> Session::notes() const {
  std::vector<std::string> all = world_.notes;
  if (exposure_) all.insert(all.end(), exposure_->notes.begin(), exposure_->notes.end());
  all.insert(all.end(), notes_.begin(), notes_.end());
  if (const auto warning = tracer_->counters().warning()) all.push_back(*warning);
  return all;
}

}  // namespace undercap
