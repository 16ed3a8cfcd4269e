#include "engine/session/sweep.h"

#include <fmt/format.h>

#include <algorithm>

namespace undercap {
namespace {

constexpr double survey_until = 0.3;  // of one entry's time

// Adds what one entry gives; false when stopped. 'kept' is the session of the entry before, and becomes this
// one's.
bool add_entry(const ShaderLibrary& shaders, const SweepEntry& entry, const SweepRequest& request,
               const Progress& progress, std::unique_ptr<Session>& kept, SweepResult& into) {
  const auto within = [&](double from, double to) {
    return [&progress, from, to](double done) { return progress(from + (to - from) * done); };
  };
  if (!kept || !entry.same_set || !kept->use_camera(entry.scene))
    kept = std::make_unique<Session>(shaders, entry.scene, request.quality);
  Session& session = *kept;
  if (!session.survey(request.quality, {}, within(0, survey_until))) return false;
  PictureResult picture = session.picture({.width = entry.width,
                                           .height = entry.height,
                                           .samples = picture_samples(request.quality),
                                           .noise_pct = request.noise_pct,
                                           .seconds = request.seconds,
                                           .filtered = request.filtered},
                                          within(survey_until, 1));
  if (!picture.complete) return false;
  const bool first = into.pictures.empty();
  into.samples = first ? picture.samples : std::min(into.samples, picture.samples);
  into.most_samples = std::max(into.most_samples, picture.most_samples);
  into.least_noise_pct = first ? picture.noise_pct : std::min(into.least_noise_pct, picture.noise_pct);
  into.most_noise_pct = std::max(into.most_noise_pct, picture.noise_pct);
  into.seconds += picture.seconds;
  into.headlines.push_back(session.headline(entry.name));
  into.pictures.push_back(std::move(picture.picture));
  into.details.push_back(fmt::format("{}: {} triangles; world {:.2f} s, device {:.2f} s, picture {:.1f} s",
                                     entry.name, session.world().triangle.size(), session.times().world_s,
                                     session.times().device_s, picture.seconds));
  for (const std::string& note : session.notes())
    into.notes.push_back(fmt::format("{}: {}", entry.name, note));
  return true;
}

}  // namespace

std::optional<SweepResult> run_sweep(const ShaderLibrary& shaders, const std::vector<SweepEntry>& entries,
                                     const SweepRequest& request, const Progress& progress) {
  SweepResult result;
  std::unique_ptr<Session> session;
  const double share = 1 / static_cast<double>(entries.size());
  for (std::size_t i = 0; i < entries.size(); ++i) {
    const auto part = [&](double done) { return progress((static_cast<double>(i) + done) * share); };
    if (!add_entry(shaders, entries[i], request, part, session, result)) return std::nullopt;
  }
  return result;
}

std::vector<std::string> changed_things(const std::vector<Variant>& variants,
                                        const std::vector<std::string>& names) {
  std::vector<std::string> things;
  for (const Variant& variant : variants) {
    if (std::find(names.begin(), names.end(), variant.name) == names.end()) continue;
    for (const auto& [key, value] : variant.change) {
      std::string thing = key;
      if (key.starts_with("prop.") || key.starts_with("source.") || key.starts_with("meter.")) {
        const std::size_t name = key.find('.') + 1;
        thing = key.substr(name, key.find('.', name) - name);
      } else if (!key.starts_with("camera.") && !key.starts_with("exposure.")) {
        thing = key.substr(0, key.find('.'));
      }
      if (std::find(things.begin(), things.end(), thing) == things.end()) things.push_back(thing);
    }
  }
  return things;
}

}  // namespace undercap
