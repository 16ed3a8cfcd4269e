#include "engine/world/mix.h"

#include <algorithm>

#include "engine/core/errors.h"

namespace undercap {
namespace {

template <class Factor>
Mix mix_by(const World& world, const Factor& factor) {
  Mix mix;
  for (const LightGroup& group : world.groups) mix.push_back(group.weight() * factor(group));
  return mix;
}

}  // namespace

double exposure_share(const LightGroup& group, Duration shutter) {
  if (group.flash) return 1 / shutter.value();
  return group.on_s ? std::min(*group.on_s, shutter.value()) / shutter.value() : 1;
}

Mix mix_of(const World& world) {
  return mix_by(world, [](const LightGroup& group) { return group.flash ? 0.0 : 1.0; });
}

Mix mix_of_flashes(const World& world) {
  return mix_by(world, [](const LightGroup& group) { return group.flash ? 1.0 : 0.0; });
}

Mix mix_over(const World& world, Duration shutter) {
  return mix_by(world, [&](const LightGroup& group) { return exposure_share(group, shutter); });
}

Mix mix_metered(const World& world, Duration shutter) {
  return mix_by(world,
                [&](const LightGroup& group) { return group.flash ? 0.0 : exposure_share(group, shutter); });
}

Mix mix_foreseen(const World& world) {
  return mix_over(world, Duration(world.scene.exposure.shutter_s.value_or(1)));
}

Mix mix_of_one(const Mix& mix, std::size_t group) {
  Mix one(mix.size(), glm::dvec3(0));
  one[group] = mix[group];
  return one;
}

Mix mix_with(const World& world, Duration shutter, std::size_t group, bool on) {
  Mix mix = mix_over(world, shutter);
  const LightGroup& one = world.groups[group];
  mix[group] = on ? one.colour * (one.power * exposure_share(one, shutter)) : glm::dvec3(0);
  return mix;
}

double luminance_at(const World& world, const std::vector<double>& luminance, Duration time) {
  double sum = 0;
  for (std::size_t g = 0; g < world.groups.size(); ++g) {
    const LightGroup& group = world.groups[g];
    if (!group.flash && (!group.on_s || *group.on_s > time.value())) sum += luminance[g];
  }
  return sum;
}

std::optional<Duration> shutter_reaching(const World& world, const std::vector<double>& luminance,
                                         double wanted) {
  UNDERCAP_CHECK(luminance.size() == world.groups.size(), "every group has a luminance");
  std::vector<double> ends;
  for (const LightGroup& group : world.groups)
    if (!group.flash && group.on_s) ends.push_back(*group.on_s);
  std::sort(ends.begin(), ends.end());
  double from = 0, reached = 0;
  for (const double end : ends) {
    const double slope = luminance_at(world, luminance, Duration(from));
    if (slope > 0 && reached + slope * (end - from) >= wanted)
      return Duration(from + (wanted - reached) / slope);
    reached += slope * (end - from);
    from = end;
  }
  const double slope = luminance_at(world, luminance, Duration(from));
  if (slope <= 0) return std::nullopt;
  return Duration(from + (wanted - reached) / slope);
}

}  // namespace undercap
