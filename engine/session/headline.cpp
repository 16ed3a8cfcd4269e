// What a sheet says of one open scene.
#include <numbers>

#include "engine/measure/reading_groups.h"
#include "engine/session/session.h"

namespace undercap {

Headline Session::headline(const std::string& name) const {
  UNDERCAP_CHECK(survey_ && exposure_, "a headline is taken after the survey");
  Headline headline;
  headline.name = name;
  // The exposure falls back on the whole picture where no subject is seen; a headline does not.
  if (!survey_->subject.empty()) headline.light_lx = mean_luminance(exposure_->subject_light, mix_of(world_));
  if (headline.light_lx) {
    headline.light_lx->value *= std::numbers::pi;
    headline.light_lx->se *= std::numbers::pi;
  }
  const Evidence evidence{
      world_, *survey_, *exposure_, {}, nullptr, &*white_, separation_ ? &*separation_ : nullptr};
  add_contrasts(evidence, headline.contrasts);
  add_lens(evidence, headline.camera);
  add_depth(evidence, headline.camera);
  add_exposure(evidence, headline.camera);
  if (separation_) add_backdrop(evidence, headline.backdrop);
  headline.f_number = world_.camera.lens.f_number;
  headline.shutter_s = exposure_->development.shutter.value();
  headline.iso = exposure_->development.iso;
  if (!world_.scene.exposure.shutter_s)
    headline.compensation_stops = world_.scene.exposure.compensation_stops;
  return headline;
}

}  // namespace undercap
