// The scenes of a sweep, one by one.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/session/sweep_axis.h"
#include "engine/session/sweep_scenes.h"
#include "engine/world/update.h"

namespace undercap {
namespace {

// Makes the scenes of a plan one by one. Cameras that hold something, formats and lamps on their lines ask a
// world; one serves for all where the set is the same.
class SceneMaker {
 public:
  SceneMaker(const OpenVariant& open, const SweepPlan& plan, const std::optional<DepthRange>& needed,
             std::vector<std::string>& notes)
      : open_(open),
        plan_(plan),
        needed_(needed),
        notes_(notes),
        base_(open("")),
        base_scene_(base_.scene()) {
    for (const std::string& note : base_.notes()) told_.push_back(note);
    asks_world_ = !plan.hold.empty() || plan.has(SweepAxis::Of::format) ||
                  plan.has(SweepAxis::Of::axis_height) || plan.has(SweepAxis::Of::distance);
    if (asks_world_) {
      world_ = build_world(base_scene_);
      held_ = held_camera(*world_);
    }
  }

  SweepEntry make(std::size_t picture, int longer_side) {
    const std::vector<std::size_t> places = plan_.places(picture);
    SceneFile file = open_(variant_of(places));
    std::vector<std::string> labels;
    std::vector<Edit> edits;
    for (std::size_t a = 0; a < plan_.axes.size(); ++a) {
      labels.push_back(plan_.axes[a].labels[places[a]]);
      for (const auto& [key, value] : edits_of(plan_.axes[a], places[a])) {
        if (plan_.axes[a].of != SweepAxis::Of::variant) file.set(key, value, "--vary");
        edits.push_back({key, value});
      }
      if (plan_.axes[a].of == SweepAxis::Of::hour || plan_.axes[a].of == SweepAxis::Of::weather)
        free_sky_level(file);
    }
    for (const std::string& note : file.notes())
      if (std::find(told_.begin(), told_.end(), note) == told_.end()) {
        told_.push_back(note);
        notes_.push_back(note);
      }
    SweepEntry entry{.name = fmt::format("{}", fmt::join(labels, ", ")),
                     .scene = file.scene(),
                     .edits = std::move(edits),
                     .document = parse_document(file.text(), file.file().string())};
    move_things(entry, places);
    const auto& format = entry.scene.camera.format_mm;
    const double longer = std::max(format[0], format[1]);
    entry.width = std::max(1, static_cast<int>(std::lround(longer_side * format[0] / longer)));
    entry.height = std::max(1, static_cast<int>(std::lround(longer_side * format[1] / longer)));
    return entry;
  }

 private:
  std::string variant_of(const std::vector<std::size_t>& places) const {
    for (std::size_t a = 0; a < plan_.axes.size(); ++a)
      if (plan_.axes[a].of == SweepAxis::Of::variant && plan_.axes[a].values[places[a]] != base_name)
        return plan_.axes[a].values[places[a]];
    return {};
  }

  // Of a variant what it changes, which is set already.
  std::vector<Edit> edits_of(const SweepAxis& axis, std::size_t place) {
    const Scene& base = base_scene_;
    switch (axis.of) {
      case SweepAxis::Of::key:
        return {{axis.key, axis.values[place]}};
      case SweepAxis::Of::hour:
        return hour_edits(base, axis.numbers[place]);
      case SweepAxis::Of::weather:
        return weather_edits(base, axis.values[place]);
      case SweepAxis::Of::distance:
        return distance_edits(*world_, axis.key, axis.numbers[place] / 100);
      case SweepAxis::Of::variant: {
        std::vector<Edit> edits;
        for (const Variant& variant : base.variants)
          if (variant.name == axis.values[place])
            for (const auto& [key, value] : variant.change) edits.push_back({key, value});
        return edits;
      }
      case SweepAxis::Of::format:
      case SweepAxis::Of::same:
      case SweepAxis::Of::axis_height:
        return {};
    }
    return {};
  }

  // What is worked out from a world that has this entry's camera and, where that matters, its set.
  void move_things(SweepEntry& entry, const std::vector<std::size_t>& places) {
    Scene& scene = entry.scene;
    if (plan_.holds(Held::brightness)) {
      scene.exposure.shutter_s.reset();
      scene.exposure.compensation_stops = base_scene_.exposure.compensation_stops;
    }
    if (!asks_world_) return;
    PartnerWish wish{.match = plan_.match, .same = plan_.same};
    for (std::size_t a = 0; a < plan_.axes.size(); ++a) {
      const SweepAxis& axis = plan_.axes[a];
      if (axis.of == SweepAxis::Of::format) wish.format_mm = axis.formats[places[a]];
      if (axis.of == SweepAxis::Of::same) wish.same = axis.sames[places[a]];
    }
    if (!plan_.camera_alone() && plan_.has(SweepAxis::Of::format)) world_ = build_world(scene);
    if (plan_.has(SweepAxis::Of::format)) {
      update_camera(*world_, scene);
      scene = partner_scene(*world_, wish, needed_);
    } else if (plan_.holds(Held::framing)) {
      hold_framing(scene, held_);
    } else if (plan_.holds(Held::viewpoint)) {
      hold_viewpoint(scene, held_);
    }
    for (std::size_t a = 0; a < plan_.axes.size(); ++a) {
      const SweepAxis& axis = plan_.axes[a];
      if (axis.of == SweepAxis::Of::axis_height)
        set_axis_height(scene, *world_, held_, axis.numbers[places[a]] / 100,
                        fmt::format("--vary axis_height_cm={}", axis.values[places[a]]));
    }
    if (plan_.holds(Held::depth)) {
      update_camera(*world_, scene);
      hold_depth(scene, *world_, held_, entry.name);
    }
  }

  const OpenVariant& open_;
  const SweepPlan& plan_;
  const std::optional<DepthRange>& needed_;
  std::vector<std::string>& notes_;
  SceneFile base_;
  Scene base_scene_;
  std::vector<std::string> told_;
  bool asks_world_ = false;
  std::optional<World> world_;
  HeldCamera held_;
};

}  // namespace

std::vector<SweepEntry> sweep_entries(const OpenVariant& open, const SweepPlan& plan, int longer_side,
                                      const std::optional<DepthRange>& needed,
                                      std::vector<std::string>& notes) {
  SceneMaker maker(open, plan, needed, notes);
  std::vector<SweepEntry> entries;
  for (std::size_t i = 0; i < plan.pictures(); ++i) entries.push_back(maker.make(i, longer_side));
  return entries;
}

}  // namespace undercap
