#include "engine/session/pocket.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "engine/core/errors.h"
#include "engine/measure/stack_task.h"
#include "engine/optics/exposure.h"
#include "engine/session/stack.h"

namespace undercap {
namespace {

// What will do: half a stop within the subject and to the backdrop, a third to mid-grey (common practice, no
// source), and never less than what the samples leave open.
constexpr double contrast_band = 0.5, grey_band = 0.3;

struct NamedRegion {
  std::string name;
  RegionSums sums;
};

// The subject's parts by name, of those that the camera sees well, from bright to dark.
std::vector<NamedRegion> seen_parts(const World& world, const Survey& survey, const Mix& mix) {
  constexpr double well_seen = 0.04;  // of what is seen of the subject
  std::map<std::string, RegionSums> by_name;
  for (const std::uint32_t number : world.subject)
    by_name.try_emplace(world.parts[number].part, world.groups.size())
        .first->second.merge(survey.part[number]);
  std::vector<NamedRegion> parts;
  for (auto& [name, sums] : by_name)
    if (sums.samples() >= well_seen * survey.subject.samples() && mean_luminance(sums, mix))
      parts.push_back({name, std::move(sums)});
  std::stable_sort(parts.begin(), parts.end(), [&](const NamedRegion& a, const NamedRegion& b) {
    return mean_luminance(a.sums, mix)->value > mean_luminance(b.sums, mix)->value;
  });
  return parts;
}

const NamedRegion* find_part(const std::vector<NamedRegion>& parts, std::string_view name) {
  const auto found =
      std::find_if(parts.begin(), parts.end(), [&](const NamedRegion& part) { return part.name == name; });
  return found == parts.end() ? nullptr : &*found;
}

// A plain prop's only part is called 'surface', which says nothing.
std::string spoken(const std::string& part) { return part == "surface" ? "subject" : part; }

SpotTarget target_of(std::string words, const Estimate& stops, double band) {
  return {std::move(words), stops.value, std::max(band, student_t_95(stops.freedom) * stops.se)};
}

}  // namespace

std::vector<SpotTarget> spot_targets(const Session& session) {
  const World& world = session.world();
  const Survey& survey = session.surveyed();
  const Development& how = session.exposure().development;
  const Mix mix = mix_over(world, how.shutter);
  const std::vector<NamedRegion> parts = seen_parts(world, survey, mix);
  std::vector<SpotTarget> targets;
  if (parts.empty()) return targets;
  const NamedRegion* lead = find_part(parts, "cap");
  const NamedRegion* shade = find_part(parts, lead ? "gills" : "");
  if (lead && !shade) shade = find_part(parts, "stem");
  if (!lead) lead = &parts.front();
  if (!shade && parts.size() > 1) shade = &parts.back();
  if (shade == lead) shade = nullptr;
  if (const auto stops = shade ? stops_between(lead->sums, mix, shade->sums, mix) : std::nullopt)
    targets.push_back(
        target_of(fmt::format("{} over {}", spoken(lead->name), spoken(shade->name)), *stops, contrast_band));
  if (const auto stops = stops_between(lead->sums, mix, survey.backdrop, mix))
    targets.push_back(target_of(fmt::format("{} over backdrop", spoken(lead->name)), *stops, contrast_band));
  const auto image = mean_luminance(lead->sums, mix, true);
  if (auto stops = image ? in_stops(*image) : std::nullopt) {
    stops->value =
        stops_above_mid_grey(
            LuminousExposure(image->value * exposure_per_luminance(world, how.shutter).value()), how.iso)
            .value();
    targets.push_back(target_of(fmt::format("{} over mid-grey", spoken(lead->name)), *stops, grey_band));
  }
  return targets;
}

PocketFacts pocket_facts(const Session& session) {
  const Development& how = session.exposure().development;
  PocketFacts facts{.shutter = how.shutter, .iso = how.iso, .targets = spot_targets(session)};
  const World& world = session.world();
  const auto range = session.needed_depth();
  if (!range) return facts;
  try {
    const StackPlan plan = focus_ring_plan(stack_task(world, *range));
    if (plan.frames.size() > 1)
      facts.stack = {static_cast<int>(plan.frames.size()), plan.step, stack_time(world, plan, how.shutter)};
  } catch (const Refusal&) {
    // A depth that no stack of this lens covers: then the card is of one frame, as the scene is.
  }
  return facts;
}

std::optional<PocketPictures> pocket_pictures(const ShaderLibrary& shaders, Session& session,
                                              const PocketRequest& request, const Progress& progress) {
  const World& world = session.world();
  const Development& how = session.exposure().development;
  const View view{.width = request.width, .height = request.height};
  const unsigned samples = picture_samples(request.quality);
  Film film = session.tracer().make_film(view);
  for (unsigned i = 0; i < samples; ++i) {
    session.tracer().sample(
        view, film, {.index = i / 2, .half = i % 2, .seed = static_cast<std::uint32_t>(world.scene.seed)});
    if (i % 4 == 3) finish();
    if (!progress((i + 1.0) / samples)) return std::nullopt;
  }
  const std::vector<float> sums = film.read();
  std::optional<DisplayFilter> filter;
  if (request.filtered) filter.emplace(shaders, session.tracer());
  const auto developed = [&](const World& lit) {
    const Film shown = filter
                           ? filter->run(lit, view, film,
                                         filter->features(session.tracer(), lit, view, samples), samples, how)
                           : film_without_strays(mix_over(lit, how.shutter), view, sums, samples);
    return session.developer().develop_mixed(lit, view, shown, how);
  };
  PocketPictures pictures{.with = developed(world), .without = {}};
  World dark = world;
  for (LightGroup& group : dark.groups)
    if (group.kind == LightGroup::Kind::lamp) group.on = false;
  pictures.without = developed(dark);
  return pictures;
}

}  // namespace undercap
