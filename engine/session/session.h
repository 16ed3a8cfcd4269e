// One open scene: its world on the device, its survey and exposure, its pictures and readings.
//
//   Session session(shaders, scene);
//   session.survey(Quality::good, {}, keep_going);
//   const PictureResult picture = session.picture(request, keep_going);
//   for (const Reading& reading : session.readings()) ...
//
// A context must be current. 'keep_going' is told the share done of the step and returns false to stop.
#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/measure/readings.h"
#include "engine/render/picture_job.h"
#include "engine/report/headline.h"
#include "engine/world/update.h"

namespace undercap {

enum class Quality { draft, good, fine };

// Samples a pixel of a picture, and samples a cell and batch of a survey.
unsigned picture_samples(Quality quality);
unsigned survey_passes(Quality quality);
// Samples a pixel and eighth of a separation film.
unsigned separation_passes(Quality quality);

// A scene whose source of that name is this one.
Scene with_source(Scene scene, const Source& source);

// What stops the measuring, besides the quality's own counts.
struct StopRule {
  // Go on until every meter and spot, the subject and the backdrop have this relative standard error.
  std::optional<double> noise_pct;
  // Stop after this long, counted from the start of survey() to the end of readings(). Each step takes one
  // round of samples all the same, so that there is an answer.
  std::optional<double> seconds;
};

struct SessionTimes {
  double world_s = 0;   // scene to triangles
  double device_s = 0;  // BVH, upload, shaders
};

class Session {
 public:
  using Clock = std::chrono::steady_clock;

  // A draft has half the triangles.
  Session(const ShaderLibrary& shaders, const Scene& scene, Quality quality = Quality::good);

  // Another camera, sensor or exposure before the same set; survey and exposure are then to be taken again.
  // False, and nothing is changed, where barrel or photographer would have to move, which belong to the set.
  bool use_camera(const Scene& scene);
  // The same where lamps are elsewhere too, none with a snoot.
  bool use_camera_and_lamps(const Scene& scene);
  // Another f-number alone: the light on the subject is not taken again.
  void use_f_number(const Scene& scene);
  // What changes no ray: power and colour of the light, sensor, exposure. The exposure is chosen anew from
  // the survey that is there.
  void use_mix(const Scene& scene);
  // The same for a frame among others: survey and exposure stay those of before, and the barrel where it was.
  void place_camera(const Scene& scene);

  // A source of the scene, without a snoot, as it is now: elsewhere, stronger, off. Survey and exposure stay
  // those of before.
  void use_source(const Source& source);

  const World& world() const { return world_; }
  const SessionTimes& times() const { return times_; }
  Tracer& tracer() { return *tracer_; }
  const Developer& developer() const { return *developer_; }

  // Takes what exposure and readings rest on. Returns false when stopped before one whole round.
  // A picture alone can do without the light on the subject, unless its white balance goes by it.
  enum class For { picture, readings };
  bool survey(Quality quality, const StopRule& stop, const Progress& keep_going, For use = For::readings);
  const ExposureChoice& exposure() const { return *exposure_; }
  const Survey& surveyed() const { return *survey_; }
  // Another survey of the set as it now is, with scrambles of its own by 'seed'; kept by nobody.
  Survey another_survey(unsigned passes, int seed, const Progress& keep_going, bool white_first = false);

  // Where the visible subject lies, after survey(); none where it is not seen.
  std::optional<DepthRange> needed_depth() const;

  PictureResult picture(const PictureRequest& request, const Progress& keep_going);
  // A picture's samples that were taken before, as the scene now mixes and exposes them.
  Picture8 developed(const SampledPicture& sampled, bool filtered);

  // Takes what the separation from the backdrop is read from, after survey(), which it needs for its
  // exposure alone: headline() and readings() have backdrop.* from then on. False when stopped.
  bool separation(Quality quality, const Progress& keep_going);

  // Meters, spots, the shade of the barrel and the separation, unless that is there, are measured here, after
  // survey(). Empty when stopped.
  std::vector<Reading> readings(Quality quality, const StopRule& stop, const Progress& keep_going);

  // What a sheet says of the scene, after survey(): the light on the subject, the contrasts, the exposure;
  // and how it stands off from the backdrop, after separation().
  Headline headline(const std::string& name) const;

  // Sentences for the user: how the scene was read, what the meters did not reach, counters that are not 0.
  std::vector<std::string> notes() const;

 private:
  // 'until' is a share of the stop rule's time. Nothing when stopped.
  std::optional<RegionSums> measure_meter(const Meter& meter, Quality quality, const StopRule& stop,
                                          double until, const Progress& keep_going);
  bool take_separation_within(const StopRule& stop, Quality quality, const Progress& keep_going);
  void note_if_noisy(const std::string& what, const RegionSums& sums, const StopRule& stop);
  bool has_barrel() const;
  void choose();
  DisplayFilter& filter();

  const ShaderLibrary& shaders_;
  World world_;
  SessionTimes times_;
  std::unique_ptr<Tracer> tracer_;
  std::unique_ptr<Developer> developer_;
  std::unique_ptr<DisplayFilter> filter_;  // when first asked for
  std::optional<Survey> survey_, white_;  // white_ has no samples where nobody wants the light on the subject
  std::optional<SeparationFilm> separation_;
  std::optional<ExposureChoice> exposure_;
  std::optional<RegionSums> exposing_spot_;
  std::vector<std::string> notes_;
  AimPoints aims_;
  Clock::time_point start_;  // of the sampling
  // Shares of the time; the separation comes last.
  double survey_until_ = 1, white_until_ = 1, meters_until_ = 1, barrel_until_ = 1;
};

}  // namespace undercap
