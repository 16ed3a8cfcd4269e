#include "engine/session/world_worker.h"

#include <chrono>
#include <exception>
#include <glm/geometric.hpp>
#include <utility>

#include "engine/report/plan.h"

namespace undercap {
namespace {

constexpr double drawn_within_m = 1.2;  // of where the camera looks: what a plan may show

}  // namespace

SetOutlines set_outlines(const World& world) {
  return {plan_outlines(world, drawn_within_m),
          elevation_outlines(world, axes_of(world).forward, drawn_within_m)};
}

WorldWorker::WorldWorker() : thread_([this] { run(); }) {}

WorldWorker::~WorldWorker() {
  cancel();
  const std::scoped_lock lock(mutex_);
  over_ = true;
  wake_.notify_all();
}

void WorldWorker::start(Job job) {
  cancel();
  const std::scoped_lock lock(mutex_);
  next_ = std::move(job);
  wake_.notify_all();
}

void WorldWorker::cancel() {
  const std::scoped_lock lock(mutex_);
  next_.reset();
  result_.reset();
  if (running_) running_->store(true);
}

bool WorldWorker::busy() const {
  const std::scoped_lock lock(mutex_);
  return next_ || (running_ && !running_->load()) || result_;
}

std::optional<WorldWorker::Result> WorldWorker::take() {
  const std::scoped_lock lock(mutex_);
  return std::exchange(result_, std::nullopt);
}

void WorldWorker::run() {
  for (;;) {
    std::unique_lock lock(mutex_);
    wake_.wait(lock, [this] { return over_ || next_; });
    if (over_) return;
    Job job = std::move(*std::exchange(next_, std::nullopt));
    running_ = std::make_shared<std::atomic<bool>>(false);
    const std::shared_ptr<std::atomic<bool>> cancelled = running_;
    lock.unlock();
    work(std::move(job), *cancelled);
    lock.lock();
    running_.reset();
  }
}

void WorldWorker::work(Job job, const std::atomic<bool>& cancelled) {
  const auto start = std::chrono::steady_clock::now();
  Result result{.number = job.number};
  job.options.cancelled = &cancelled;
  try {
    result.world = build_world(job.scene, job.options);
    if (!cancelled) result.packed = pack_world(*result.world);
    if (!cancelled) result.outlines = set_outlines(*result.world);
  } catch (const Cancelled&) {
    return;
  } catch (const std::exception& fault) {
    result.world.reset();
    result.fault = fault.what();
  }
  result.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  const std::scoped_lock lock(mutex_);
  if (!cancelled) result_ = std::move(result);
}

}  // namespace undercap
