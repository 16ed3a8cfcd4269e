#include "engine/session/headline.h"

#include <numbers>

#include "engine/measure/reading_groups.h"
#include "engine/session/session.h"

namespace undercap {

Headline headline_of(const std::string& name, const World& world, const Survey& survey,
                     const ExposureChoice& exposure) {
  Headline headline;
  headline.name = name;
  // The exposure falls back on the whole picture where no subject is seen; a headline does not.
  if (!survey.subject.empty()) headline.light_lx = mean_luminance(exposure.subject_light, mix_of(world));
  if (headline.light_lx) {
    headline.light_lx->value *= std::numbers::pi;
    headline.light_lx->se *= std::numbers::pi;
  }
  headline.f_number = world.camera.lens.f_number;
  headline.shutter_s = exposure.development.shutter.value();
  headline.iso = exposure.development.iso;
  if (!world.scene.exposure.shutter_s) headline.compensation_stops = world.scene.exposure.compensation_stops;
  return headline;
}

Headline headline_of(const std::string& name, const Live& live) {
  UNDERCAP_CHECK(live.exposed() && live.readings().survey(), "a headline is taken after the survey");
  Headline headline = headline_of(name, live.world(), *live.readings().survey(), *live.readings().exposure());
  for (const Reading& reading : live.readings().readings()) {
    const auto of = [&](const char* family) { return reading.name.starts_with(family); };
    if (of("contrast.")) headline.contrasts.push_back(reading);
    if (of("lens.") || of("depth.") || of("exposure.")) headline.camera.push_back(reading);
    if (of("backdrop.")) headline.backdrop.push_back(reading);
  }
  return headline;
}

Headline Session::headline(const std::string& name) const {
  UNDERCAP_CHECK(survey_ && exposure_, "a headline is taken after the survey");
  Headline headline = headline_of(name, world_, *survey_, *exposure_);
  const Evidence evidence{
      world_, *survey_, *exposure_, {}, nullptr, &*white_, separation_ ? &*separation_ : nullptr};
  add_contrasts(evidence, headline.contrasts);
  add_lens(evidence, headline.camera);
  add_depth(evidence, headline.camera);
  add_exposure(evidence, headline.camera);
  if (separation_) add_backdrop(evidence, headline.backdrop);
  return headline;
}

}  // namespace undercap
