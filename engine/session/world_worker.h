// Builds worlds beside the thread that draws: kit, placing, BVH, outlines of the drawings. One job at a time;
// a new one cancels the last.
#pragma once

#include <atomic>
#include <condition_variable>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>

#include "engine/render/packed_world.h"
#include "engine/report/outlines.h"
#include "engine/world/world.h"

namespace undercap {

// What the drawings show of the props.
struct SetOutlines {
  std::vector<PropOutline> plan, elevation;
};
SetOutlines set_outlines(const World& world);

class WorldWorker {
 public:
  struct Job {
    Scene scene;
    BuildOptions options;
    std::uint64_t number = 0;
  };
  struct Result {
    std::uint64_t number = 0;
    std::optional<World> world{};  // none: 'fault' says why
    PackedWorld packed{};
    SetOutlines outlines{};
    std::string fault{};
    double seconds = 0;
  };

  WorldWorker();
  ~WorldWorker();  // cancels, and waits for what cannot be

  void start(Job job);
  void cancel();
  bool busy() const;             // until the result is taken
  std::optional<Result> take();  // of the last job started, when it is done

 private:
  void run();
  void work(Job job, const std::atomic<bool>& cancelled);

  mutable std::mutex mutex_;
  std::condition_variable wake_;
  std::optional<Job> next_;
  std::optional<Result> result_;
  std::shared_ptr<std::atomic<bool>> running_;  // of the job under way: set to stop it
  bool over_ = false;
  std::jthread thread_;
};

}  // namespace undercap
