// What a sheet says of one open scene.
#include <algorithm>
#include <numbers>

#include "engine/measure/reading_groups.h"
#include "engine/session/session.h"

namespace undercap {

std::optional<Headline> Session::headline(const std::string& name, Quality quality,
                                          const Progress& keep_going) {
  UNDERCAP_CHECK(survey_ && exposure_, "a headline is taken after the survey");
  // The light on the subject varies little from sample to sample beside what its parts send back.
  const unsigned passes = std::max(1u, survey_passes(quality) / 4);
  bool stopped = false;
  const Survey white = take_survey(*tracer_, world_, passes, true, [&](double done) {
    stopped = !keep_going(done);
    return !stopped;
  });
  if (stopped) return std::nullopt;
  Headline headline;
  headline.name = name;
  headline.light_lx = mean_luminance(white.subject, mix_of(world_));
  if (headline.light_lx) {
    headline.light_lx->value *= std::numbers::pi;
    headline.light_lx->se *= std::numbers::pi;
  }
  add_contrasts({world_, *survey_, *exposure_, {}, nullptr}, headline.contrasts);
  headline.f_number = world_.scene.camera.f_number;
  headline.shutter_s = exposure_->development.shutter.value();
  headline.iso = exposure_->development.iso;
  return headline;
}

}  // namespace undercap
