#include "engine/session/sweep.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <glm/geometric.hpp>

#include "engine/render/aperture_rings.h"
#include "engine/session/edit_cost.h"

namespace undercap {
namespace {

constexpr double survey_cost = 0.15, separation_cost = 0.25;  // of sampling a picture

using Clock = std::chrono::steady_clock;
double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

// Whether two cameras send out the same rays but for the width of their pupils.
bool same_rays(Camera a, const Camera& b) {
  a.f_number = b.f_number;
  a.transmission = b.transmission;
  a.nd_stops = b.nd_stops;
  a.polariser_stops = b.polariser_stops;
  a.fall_off = b.fall_off;
  a.circle_of_confusion_mm = b.circle_of_confusion_mm;
  a.coc_rule = b.coc_rule;
  a.support = b.support;
  a.lowest_axis_m = b.lowest_axis_m;
  a.stabiliser_stops = b.stabiliser_stops;
  return a == b;
}

bool same_set(const SweepEntry& a, const SweepEntry& b) {
  const SceneChange change = change_between(a.document, b.document);
  return !change.set && !change.sky;
}

bool same_film(const SweepEntry& a, const SweepEntry& b) {
  const SceneChange change = change_between(a.document, b.document);
  return !change.set && !change.sky && change.lamps.empty() && same_rays(a.scene.camera, b.scene.camera) &&
         a.width == b.width && a.height == b.height;
}

// Entries whose pictures come from one film: at each f-number, the narrowest pupil first, those that are
// mixed from it.
struct FilmGroup {
  struct Stop {
    double f_number = 0;
    std::vector<std::size_t> entries;
  };
  std::vector<Stop> stops;
};

std::vector<FilmGroup> film_groups(const std::vector<SweepEntry>& entries) {
  std::vector<FilmGroup> groups;
  for (std::size_t i = 0; i < entries.size(); ++i) {
    const auto shares = [&](const FilmGroup& group) {
      const Camera& leader = entries[group.stops.front().entries.front()].scene.camera;
      return (leader.f_number == entries[i].scene.camera.f_number || has_aperture_rings(leader)) &&
             same_film(entries[group.stops.front().entries.front()], entries[i]);
    };
    auto group = std::find_if(groups.begin(), groups.end(), shares);
    if (group == groups.end()) group = groups.insert(groups.end(), FilmGroup{});
    const double f_number = entries[i].scene.camera.f_number;
    auto stop = std::find_if(group->stops.begin(), group->stops.end(),
                             [&](const FilmGroup::Stop& other) { return other.f_number == f_number; });
    if (stop == group->stops.end()) stop = group->stops.insert(stop, {f_number, {}});
    stop->entries.push_back(i);
  }
  for (FilmGroup& group : groups)
    std::sort(group.stops.begin(), group.stops.end(),
              [](const auto& a, const auto& b) { return a.f_number > b.f_number; });
  return groups;
}

class SweepRun {
 public:
  SweepRun(const ShaderLibrary& shaders, const std::vector<SweepEntry>& entries, const SweepRequest& request,
           const Progress& progress)
      : shaders_(shaders), entries_(entries), request_(request), progress_(progress) {
    const std::size_t count = entries.size();
    result_.headlines.resize(count);
    result_.rigs.resize(count);
    result_.pictures.resize(count);
    result_.windows.resize(count);
    if (request.detail) result_.details.resize(count);
    for (const FilmGroup& group : film_groups(entries)) {
      // With a noise or a time to reach each picture has samples of its own.
      if (request.noise_pct || request.seconds)
        for (const FilmGroup::Stop& stop : group.stops)
          for (const std::size_t i : stop.entries) groups_.push_back({{{stop.f_number, {i}}}});
      else
        groups_.push_back(group);
    }
    for (const FilmGroup& group : groups_)
      for (std::size_t k = 0; k < group.stops.size(); ++k)
        whole_cost_ += survey_cost + (request.separation ? separation_cost : 0) +
                       static_cast<double>(samples_at(group, k)) / full_samples();
  }

  std::optional<SweepResult> run() {
    for (const FilmGroup& group : groups_)
      if (!add_group(group)) return std::nullopt;
    return std::move(result_);
  }

 private:
  unsigned full_samples() const { return picture_samples(request_.quality); }

  unsigned samples_at(const FilmGroup& group, std::size_t k) const {
    if (k == 0) return full_samples();
    return ring_samples(ring_share(group.stops[k].f_number, group.stops[k - 1].f_number), full_samples());
  }

  // Progress over a piece of the work, in units of a picture's sampling.
  Progress piece(double cost) {
    const double from = cost_done_;
    cost_done_ += cost;
    return [this, from, cost](double done) { return progress_((from + cost * done) / whole_cost_); };
  }

  // Makes the session that of an entry: the one before, where its set will do.
  void take_up(const SweepEntry& entry) {
    const bool snoots = std::any_of(entry.scene.sources.begin(), entry.scene.sources.end(),
                                    [](const Source& source) { return source.snoot_mm.has_value(); });
    if (session_ && same_set(*set_of_, entry) && !snoots && session_->use_camera_and_lamps(entry.scene)) {
      set_of_ = &entry;
      return;
    }
    session_.reset();  // its films go before the next one's come
    session_ = std::make_unique<Session>(shaders_, entry.scene, request_.quality);
    set_of_ = &entry;
    result_.log.push_back(fmt::format("{}: {} triangles; world {:.2f} s, device {:.2f} s", entry.name,
                                      session_->world().triangle.size(), session_->times().world_s,
                                      session_->times().device_s));
  }

  bool add_group(const FilmGroup& group) {
    films_[0].reset();
    films_[1].reset();
    take_up(entries_[group.stops.front().entries.front()]);
    for (std::size_t k = 0; k < group.stops.size(); ++k) {
      const FilmGroup::Stop& stop = group.stops[k];
      const SweepEntry& first = entries_[stop.entries.front()];
      if (k > 0) session_->use_f_number(first.scene);
      if (!session_->survey(request_.quality, {}, piece(survey_cost))) return false;
      if (request_.separation && !session_->separation(request_.quality, piece(separation_cost)))
        return false;
      const double cost = static_cast<double>(samples_at(group, k)) / full_samples();
      const Progress progress = piece(cost);
      const bool shared = can_share(first);
      if (shared && !sample(group, k, first, progress)) return false;
      for (const std::size_t i : stop.entries) {
        if (i != stop.entries.front()) session_->use_mix(entries_[i].scene);
        if (shared ? !show(i) : !picture_alone(i, progress)) return false;
      }
    }
    return true;
  }

  bool can_share(const SweepEntry& entry) const {
    return !request_.noise_pct && !request_.seconds &&
           fits_in_one_piece({.width = entry.width, .height = entry.height, .filtered = request_.filtered},
                             static_cast<int>(session_->world().groups.size()));
  }

  // The views of a picture and of its detail.
  std::vector<View> views_of(const SweepEntry& entry) const {
    std::vector<View> views{{.width = entry.width, .height = entry.height}};
    if (request_.detail)
      views.push_back({.width = request_.detail->width,
                       .height = request_.detail->height,
                       .window = request_.detail->window(session_->world().camera)});
    return views;
  }

  // The films of the k-th pupil of a group, from the ring around the one before.
  bool sample(const FilmGroup& group, std::size_t k, const SweepEntry& entry, const Progress& progress) {
    const auto start = Clock::now();
    const std::vector<View> views = views_of(entry);
    const unsigned samples = samples_at(group, k);
    double all = 0, done = 0;
    for (const View& view : views) all += static_cast<double>(view.pixels());
    for (std::size_t v = 0; v < views.size(); ++v) {
      View view = views[v];
      const double pixels = static_cast<double>(view.pixels());
      double share = 0;
      if (k > 0) {
        share = ring_share(group.stops[k].f_number, group.stops[k - 1].f_number);
        view.hole = 1 - share;
      }
      // Rings have samples that know nothing of those before.
      const auto seed = static_cast<std::uint32_t>(entry.scene.seed) + 0x9E3779B9u * static_cast<unsigned>(k);
      auto film = sample_picture(session_->tracer(), view, samples, seed,
                                 [&](double part) { return progress((done + pixels * part) / all); });
      if (!film) return false;
      done += pixels;
      result_.camera_rays += pixels * samples;
      films_[v] = k == 0 ? std::move(*film) : with_ring(*films_[v], *film, share);
    }
    result_.seconds += seconds_since(start);
    return true;
  }

  // What is the same of all pictures, and what a headline says.
  void tell(std::size_t i, unsigned samples, unsigned most_samples, double noise_pct) {
    result_.samples = told_ ? std::min(result_.samples, samples) : samples;
    result_.most_samples = std::max(result_.most_samples, most_samples);
    result_.least_noise_pct = told_ ? std::min(result_.least_noise_pct, noise_pct) : noise_pct;
    result_.most_noise_pct = std::max(result_.most_noise_pct, noise_pct);
    told_ = true;
    result_.headlines[i] = session_->headline(entries_[i].name);
    result_.rigs[i] = session_->world().camera;
    for (const std::string& note : session_->notes())
      result_.notes.push_back(fmt::format("{}: {}", entries_[i].name, note));
  }

  // An entry's pictures from the films that are there.
  bool show(std::size_t i) {
    const auto start = Clock::now();
    result_.pictures[i] = session_->developed(*films_[0], request_.filtered);
    if (request_.detail) {
      result_.details[i] = session_->developed(*films_[1], request_.filtered);
      result_.windows[i] = films_[1]->view.window;
    }
    result_.seconds += seconds_since(start);
    for (const auto& film : films_)
      if (film) result_.camera_rays_alone += static_cast<double>(film->view.pixels()) * full_samples();
    const Mix mix = mix_over(session_->world(), session_->exposure().development.shutter);
    tell(i, full_samples(), full_samples(), noise_of(*films_[0], mix));
    return progress_(cost_done_ / whole_cost_);
  }

  bool picture_alone(std::size_t i, const Progress& progress) {
    const SweepEntry& entry = entries_[i];
    const PictureResult picture = session_->picture({.width = entry.width,
                                                     .height = entry.height,
                                                     .samples = full_samples(),
                                                     .noise_pct = request_.noise_pct,
                                                     .seconds = request_.seconds,
                                                     .filtered = request_.filtered},
                                                    progress);
    if (!picture.complete) return false;
    result_.pictures[i] = picture.picture;
    result_.seconds += picture.seconds;
    const double rays = static_cast<double>(entry.width) * entry.height * picture.samples;
    result_.camera_rays += rays;
    result_.camera_rays_alone += rays;
    tell(i, picture.samples, picture.most_samples, picture.noise_pct);
    if (!request_.detail) return true;
    const auto start = Clock::now();
    const View view = views_of(entry).back();
    auto film = sample_picture(session_->tracer(), view, full_samples(),
                               static_cast<std::uint32_t>(entry.scene.seed), progress);
    if (!film) return false;
    result_.details[i] = session_->developed(*film, request_.filtered);
    result_.windows[i] = view.window;
    result_.seconds += seconds_since(start);
    return true;
  }

  const ShaderLibrary& shaders_;
  const std::vector<SweepEntry>& entries_;
  const SweepRequest& request_;
  const Progress& progress_;
  std::vector<FilmGroup> groups_;
  double whole_cost_ = 0, cost_done_ = 0;
  bool told_ = false;
  std::unique_ptr<Session> session_;
  const SweepEntry* set_of_ = nullptr;                  // the entry that the session's set and sky are of
  std::array<std::optional<SampledPicture>, 2> films_;  // of picture and detail, at the pupil under way
  SweepResult result_;
};

}  // namespace

glm::vec4 DetailBox::window(const CameraRig& rig) const {
  const double across = std::min(1.0, static_cast<double>(width) / picture_width),
               down = std::min(1.0, static_cast<double>(height) / picture_width * (rig.width / rig.height));
  const glm::dvec3 line = rig.focus_point_m - rig.pupil_m;
  const double on_sensor = rig.image_distance.value() / glm::dot(line, rig.forward);
  const std::array<double, 2> at =
      middle.value_or(std::array{0.5 + glm::dot(line, rig.right) * on_sensor / rig.width.value(),
                                 0.5 - glm::dot(line, rig.up) * on_sensor / rig.height.value()});
  const double left = std::clamp(at[0] - across / 2, 0.0, 1 - across),
               top = std::clamp(at[1] - down / 2, 0.0, 1 - down);
  return {left, top, across, down};
}

std::optional<SweepResult> run_sweep(const ShaderLibrary& shaders, const std::vector<SweepEntry>& entries,
                                     const SweepRequest& request, const Progress& progress) {
  return SweepRun(shaders, entries, request, progress).run();
}

std::string saved_words(const SweepResult& result) {
  if (result.camera_rays >= result.camera_rays_alone) return {};
  const auto million = [](double rays) { return fmt::format("{:.{}f}", rays / 1e6, rays < 1e7 ? 1 : 0); };
  return fmt::format("{} of {} million camera rays saved by sharing films",
                     million(result.camera_rays_alone - result.camera_rays),
                     million(result.camera_rays_alone));
}

}  // namespace undercap
