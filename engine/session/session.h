// One open scene: its world on the device, its survey and exposure, its pictures and readings.
//
//   Session session(shaders, scene);
//   session.survey(Quality::good, {}, keep_going);
//   const PictureResult picture = session.picture(request, keep_going);
//   for (const Reading& reading : session.readings()) ...
//
// A context must be current. 'keep_going' is told the share done of the step and returns false to stop.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/measure/readings.h"
#include "engine/render/picture_job.h"

namespace undercap {

enum class Quality { draft, good, fine };

// Samples a pixel of a picture, and samples a cell and batch of a survey.
unsigned picture_samples(Quality quality);
unsigned survey_passes(Quality quality);

// When to stop, besides the quality's own counts.
struct StopRule {
  std::optional<double> noise_pct;  // bring every meter and spot to this relative standard error
  std::optional<double> seconds;
};

struct SessionTimes {
  double world_s = 0;   // scene to triangles
  double device_s = 0;  // BVH, upload, shaders
};

class Session {
 public:
  Session(const ShaderLibrary& shaders, const Scene& scene);

  const World& world() const { return world_; }
  const SessionTimes& times() const { return times_; }

  // Takes what exposure and readings rest on. Returns false when stopped before one whole round.
  bool survey(Quality quality, const StopRule& stop, const Progress& keep_going);
  const ExposureChoice& exposure() const { return *exposure_; }

  PictureResult picture(const PictureRequest& request, const Progress& keep_going);

  // Meters, spots and the shade of the barrel are measured here, after survey().
  std::vector<Reading> readings(Quality quality, const StopRule& stop, const Progress& keep_going);

  // Sentences for the user: how the scene was read, what the meters did not reach, counters that are not 0.
  std::vector<std::string> notes() const;

 private:
  RegionSums measure_meter(const Meter& meter, Quality quality, const StopRule& stop);
  const ShaderLibrary& shaders_;
  World world_;
  SessionTimes times_;
  std::unique_ptr<Tracer> tracer_;
  std::unique_ptr<Developer> developer_;
  std::unique_ptr<DisplayFilter> filter_;  // when first asked for
  std::optional<Survey> survey_;
  std::optional<ExposureChoice> exposure_;
  std::vector<std::string> notes_;
};

}  // namespace undercap
