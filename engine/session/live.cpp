#include "engine/session/live.h"

#include <algorithm>
#include <chrono>
#include <utility>

#include "engine/core/errors.h"
#include "engine/world/update.h"

namespace undercap {
namespace {

using Clock = LivePicture::Clock;

double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

bool any_snoot(const Scene& scene) {
  return std::any_of(scene.sources.begin(), scene.sources.end(),
                     [](const Source& source) { return source.snoot_mm.has_value(); });
}

// What the world has films for is what the new scene still has, so that it can follow without a build.
bool same_blocks(const Scene& a, const Scene& b) {
  const auto same = [](const auto& one, const auto& other) { return one.name == other.name; };
  return std::equal(a.sources.begin(), a.sources.end(), b.sources.begin(), b.sources.end(), same) &&
         std::equal(a.props.begin(), a.props.end(), b.props.begin(), b.props.end(), same);
}

template <class T>
void add_new(std::vector<T>& to, const std::vector<T>& from) {
  for (const T& one : from)
    if (std::find(to.begin(), to.end(), one) == to.end()) to.push_back(one);
}

}  // namespace

SceneChange merged(const SceneChange& a, const SceneChange& b) {
  SceneChange both = a;
  both.mix |= b.mix;
  both.camera |= b.camera;
  both.sky |= b.sky;
  both.set |= b.set;
  both.readings |= b.readings;
  add_new(both.lamps, b.lamps);
  add_new(both.keys, b.keys);
  return both;
}

Live::Live(const ShaderLibrary& shaders) : shaders_(shaders), picture_(shaders) {}

void Live::open(const Scene& scene) {
  scene_ = scene;
  pending_.reset();
  build_is_check_ = false;
  start_build();
}

void Live::start_build() {
  since_build_ = {};
  build_at_.reset();
  worker_.start({scene_, {}, ++job_});
}

bool Live::fits(const Scene& scene) const { return world_ && same_blocks(world_->scene, scene); }

void Live::edit(const Scene& scene, const SceneChange& change, bool dragging) {
  dragging_ = dragging;
  picture_.set_dragging(dragging);
  const Scene before = std::exchange(scene_, scene);
  SceneChange here = change;
  // A snoot is geometry that goes with its lamp, and a new sky is easier had with a new world.
  if (world_ && (any_snoot(scene) || any_snoot(world_->scene)) &&
      (change.camera || change.sky || !change.lamps.empty()))
    here.set = true;
  if (!world_ || here.set) {
    build_is_check_ = false;
    start_build();
    if (!fits(scene)) return;
    here.set = false;
  }
  if (worker_.busy()) since_build_ = merged(since_build_, here);
  if (!fits(scene)) return;
  // While something is dragged, what the last step began gets its first sample before the next one begins.
  if (dragging && here.any_film() && picture_.shown().texture != 0 && !picture_.has_sample()) {
    pending_ = pending_ ? merged(*pending_, here) : here;
    return;
  }
  if (pending_) here = merged(*std::exchange(pending_, std::nullopt), here);
  try {
    apply(scene, here);
  } catch (...) {
    scene_ = before;
    throw;
  }
}

void Live::released() {
  dragging_ = false;
  picture_.set_dragging(false);
  if (pending_) apply_pending();
  if (tracer_ && !readings_.current()) readings_.restart(*tracer_, *world_);
  draw_ = true;
}

void Live::apply_pending() {
  const SceneChange change = *std::exchange(pending_, std::nullopt);
  try {
    apply(scene_, change);
  } catch (const Refusal& refusal) {
    fault_ = refusal.what();
  }
}

void Live::apply(const Scene& scene, const SceneChange& change) {
  const bool view_stays = same_view(world_->scene, scene);
  const std::size_t groups = world_->groups.size();
  if (change.camera) {
    const bool moved = update_camera(*world_, scene);
    tracer_->move_camera(*world_);
    if (moved) tracer_->show_kit(false);
    outlines_stale_ = true;
    // Barrel and detail are set right when the hand rests.
    if (moved || !view_stays) {
      build_at_ = Clock::now() + std::chrono::milliseconds(700);
      build_is_check_ = !worker_.busy();
    }
  }
  const bool daylight = std::any_of(change.keys.begin(), change.keys.end(), [](const std::string& key) {
    return key.starts_with("sky") || key.starts_with("sun") || key.starts_with("place");
  });
  if (change.sky) {
    update_light(*world_, scene);
    tracer_->relight(*world_);
  } else if (change.camera) {
    // A lamp that aims at one of many aims at the one nearest the camera.
    std::vector<std::string> all;
    for (const Source& source : scene.sources) all.push_back(source.name);
    aims_.clear();
    update_lamps(*world_, scene, all, aims_);
    tracer_->move_lamps(*world_);
  } else if (!change.lamps.empty()) {
    update_lamps(*world_, scene, change.lamps, aims_);
    tracer_->move_lamps(*world_);
  }
  if (!change.sky && change.mix) update_mix(*world_, scene, daylight);
  world_->scene = scene;
  ++version_;
  if (change.camera || change.sky) ++set_version_;
  draw_ = true;
  edited_at_ = Clock::now();
  if (world_->groups.size() != groups) {
    picture_.start(*tracer_);
    readings_.start(*tracer_, *world_);
    return;
  }
  if (change.camera || change.sky) {
    picture_.restart();
  } else {
    for (const std::string& lamp : change.lamps) picture_.restart_group(world_->group_index(lamp));
    if (change.mix) picture_.refresh();
  }
  if (change.any_film()) {
    // A survey that is half taken blends the steps of a drag; the one after the drag is clean.
    if (!dragging_ || readings_.current()) readings_.restart(*tracer_, *world_);
  } else if (change.mix) {
    readings_.remix(*world_);
  } else if (change.readings) {
    readings_.meters_changed(*tracer_, *world_);
  }
}

void Live::set_filtered(bool filtered) {
  if (filtered == filtered_) return;
  filtered_ = filtered;
  picture_.refresh();
  draw_ = true;
}

void Live::take_build(WorldWorker::Result result) {
  const SceneChange since = std::exchange(since_build_, {});
  const bool check = std::exchange(build_is_check_, false);
  if (!result.world) {
    fault_ = result.fault;
    return;
  }
  build_seconds_ = result.seconds;
  outlines_ = std::move(result.outlines);
  outlines_stale_ = false;
  ++version_;
  ++set_version_;
  draw_ = true;
  if (check && world_ && same_geometry(*result.world, *world_)) {
    world_->notes = result.world->notes;
    tracer_->show_kit(true);
    return;
  }
  GpuWorld gpu_world(std::move(result.packed));
  gpu_world.find_pattern_means(shaders_, *result.world);
  auto world = std::make_unique<World>(std::move(*result.world));
  auto tracer = std::make_unique<Tracer>(shaders_, *world, std::move(gpu_world), tracer_.get());
  // Surveys under way look at the old world until they are begun anew.
  picture_.start(*tracer);
  readings_.start(*tracer, *world);
  aims_.clear();
  tracer_ = std::move(tracer);
  world_ = std::move(world);
  try {
    if (!since.nothing()) apply(scene_, since);
  } catch (const Refusal& refusal) {
    fault_ = refusal.what();
  }
  world_->scene = scene_;
}

bool Live::work(double seconds) {
  const auto start = Clock::now();
  if (auto result = worker_.take(); result && result->number == job_) take_build(std::move(*result));
  bool news = std::exchange(draw_, false);
  if (!world_) return news;
  if (pending_ && picture_.has_sample()) apply_pending();
  if (build_at_ && !dragging_ && Clock::now() > *build_at_ && !worker_.busy()) start_build();
  if (outlines_stale_ && !dragging_ && !worker_.busy()) {
    outlines_ = set_outlines(*world_);
    outlines_stale_ = false;
    news = true;
  }
  const double left = seconds - seconds_since(start);
  if (left <= 0) return news;
  if (!readings_.exposure()) return readings_.advance(*tracer_, *world_, left) || news;
  // Turns: after an edit the picture first, until it is fit to be seen or the moment for it is over; then the
  // readings get a third of the time, and half of it while theirs are old.
  constexpr unsigned fit_samples = 8;
  constexpr double moment_s = 0.12;
  const bool waits_for_picture =
      !picture_.has_sample() || (picture_.samples() < fit_samples && seconds_since(edited_at_) < moment_s);
  const double share = readings_.done()    ? 0
                       : waits_for_picture ? (dragging_ ? 0.2 : 0)
                                           : (readings_.current() ? 0.33 : 0.6);
  turn_ += share;
  if (turn_ >= 1 || picture_.complete()) {
    turn_ = std::max(0.0, turn_ - 1);
    if (readings_.advance(*tracer_, *world_, left)) {
      picture_.refresh();
      news = true;
    }
  } else {
    news = picture_.advance(*tracer_, *world_, development(), filtered_, left) || news;
  }
  return news;
}

bool Live::idle() const {
  return world_ && !worker_.busy() && !build_at_ && !pending_ && readings_.done() && picture_.complete() &&
         picture_.showing_current();
}

std::optional<std::string> Live::take_fault() { return std::exchange(fault_, std::nullopt); }

}  // namespace undercap
