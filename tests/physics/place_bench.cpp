#include "tests/physics/place_bench.h"

#include <algorithm>

#include "engine/scene/load.h"
#include "engine/session/place.h"
#include "engine/world/update.h"

namespace undercap {
namespace {

Source full_source(const Scene& scene, const std::string& name) {
  Source source = *std::find_if(scene.sources.begin(), scene.sources.end(),
                                [&](const Source& one) { return one.name == name; });
  source.power_pct = 100;
  return source;
}

}  // namespace

PlaceBench::PlaceBench(const std::string& text, Start start)
    : scene_(SceneFile::from_text("undercap = 1\n" + text, test_folder() + "/place.toml").scene()),
      own_(full_source(scene_, "torch")),
      session_(test_shaders(), scene_to_place_in(scene_, "torch")),
      probe_(test_shaders(), session_.tracer()),
      shutter_(scene_.exposure.shutter_s.value_or(1)) {
  if (start == Start::surveyed) {
    session_.survey(
        Quality::draft, {}, [](double) { return true; }, Session::For::picture);
    shutter_ = session_.exposure().development.shutter;
  }
  const CarriedLamp carried = carried_lamp(world().scene, own_);
  lamp_ = probe_lamp(carried, own_);
  full_peak_ = carried.group.power * exposure_share(carried.group, shutter());
}

Placement PlaceBench::placement(PlaceWish wish) {
  wish.target = world().subject;
  return {probe_,
          tracer(),
          world(),
          session_.surveyed(),
          mix_with(world(), shutter(), group(), false),
          wish,
          {.target = 256, .backdrop = 64, .foreground = 64}};
}

void PlaceBench::light_from(const glm::dvec3& place_m, const glm::dvec3& aim_m) {
  Source there = own_;
  there.on = true;
  there.position_m = place_m;
  there.aim = aim_m;
  there.snoot_mm.reset();
  session_.use_source(there);
}

Survey PlaceBench::survey_from(const glm::dvec3& place_m, const glm::dvec3& aim_m, unsigned passes,
                               int seed) {
  light_from(place_m, aim_m);
  return session_.another_survey(passes, seed, [](double) { return true; });
}

}  // namespace undercap
