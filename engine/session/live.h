// One open scene in a window: its world, kept in step with edits, its picture and its readings, in slices of
// time. The caller's thread owns the context; kit, BVH and outlines are made beside it.
//
//   Live live(shaders);
//   live.open(scene);
//   for (;;) { if (edited) live.edit(scene, change, dragging); live.work(0.008); draw(live.picture()); }
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/session/edit_cost.h"
#include "engine/session/live_picture.h"
#include "engine/session/live_readings.h"
#include "engine/session/world_worker.h"
#include "engine/world/update.h"

namespace undercap {

class Live {
 public:
  explicit Live(const ShaderLibrary& shaders);

  // Another scene: builds it, while the old one stays to be seen.
  void open(const Scene& scene);
  // An edit of the scene. 'dragging': others will follow at once, so that only what keeps up is shown.
  // Throws Refusal where geometry refuses it; then all is as before.
  void edit(const Scene& scene, const SceneChange& change, bool dragging);
  void released();  // the drag is over

  // Picture of the full size, pixels; and whether it goes through the display filter.
  void set_size(int width, int height) { picture_.set_size(width, height); }
  void set_filtered(bool filtered);
  void set_overlay(Overlay::Kind kind) { picture_.set_overlay(kind); }

  // Works for about so long. True when there is something new to be seen.
  bool work(double seconds);

  bool ready() const { return world_ != nullptr; }
  bool building() const { return worker_.busy(); }
  const World& world() const { return *world_; }
  const SetOutlines& outlines() const { return outlines_; }
  const LivePicture& picture() const { return picture_; }
  const LiveReadings& readings() const { return readings_; }
  const Development& development() const { return readings_.exposure()->development; }
  bool exposed() const { return ready() && readings_.exposure().has_value(); }
  bool idle() const;  // nothing is left to be done
  Tracer& tracer() { return *tracer_; }

  // Why the last scene or edit could not be built, once; the world is still the one before.
  std::optional<std::string> take_fault();
  // Of the last build: scene to triangles, BVH, upload.
  double build_seconds() const { return build_seconds_; }
  std::uint64_t version() const { return version_; }  // counts what changed in the world
  // Counts what changed beyond lamps, powers, times and exposure: the set, the camera, the sky.
  std::uint64_t set_version() const { return set_version_; }

 private:
  void start_build();
  void take_build(WorldWorker::Result result);
  void apply(const Scene& scene, const SceneChange& change);
  void apply_pending();
  bool fits(const Scene& scene) const;

  const ShaderLibrary& shaders_;
  LivePicture picture_;
  LiveReadings readings_;
  WorldWorker worker_;
  std::unique_ptr<World> world_;
  std::unique_ptr<Tracer> tracer_;
  SetOutlines outlines_;
  AimPoints aims_;
  Scene scene_;  // the newest one
  // What the world that is being built does not know yet.
  SceneChange since_build_;
  bool build_is_check_ = false;  // only the meshes' detail may differ
  // What a drag asked for while the last step had no sample yet.
  std::optional<SceneChange> pending_;
  std::optional<LivePicture::Clock::time_point> build_at_;  // after a pause
  bool dragging_ = false, filtered_ = true, outlines_stale_ = false, draw_ = false;
  LivePicture::Clock::time_point edited_at_{};
  double turn_ = 0;
  std::uint64_t job_ = 0, version_ = 0, set_version_ = 0;
  double build_seconds_ = 0;
  std::optional<std::string> fault_;
};

// Both changes in one.
SceneChange merged(const SceneChange& a, const SceneChange& b);

}  // namespace undercap
