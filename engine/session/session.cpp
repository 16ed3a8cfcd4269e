#include "engine/session/session.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "engine/core/errors.h"
#include "engine/measure/stages.h"

namespace undercap {
namespace {

using Clock = Session::Clock;
double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

// With a noise to reach. A meter's pass is 32,768 samples, a survey's near 200,000.
constexpr unsigned most_meter_passes = 256, most_survey_passes = 64;

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

unsigned separation_passes(Quality quality) {
  switch (quality) {
    case Quality::draft:
      return 1;
    case Quality::good:
      return 2;
    case Quality::fine:
      return 6;
  }
  return 2;
}

Scene with_source(Scene scene, const Source& source) {
  for (Source& other : scene.sources)
    if (other.name == source.name) other = source;
  return scene;
}

Session::Session(const ShaderLibrary& shaders, const Scene& scene, Quality quality) : shaders_(shaders) {
  auto start = Clock::now();
  world_ = build_world(scene, {.draft = quality == Quality::draft});
  times_.world_s = seconds_since(start);
  start = Clock::now();
  tracer_ = std::make_unique<Tracer>(shaders, world_);
  developer_ = std::make_unique<Developer>(shaders);
  finish();
  times_.device_s = seconds_since(start);
}

void Session::place_camera(const Scene& scene) {
  update_camera(world_, scene);
  tracer_->move_camera(world_);
}

bool Session::use_camera(const Scene& scene) {
  const Scene before = world_.scene;
  if (update_camera(world_, scene)) {
    update_camera(world_, before);
    return false;
  }
  tracer_->move_camera(world_);
  survey_.reset();
  white_.reset();
  separation_.reset();
  exposure_.reset();
  exposing_spot_.reset();
  notes_.clear();
  return true;
}

bool Session::use_camera_and_lamps(const Scene& scene) {
  if (!use_camera(scene)) return false;
  std::vector<std::string> lamps;
  for (const Source& source : scene.sources) lamps.push_back(source.name);
  update_lamps(world_, scene, lamps, aims_);
  tracer_->move_lamps(world_);
  return true;
}

void Session::use_f_number(const Scene& scene) {
  std::optional<Survey> white = std::move(white_);
  UNDERCAP_CHECK(use_camera(scene), "another f-number moves no barrel");
  white_ = std::move(white);
}

void Session::use_mix(const Scene& scene) {
  UNDERCAP_CHECK(survey_ && white_, "the light is mixed anew after the survey");
  update_mix(world_, scene);
  notes_.clear();
  choose();
}

void Session::choose() {
  exposure_ = choose_exposure(world_, *survey_, *white_, exposing_spot_ ? &*exposing_spot_ : nullptr);
}

bool Session::survey(Quality quality, const StopRule& stop, const Progress& keep_going, For use) {
  start_ = Clock::now();
  const Scene& scene = world_.scene;
  // The light on the subject, for the white balance and its readings, needs no more than an eighth of the
  // samples.
  const unsigned passes = survey_passes(quality), white_passes = std::max(1u, passes / 8);
  const bool wants_white = use == For::readings || !scene.exposure.white_balance_k;
  // Shares of the time: the survey counts as one.
  const double white_share = wants_white ? 0.125 : 0, meter_share = 0.06,
               barrel_share = has_barrel() ? 0.5 : 0, separation_share = use == For::readings ? 1.5 : 0,
               all = 1 + white_share + meter_share * static_cast<double>(scene.meters.size()) + barrel_share +
                     separation_share;
  survey_until_ = 1 / all;
  white_until_ = (1 + white_share) / all;
  meters_until_ = 1 - (barrel_share + separation_share) / all;
  barrel_until_ = 1 - separation_share / all;
  separation_.reset();
  bool stopped = false;
  const auto within = [&](double from, double to, double time_share) {
    return [&, from, to, time_share](double done) {
      stopped = stopped || !keep_going((from + (to - from) * done) / white_until_);
      return !stopped && !(stop.seconds && seconds_since(start_) > time_share * *stop.seconds);
    };
  };
  Survey& survey = survey_.emplace(start_survey(world_, false));
  extend_survey_to(*tracer_, world_, survey, {passes, most_survey_passes, stop.noise_pct},
                   within(0, survey_until_, survey_until_));
  if (stopped) return false;
  if (survey.passes < passes)
    notes_.push_back(
        fmt::format("the time was up after {} of {} rounds of the survey", survey.passes, passes));
  note_if_noisy("the subject", survey.subject, stop);
  note_if_noisy("the backdrop", survey.backdrop, stop);
  if (!white_ || (wants_white && white_->passes == 0)) {
    white_.emplace(start_survey(world_, true));
    if (wants_white)
      white_ = take_survey(*tracer_, world_, white_passes, true,
                           within(survey_until_, white_until_, white_until_));
  }
  if (stopped) return false;
  if (const Meter* meter = exposing_spot(scene)) {
    exposing_spot_ = measure_meter(*meter, quality, stop, white_until_ + meter_share / all, keep_going);
    if (!exposing_spot_) return false;
  }
  choose();
  return true;
}

void Session::use_source(const Source& source) {
  update_lamps(world_, with_source(world_.scene, source), {source.name}, aims_);
  tracer_->move_lamps(world_);
}

Survey Session::another_survey(unsigned passes, int seed, const Progress& keep_going, bool white_first) {
  const int own = std::exchange(world_.scene.seed, seed);
  Survey survey = take_survey(*tracer_, world_, passes, white_first, keep_going);
  world_.scene.seed = own;
  return survey;
}

std::optional<DepthRange> Session::needed_depth() const {
  UNDERCAP_CHECK(survey_.has_value(), "the subject's depth is known after the survey");
  Use all;
  all.fill(true);
  return subject_range(*survey_, all);
}

bool Session::has_barrel() const {
  return world_.scene.camera.barrel_mm > 0 || world_.scene.camera.body_shade;
}

void Session::note_if_noisy(const std::string& what, const RegionSums& sums, const StopRule& stop) {
  const double reached = noise_pct_of(sums, mix_foreseen(world_));
  if (stop.noise_pct && reached > *stop.noise_pct)
    notes_.push_back(
        fmt::format("{} reached {:.2f} %, not the {:g} % asked for", what, reached, *stop.noise_pct));
}

PictureResult Session::picture(const PictureRequest& request, const Progress& keep_going) {
  UNDERCAP_CHECK(exposure_.has_value(), "a picture is made after the survey that exposes it");
  const bool needs_filter = request.filtered || Overlay::needs_features(request.overlay);
  return render_picture(*tracer_, *developer_, world_, request, exposure_->development, keep_going,
                        needs_filter ? &filter() : nullptr);
}

Picture8 Session::developed(const SampledPicture& sampled, bool filtered) {
  UNDERCAP_CHECK(exposure_.has_value(), "a picture is made after the survey that exposes it");
  return develop_sampled(*tracer_, *developer_, world_, sampled, exposure_->development,
                         filtered ? &filter() : nullptr);
}

DisplayFilter& Session::filter() {
  if (!filter_) filter_ = std::make_unique<DisplayFilter>(shaders_, *tracer_);
  return *filter_;
}

std::optional<RegionSums> Session::measure_meter(const Meter& meter, Quality quality, const StopRule& stop,
                                                 double until, const Progress& keep_going) {
  const auto start = Clock::now();
  bool stopped = !keep_going(until);
  const RegionSums sums = take_meter_to(
      *tracer_, world_, meter, {survey_passes(quality), most_meter_passes, stop.noise_pct}, [&] {
        stopped = stopped || !keep_going(until);
        return !stopped &&
               !(stop.seconds && seconds_since(start_) + seconds_since(start) > until * *stop.seconds);
      });
  if (stopped) return std::nullopt;
  const double passes = sums.samples() / (batch_count * meter_side * meter_side);
  if (passes < survey_passes(quality))
    notes_.push_back(fmt::format("the time was up after {:.0f} of {} rounds of meter '{}'", passes,
                                 survey_passes(quality), meter.name));
  note_if_noisy(fmt::format("meter '{}'", meter.name), sums, stop);
  return sums;
}

bool Session::take_separation_within(const StopRule& stop, Quality quality, const Progress& keep_going) {
  bool stopped = !keep_going(0);
  if (stopped) return false;
  const unsigned passes = separation_passes(quality);
  SeparationFilm film = take_separation(*tracer_, world_, passes, [&](double done) {
    stopped = !keep_going(done);
    return !stopped && !(stop.seconds && seconds_since(start_) > *stop.seconds);
  });
  if (stopped) return false;
  if (film.passes < passes)
    notes_.push_back(
        fmt::format("the time was up after {} of {} rounds of the separation", film.passes, passes));
  separation_ = std::move(film);
  return true;
}

bool Session::separation(Quality quality, const Progress& keep_going) {
  UNDERCAP_CHECK(exposure_.has_value(), "the separation is taken after the survey");
  return take_separation_within({}, quality, keep_going);
}

std::vector<Reading> Session::readings(Quality quality, const StopRule& stop, const Progress& keep_going) {
  UNDERCAP_CHECK(survey_ && exposure_, "readings are taken after the survey");
  const auto& scene_meters = world_.scene.meters;
  const Meter* exposed_on = exposing_spot(world_.scene);
  std::vector<MeterSums> meters;
  for (std::size_t i = 0; i < scene_meters.size(); ++i) {
    const Meter& meter = scene_meters[i];
    const double until = white_until_ + (meters_until_ - white_until_) * static_cast<double>(i + 1) /
                                            static_cast<double>(scene_meters.size());
    const auto sums =
        &meter == exposed_on ? exposing_spot_ : measure_meter(meter, quality, stop, until, keep_going);
    if (!sums) return {};
    meters.push_back({meter, *sums});
  }
  std::optional<Survey> without_barrel;
  if (has_barrel()) {
    const World bare = ::undercap::without_barrel(world_);
    Tracer tracer(shaders_, bare);
    bool stopped = false;
    without_barrel =
        take_survey(tracer, bare, std::max(1u, survey_passes(quality) / 2), false, [&](double done) {
          stopped = !keep_going(meters_until_ + (barrel_until_ - meters_until_) * done);
          return !stopped && !(stop.seconds && seconds_since(start_) > barrel_until_ * *stop.seconds);
        });
    if (stopped) return {};
  }
  const auto last = [&](double done) { return keep_going(barrel_until_ + (1 - barrel_until_) * done); };
  if (!separation_ && !take_separation_within(stop, quality, last)) return {};
  return all_readings({world_, *survey_, *exposure_, meters, without_barrel ? &*without_barrel : nullptr,
                       &*white_, &*separation_});
}

std::vector<std::string> Session::notes() const {
  std::vector<std::string> all = world_.notes;
  if (exposure_) all.insert(all.end(), exposure_->notes.begin(), exposure_->notes.end());
  all.insert(all.end(), notes_.begin(), notes_.end());
  if (const auto warning = tracer_->counters().warning()) all.push_back(*warning);
  return all;
}

}  // namespace undercap
