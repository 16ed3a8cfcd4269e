#include "engine/session/place.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <limits>
#include <map>
#include <utility>

#include "engine/core/errors.h"
#include "engine/measure/lamp_film.h"

namespace undercap {
namespace {

using Clock = std::chrono::steady_clock;

constexpr unsigned lamp_samples = 2;

}  // namespace

const Source& source_of(const Scene& scene, const std::string& name) {
  const auto found = std::find_if(scene.sources.begin(), scene.sources.end(),
                                  [&](const Source& source) { return source.name == name; });
  if (found != scene.sources.end()) return *found;
  std::string names;
  for (const Source& source : scene.sources) names += (names.empty() ? "" : ", ") + source.name;
  throw Refusal(
      fmt::format("there is no source '{}'; the scene's sources: {}", name, names.empty() ? "none" : names));
}

std::vector<std::string> target_names(const World& world) {
  std::vector<std::string> names;
  for (const WorldPart& part : world.parts)
    if (const std::string name = part.prop + "/" + part.part;
        !part.prop.empty() && std::find(names.begin(), names.end(), name) == names.end())
      names.push_back(name);
  return names;
}

namespace {

// Where the lamp's axis passes nearest to what is in focus: a point on it to aim at from elsewhere.
glm::dvec3 aim_of(const World& world, std::size_t group) {
  const Lamp& lamp = world.lamps[group - (world.groups.size() - world.lamps.size())];
  const double along = glm::dot(world.camera.focus_point_m - lamp.position_m, lamp.direction);
  return lamp.position_m + std::max(along, 0.01) * lamp.direction;
}

// Pictures of one set with and without a lamp: the film of all other light is sampled once.
class LampPictures {
 public:
  LampPictures(Session& session, const PlaceRequest& request)
      : session_(session),
        view_{.width = request.width, .height = request.height},
        film_(session.tracer().make_film(view_)),
        samples_(picture_samples(request.quality)) {}

  // All light, or one group over again. False when stopped.
  bool sample(int group, const Progress& progress) {
    if (group >= 0) film_.clear_group(group);
    for (unsigned i = 0; i < samples_; ++i) {
      session_.tracer().sample(view_, film_,
                               {.index = i / 2,
                                .half = i % 2,
                                .seed = static_cast<std::uint32_t>(session_.world().scene.seed),
                                .only_group = group});
      if (i % 4 == 3) finish();
      if (!progress((i + 1.0) / samples_)) return false;
    }
    return true;
  }
  // As the world's lamps are set.
  Picture8 developed(const Development& how, const DisplayFilter* filter) const {
    Tracer& tracer = session_.tracer();
    const World& world = session_.world();
    const Film shown = filter
                           ? filter->run(world, view_, film_,
                                         filter->features(tracer, world, view_, samples_), samples_, how)
                           : film_without_strays(mix_over(world, how.shutter), view_, film_.read(), samples_);
    return session_.developer().develop_mixed(world, view_, shown, how);
  }

 private:
  Session& session_;
  View view_;
  Film film_;
  unsigned samples_;
};

// Shares of the whole that the steps take, by about how long they last.
class Steps {
 public:
  Steps(const Progress& progress, double total) : progress_(progress), total_(total) {}
  Progress next(double weight) {
    const double from = done_;
    done_ += weight;
    return [this, from, weight](double share) {
      return progress_(std::min(1.0, (from + weight * share) / total_));
    };
  }

 private:
  const Progress& progress_;
  double total_, done_ = 0;
};

}  // namespace

std::vector<std::uint32_t> target_parts(const World& world, const std::optional<Address>& target) {
  if (!target) return world.subject;
  std::vector<std::uint32_t> parts = parts_of(world, *target);
  if (parts.empty())
    throw Refusal(fmt::format("the target '{}' has no surface in this scene; there are: {}", target->text(),
                              fmt::join(target_names(world), ", ")));
  std::sort(parts.begin(), parts.end());
  return parts;
}

Scene scene_to_place_in(const Scene& scene, const std::string& source) {
  Source lamp = source_of(scene, source);
  lamp.on = false;
  lamp.power_pct = 100;
  lamp.snoot_mm.reset();
  return with_source(scene, lamp);
}

std::vector<glm::dvec3> slice_places(const World& world, const glm::dvec3& target_m,
                                     const SliceSpace& space) {
  const auto [right, ahead] = level_axes(world.camera);
  const double beside = glm::dot(space.through_m - target_m, right);
  std::vector<glm::dvec3> places;
  const auto node = [](double from, double to, int i) { return from + (to - from) * i / (slice_side - 1); };
  for (int v = 0; v < slice_side; ++v)
    for (int u = 0; u < slice_side; ++u) {
      const double across = node(-space.half_m, space.half_m, u);
      if (space.level) {
        glm::dvec3 place = target_m + across * right + node(-space.half_m, space.half_m, v) * ahead;
        place.z = space.through_m.z;
        places.push_back(place);
      } else {
        places.push_back(target_m + beside * right + across * ahead +
                         glm::dvec3(0, 0, node(space.low_m, space.high_m, v)));
      }
    }
  return places;
}

namespace {

class PlaceJob {
 public:
  PlaceJob(const ShaderLibrary& shaders, Session& session, const Scene& scene, const PlaceRequest& request,
           const Progress& progress)
      : shaders_(shaders),
        request_(request),
        own_(source_of(scene, request.source)),
        seed_(scene.seed),
        steps_(progress, 2 + 0.5 + 4 + static_cast<double>(request.offers) * 6),
        session_(session) {}

  std::optional<PlaceResult> run() {
    if (!session_.survey(request_.quality, {}, steps_.next(2), Session::For::picture)) return std::nullopt;
    make_map();
    if (!steps_.next(0.5)(1)) return std::nullopt;
    if (request_.filtered) filter_.emplace(shaders_, session_.tracer());
    LampPictures pictures(session_, request_);
    if (!pictures.sample(-1, steps_.next(4))) return std::nullopt;
    result_.without = pictures.developed(session_.exposure().development, filter());
    if (!offer_places(pictures)) return std::nullopt;
    for (const std::string& note : session_.notes()) result_.notes.push_back(note);
    return std::move(result_);
  }

 private:
  const World& world() const { return session_.world(); }
  Duration shutter() const { return session_.exposure().development.shutter; }
  std::size_t group() const { return static_cast<std::size_t>(world().group_index(request_.source)); }
  const DisplayFilter* filter() const { return filter_ ? &*filter_ : nullptr; }

  enum class Outcome { stopped, refused, offered };
  void choose_target();
  void make_map();
  void open_places(const PlaceWish& wish);
  bool offer_places(LampPictures& pictures);
  Outcome offer(Session& there, LampPictures& pictures, const PlaceFields& fields, bool all_light);
  Outcome offer_snooted(const PlaceFields& fields);
  bool keeps_limits(const LampFilm& film, double peak) const;

  // The lamp as it stands at an offered place, on at full power.
  Source placed(const PlaceFields& fields) const {
    Source source = own_;
    source.on = true;
    source.power_pct = 100;
    source.position_m = fields.position_m;
    source.aim = fields.position_m + fields.direction * fields.distance_m;
    return source;
  }

  const ShaderLibrary& shaders_;
  const PlaceRequest& request_;
  Source own_;
  int seed_;
  Steps steps_;
  Session& session_;
  std::optional<LightProbe> probe_;
  std::optional<Placement> placement_;
  std::optional<DisplayFilter> filter_;
  double full_peak_ = 0;  // cd at the peak, times the lamp's share of the exposure
  std::optional<Address> target_;
  std::vector<PlaceFields> open_;                                         // places that may still be offered
  double most_spill_stops_ = 0;                                           // as wished, or as relaxed
  double least_refused_stops_ = std::numeric_limits<double>::infinity();  // rendered spill of those refused
  PlaceResult result_;
};

// Fill is for what is dark: of the subject's parts that the camera sees well, the darkest. Sides are those of
// the whole subject.
void PlaceJob::choose_target() {
  target_ = request_.target;
  if (target_ || request_.whole_subject || request_.wish.sides_stops) return;
  constexpr double well_seen = 0.04;  // of what is seen of the subject
  const Survey& survey = session_.surveyed();
  const Mix mix = mix_with(world(), shutter(), group(), false);
  std::map<std::pair<std::string, std::string>, RegionSums> regions;
  for (const std::uint32_t number : world().subject) {
    const WorldPart& part = world().parts[number];
    regions.try_emplace({part.prop, part.part}, world().groups.size())
        .first->second.merge(survey.part[number]);
  }
  double darkest = std::numeric_limits<double>::infinity();
  for (const auto& [name, sums] : regions) {
    const auto luminance = mean_luminance(sums, mix);
    if (!luminance || sums.samples() < well_seen * survey.subject.samples() || luminance->value >= darkest)
      continue;
    darkest = luminance->value;
    target_ = Address{Address::Of::prop, name.first, 0, name.second};
  }
}

void PlaceJob::make_map() {
  Tracer& tracer = session_.tracer();
  Source full = own_;
  full.power_pct = 100;
  const CarriedLamp carried = carried_lamp(world().scene, full);
  const ProbeLamp lamp = probe_lamp(carried, own_);
  full_peak_ = carried.group.power * exposure_share(carried.group, shutter());
  PlaceWish wish = request_.wish;
  choose_target();
  wish.target = target_parts(world(), target_);
  if (request_.aim_as_set) wish.aim_m = aim_of(world(), group());
  probe_.emplace(shaders_, tracer);
  placement_.emplace(*probe_, tracer, world(), session_.surveyed(),
                     mix_with(world(), shutter(), group(), false), wish,
                     Placement::Counts{.target = 256, .backdrop = 64, .foreground = 64});
  result_.flash = carried.group.flash;
  result_.shutter_s = shutter().value();
  result_.target_words = target_ ? target_->text() : "the subject";
  result_.target_m = placement_->target_middle();
  const auto fields = [&](const std::vector<glm::dvec3>& places, unsigned samples) {
    return placement_->fields(tracer, lamp, full_peak_, places, samples);
  };
  const auto start = Clock::now();
  result_.places = fields(candidate_places(world(), result_.target_m, request_.space), lamp_samples);
  result_.map_s = std::chrono::duration<double>(Clock::now() - start).count();
  result_.unbeaten = unbeaten(result_.places);
  open_places(wish);

  SliceSpace slice{
      .half_m = request_.space.far_m, .high_m = request_.space.far_m, .through_m = result_.target_m};
  if (result_.relaxing) slice.through_m = result_.relaxing->place.position_m;
  const auto first = best_apart(open_, result_.target_m, request_.sort, 1);
  if (!first.empty()) slice.through_m = first[0].position_m;
  result_.plan = fields(slice_places(world(), result_.target_m, slice), 1);
  slice.level = false;
  result_.elevation = fields(slice_places(world(), result_.target_m, slice), 1);
}

// Those without a limit; where there is none, those that the smallest relaxing lets in. A stronger lamp is
// not to be had by relaxing.
void PlaceJob::open_places(const PlaceWish& wish) {
  open_ = result_.places;
  most_spill_stops_ = wish.spill_stops;
  if (std::any_of(open_.begin(), open_.end(), [](const PlaceFields& place) { return place.limits == 0; }))
    return;
  result_.relaxing = relax_first(result_.places, wish, world());
  if (!result_.relaxing || has(result_.relaxing->place.limits, PlaceLimit::power)) return;
  open_ = relaxed(result_.places, wish, world(), *result_.relaxing);
  for (const Relaxing::Step& step : result_.relaxing->steps)
    if (step.limit == PlaceLimit::spill) most_spill_stops_ = step.to;
}

// One after the other in the order of the column, each rendered before it is offered. What a render refuses
// takes its surroundings along.
bool PlaceJob::offer_places(LampPictures& pictures) {
  constexpr double refused_deg = 10;
  std::size_t refused = 0;
  while (result_.offers.size() < request_.offers && refused < 2 * request_.offers) {
    const std::vector<PlaceFields> next = best_apart(open_, result_.target_m, request_.sort, 1);
    if (next.empty()) break;
    const Outcome outcome =
        own_.snoot_mm ? offer_snooted(next[0]) : offer(session_, pictures, next[0], false);
    if (outcome == Outcome::stopped) return false;
    const bool offered = outcome == Outcome::offered;
    if (!offered) ++refused;
    open_ = apart_from(open_, result_.target_m, next[0], offered ? offers_apart_deg : refused_deg);
  }
  if (refused > 0)
    result_.notes.push_back(
        fmt::format("{} place{} of the map did not hold what is wished when rendered, bounced light "
                    "included, and {} left out{}",
                    refused, refused == 1 ? "" : "s", refused == 1 ? "is" : "are",
                    std::isfinite(least_refused_stops_)
                        ? fmt::format("; the least spill of them is {:.2f} stop", least_refused_stops_)
                        : std::string()));
  return true;
}

bool PlaceJob::keeps_limits(const LampFilm& film, double peak) const {
  constexpr double most_share = 1.05, further_stops = 0.03;  // as near as the map can tell
  return peak > 0 && peak <= most_share * full_peak_ &&
         std::max(film.backdrop(peak), film.foreground(peak)) <= most_spill_stops_ + further_stops;
}

// The film of the lamp there, twice: the first gives the power, the second, of other scrambles, the rise at
// it.
PlaceJob::Outcome PlaceJob::offer(Session& there, LampPictures& pictures, const PlaceFields& fields,
                                  bool all_light) {
  const unsigned passes = survey_passes(request_.quality), white_passes = std::max(1u, passes / 2);
  const PlaceWish& wish = placement_->wish();
  Source source = placed(fields);
  there.use_source(source);
  const Survey first = there.another_survey(passes, seed_ + 1, steps_.next(1));
  if (first.passes < passes) return Outcome::stopped;
  const LampFilm film(there.world(), first, wish.target, group(), shutter());
  const LampFilm::Peak peak =
      wish.sides_stops
          ? film.peak_for_sides(there.another_survey(white_passes, seed_ + 1, steps_.next(0.5), true),
                                *wish.sides_stops, 4 * full_peak_)
          : film.peak_for(wish.rise_stops);
  if (!keeps_limits(film, peak.value)) {
    const double spill = std::max(film.backdrop(peak.value), film.foreground(peak.value));
    if (peak.value > 0 && peak.value <= full_peak_)
      least_refused_stops_ = std::min(least_refused_stops_, spill);
    return Outcome::refused;
  }
  const Survey second = there.another_survey(passes, seed_ + 2, steps_.next(1));
  if (second.passes < passes) return Outcome::stopped;
  OfferedPlace offer{.fields = fields};
  offer.power_pct = 100 * peak.value / full_peak_;
  offer.power_se_pct = 100 * peak.se / full_peak_;
  const LampFilm fresh(there.world(), second, wish.target, group(), shutter());
  if (const auto rise = fresh.rise(peak.value)) offer.rise = *rise;
  offer.backdrop_stops = fresh.backdrop(peak.value);
  offer.foreground_stops = fresh.foreground(peak.value);
  if (const auto by_map = film.rise(fields.power_pct / 100 * full_peak_))
    offer.map_error_stops = by_map->value - fields.rise_stops;
  offer.sides =
      fresh.sides(there.another_survey(white_passes, seed_ + 2, steps_.next(0.5), true), peak.value);
  offer.ways = level_ways(
      *placement_, session_.tracer(), world(), fields,
      {source, full_peak_, request_.least_power_pct, shutter(), offer.power_pct / fields.power_pct});
  source.power_pct = offer.power_pct;
  there.use_source(source);
  if (!pictures.sample(all_light ? -1 : static_cast<int>(group()), steps_.next(3))) return Outcome::stopped;
  result_.pictures.push_back(pictures.developed(session_.exposure().development, filter()));
  result_.offers.push_back(offer);
  return Outcome::offered;
}

// A snoot is a thing that stands in the set: such a lamp takes a set of its own each time.
PlaceJob::Outcome PlaceJob::offer_snooted(const PlaceFields& fields) {
  Session there(shaders_, with_source(world().scene, placed(fields)), request_.quality);
  LampPictures pictures(there, request_);
  return offer(there, pictures, fields, true);
}

}  // namespace

std::optional<PlaceResult> run_place(const ShaderLibrary& shaders, Session& session, const Scene& scene,
                                     const PlaceRequest& request, const Progress& progress) {
  UNDERCAP_CHECK(request.offers <= most_offers, "more places than a sheet holds");
  std::optional<PlaceResult> result = PlaceJob(shaders, session, scene, request, progress).run();
  session.use_source(source_of(scene_to_place_in(scene, request.source), request.source));
  return result;
}

}  // namespace undercap
