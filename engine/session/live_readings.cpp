#include "engine/session/live_readings.h"

#include <algorithm>
#include <chrono>

namespace undercap {
namespace {

using Clock = std::chrono::steady_clock;
double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

// Working all readings out takes 10 to 50 ms: not with each step of a slider.
constexpr double pause_s = 0.2;
constexpr int quick_cells_high = 24, whole_cells_high = 64;

bool wants_barrel(const World& world) {
  return world.scene.camera.barrel_mm > 0 || world.scene.camera.body_shade;
}

}  // namespace

void LiveReadings::start(const Tracer& tracer, const World& world) {
  survey_.reset();
  white_.reset();
  without_barrel_.reset();
  meters_.clear();
  readings_due_ = false;  // there is nothing left to work them out from
  restart(tracer, world);
}

void LiveReadings::restart(const Tracer& tracer, const World& world) {
  meter_run_.reset();
  stage_ = Stage::quick;
  current_ = whole_taken_ = whole_white_ = false;
  run_ = std::make_unique<SurveyRun>(tracer, world, false, quick_cells_high);
}

void LiveReadings::meters_changed(const Tracer& tracer, const World& world) {
  meter_run_.reset();
  meters_.clear();
  if (stage_ > Stage::meters) {
    stage_ = Stage::whole_white;
    next_stage(tracer, world);
  }
  if (survey_ && white_) expose(world);
}

void LiveReadings::remix(const World& world) {
  if (survey_ && white_) expose(world);
}

const Survey* LiveReadings::survey() const { return survey_ ? &*survey_ : nullptr; }

const RegionSums* LiveReadings::meter(const std::string& name) const {
  const auto found =
      std::find_if(meters_.begin(), meters_.end(), [&](const MeterSums& m) { return m.meter.name == name; });
  return found == meters_.end() ? nullptr : &found->sums;
}

double LiveReadings::share_done() const {
  constexpr double of_stage[] = {0, 0.03, 0.06, 0.7, 0.85, 0.9, 1};
  return of_stage[static_cast<int>(stage_)];
}

const RegionSums* LiveReadings::exposing_sums(const World& world) const {
  const Meter* meter = exposing_spot(world.scene);
  return meter ? this->meter(meter->name) : nullptr;
}

void LiveReadings::expose(const World& world) {
  // A spot that the camera meters on is not there before the meters are: until then the last exposure holds.
  const RegionSums* spot = exposing_sums(world);
  if (exposing_spot(world.scene) && !spot && exposure_) {
  } else if (exposing_spot(world.scene) && !spot) {
    World whole = world;
    whole.scene.exposure.meter_on.reset();
    exposure_ = choose_exposure(whole, *survey_, *white_);
  } else {
    exposure_ = choose_exposure(world, *survey_, *white_, spot);
  }
  readings_due_ = true;
}

bool LiveReadings::work_out(const World& world) {
  if (!readings_due_ || seconds_since(worked_out_) < pause_s) return false;
  readings_ = all_readings(
      {world, *survey_, *exposure_, meters_, without_barrel_ ? &*without_barrel_ : nullptr, &*white_});
  readings_due_ = false;
  worked_out_ = Clock::now();
  return true;
}

// What a stage ends with. True when the readings are new.
bool LiveReadings::finish_stage(const Tracer& tracer, const World& world) {
  switch (stage_) {
    case Stage::quick:
      survey_ = run_->survey();
      without_barrel_.reset();
      break;
    case Stage::quick_white:
      white_ = run_->survey();
      break;
    case Stage::whole:
      survey_ = run_->survey();
      whole_taken_ = true;
      if (run_->survey().passes < whole_passes) {
        expose(world);
        return true;
      }
      break;
    case Stage::whole_white:
      white_ = run_->survey();
      break;
    case Stage::meters:
      meters_.push_back({meter_run_->meter(), meter_run_->sums()});
      meter_run_.reset();
      break;
    case Stage::without_barrel:
      if (run_->survey().passes < whole_passes / 2) return false;
      without_barrel_ = run_->survey();
      break;
    case Stage::done:
      return false;
  }
  next_stage(tracer, world);
  if (!white_) return false;
  current_ = true;
  expose(world);
  return true;
}

void LiveReadings::next_stage(const Tracer& tracer, const World& world) {
  if (stage_ != Stage::meters || meters_.size() >= world.scene.meters.size())
    stage_ = static_cast<Stage>(static_cast<int>(stage_) + 1);
  if (stage_ == Stage::whole_white) meters_.clear();
  if (stage_ == Stage::meters && meters_.size() >= world.scene.meters.size()) stage_ = Stage::without_barrel;
  if (stage_ == Stage::without_barrel && !wants_barrel(world)) stage_ = Stage::done;
  run_.reset();
  if (stage_ == Stage::quick_white)
    run_ = std::make_unique<SurveyRun>(tracer, world, true, quick_cells_high);
  else if (stage_ == Stage::whole || stage_ == Stage::without_barrel)
    run_ = std::make_unique<SurveyRun>(tracer, world, false, whole_cells_high);
  else if (stage_ == Stage::whole_white)
    run_ = std::make_unique<SurveyRun>(tracer, world, true, whole_cells_high);
  else if (stage_ == Stage::meters)
    meter_run_ = std::make_unique<MeterRun>(tracer, world, world.scene.meters[meters_.size()]);
}

bool LiveReadings::advance(Tracer& tracer, const World& world, double seconds) {
  const auto start = Clock::now();
  bool news = work_out(world);
  for (double left = seconds; left > 0 && stage_ != Stage::done; left = seconds - seconds_since(start)) {
    const auto slice = Clock::now();
    if (meter_run_) {
      meter_run_->add_batch(tracer, 0, whole_passes);
      if (meter_run_->done()) news = finish_stage(tracer, world) || news;
      continue;
    }
    if (stage_ == Stage::without_barrel) tracer.show_kit(false);
    const int rows = pace_.rows(left, run_->width(), tracer.slice_rows());
    const bool round = run_->advance(tracer, rows);
    finish();
    if (stage_ == Stage::without_barrel) tracer.show_kit(true);
    pace_.took(seconds_since(slice), run_->width(), std::min(rows, run_->survey().height));
    if (round) news = finish_stage(tracer, world) || news;
  }
  return work_out(world) || news;
}

}  // namespace undercap
