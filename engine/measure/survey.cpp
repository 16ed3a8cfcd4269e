#include "engine/measure/survey.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/measure/readings.h"
#include "engine/measure/scrambles.h"

namespace undercap {
namespace {

// By its name, so that a meter reads the same whatever other meters a scene has. FNV-1a, 32 bits (Fowler,
// Noll, Vo; from memory).
std::uint32_t purpose_of(const Meter& meter) {
  std::uint32_t hash = 0x811c9dc5u;
  for (const char c : meter.name) hash = (hash ^ static_cast<unsigned char>(c)) * 0x01000193u;
  return hash;
}

// Share of the axis's illuminance at a place in the frame, 0..1 from the upper left.
double weight_at(const CameraRig& rig, double across, double down) {
  const Length right = rig.width * (across - 0.5), up = rig.height * (down - 0.5);
  return share_of_axis(rig, Length(std::hypot(right.value(), up.value())));
}

View view_of(const World& world, const Meter& meter, int side) {
  const bool incident = meter.kind == Meter::Kind::incident;
  View view{.mode = incident ? View::Mode::meter : View::Mode::spot, .width = side, .height = side};
  view.meter_position_m = meter.position_m;
  view.meter_normal = meter.normal;
  const auto across =
      static_cast<float>(meter.diameter_pct / 100 * (world.camera.height / world.camera.width));
  const auto down = static_cast<float>(meter.diameter_pct / 100);
  if (!incident)
    view.window = {static_cast<float>(meter.at[0]) - across / 2, static_cast<float>(meter.at[1]) - down / 2,
                   across, down};
  return view;
}

}  // namespace

std::vector<double> axis_shares(const World& world, int width, int height) {
  std::vector<double> shares;
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x)
      shares.push_back(weight_at(world.camera, (x + 0.5) / width, (y + 0.5) / height));
  return shares;
}

Survey start_survey(const World& world, bool white_first, int cells_high) {
  const std::size_t groups = world.groups.size();
  Survey survey;
  survey.height = cells_high;
  survey.width =
      std::max(8, static_cast<int>(std::lround(cells_high * (world.camera.width / world.camera.height))));
  survey.white_first = white_first;
  survey.part.assign(world.parts.size(), RegionSums(groups));
  survey.subject = survey.backdrop = survey.foreground = survey.whole = RegionSums(groups);
  const std::size_t cells = static_cast<std::size_t>(survey.width) * static_cast<std::size_t>(survey.height);
  survey.subject_hits.assign(cells, 0);
  for (auto& eighth : survey.cell) eighth.assign(groups, std::vector<glm::dvec3>(cells));
  return survey;
}

SurveyRun::SurveyRun(const Tracer& tracer, const World& world, bool white_first, int cells_high)
    : SurveyRun(tracer, world, start_survey(world, white_first, cells_high)) {}

SurveyRun::SurveyRun(const Tracer& tracer, const World& world, Survey survey)
    : world_(world),
      survey_(std::move(survey)),
      view_{.width = survey_.width,
            .height = survey_.height,
            .white_first = survey_.white_first,
            .first_hits = true},
      film_(tracer.make_film(view_)),
      weights_(axis_shares(world, survey_.width, survey_.height)),
      whose_(world) {}

bool SurveyRun::advance(Tracer& tracer, int rows) {
  if (row_ == 0) film_.clear();
  rows = std::min(rows, view_.height - row_);
  tracer.sample(view_, film_,
                {.index = survey_.passes,
                 .half = 0,
                 .seed = batch_seed(world_, batch_, survey_.white_first ? white_purpose : survey_purpose),
                 .first_row = row_,
                 .rows = rows});
  row_ += rows;
  if (row_ < view_.height) return false;
  row_ = 0;
  add_batch();
  batch_ = (batch_ + 1) % batch_count;
  // Only whole rounds end a survey, so that every batch has the same count.
  if (batch_ != 0) return false;
  ++survey_.passes;
  survey_.counters = tracer.counters();
  return true;
}

void SurveyRun::add_batch() {
  const std::size_t groups = world_.groups.size(), eighth = batch_ % eighths;
  const std::vector<float> sums = film_.read();
  const std::vector<Film::FirstHit> hits = film_.read_first_hits();
  for (std::size_t pixel = 0; pixel < hits.size(); ++pixel) {
    const Film::FirstHit& hit = hits[pixel];
    const bool met = hit.part != no_part;
    const bool subject = whose_.is_subject(hit), backdrop = whose_.is_backdrop(hit);
    survey_.whole.count(batch_);
    if (met) survey_.part[hit.part].count(batch_);
    if (subject) {
      survey_.subject.count(batch_);
      survey_.subject_depth_m[eighth].push_back(hit.distance_m);
      ++survey_.subject_hits[pixel];
    }
    const bool foreground = met && !subject && !backdrop;
    if (backdrop) survey_.backdrop.count(batch_);
    if (foreground) survey_.foreground.count(batch_);
    for (std::size_t g = 0; g < groups; ++g) {
      const float* rgb = &sums[(g * view_.pixels() + pixel) * 3];
      const glm::dvec3 luminance(rgb[0], rgb[1], rgb[2]);
      survey_.cell[eighth][g][pixel] += luminance;
      survey_.whole.add(batch_, g, luminance, weights_[pixel]);
      if (met) survey_.part[hit.part].add(batch_, g, luminance, weights_[pixel]);
      if (subject) survey_.subject.add(batch_, g, luminance, weights_[pixel]);
      if (backdrop) survey_.backdrop.add(batch_, g, luminance, weights_[pixel]);
      if (foreground) survey_.foreground.add(batch_, g, luminance, weights_[pixel]);
    }
  }
}

bool extend_survey(Tracer& tracer, const World& world, Survey& survey, unsigned passes,
                   const KeepGoing& keep_going) {
  SurveyRun run(tracer, world, std::move(survey));
  bool go_on = true;
  for (unsigned turn = 0; turn < batch_count * passes && go_on; ++turn)
    if (run.advance(tracer, run.view_.height))
      go_on = keep_going(static_cast<double>(turn + 1) / (batch_count * passes));
  survey = std::move(run.survey_);
  return go_on;
}

Survey take_survey(Tracer& tracer, const World& world, unsigned passes, bool white_first,
                   const KeepGoing& keep_going, int cells_high) {
  Survey survey = start_survey(world, white_first, cells_high);
  extend_survey(tracer, world, survey, passes, keep_going);
  return survey;
}

std::optional<DepthRange> subject_range(const Survey& survey, const Use& use) {
  std::vector<double> depths;
  for (std::size_t i = 0; i < eighths; ++i)
    if (use[i])
      depths.insert(depths.end(), survey.subject_depth_m[i].begin(), survey.subject_depth_m[i].end());
  if (depths.empty()) return std::nullopt;
  const double far = percentile_in(depths, 99);
  return DepthRange{Length(percentile_in(depths, 1)), Length(far)};
}

std::vector<glm::dvec3> cell_luminance(const Survey& survey, const Mix& mix, const Use& use) {
  std::vector<glm::dvec3> cells(survey.cell.front().front().size());
  double samples = 0;
  for (std::size_t eighth = 0; eighth < eighths; ++eighth) {
    if (!use[eighth]) continue;
    samples += static_cast<double>(survey.passes) * batch_count / eighths;
    for (std::size_t g = 0; g < mix.size(); ++g)
      for (std::size_t i = 0; i < cells.size(); ++i) cells[i] += mix[g] * survey.cell[eighth][g][i];
  }
  for (glm::dvec3& cell : cells) cell /= samples;
  return cells;
}

MeterRun::MeterRun(const Tracer& tracer, const World& world, const Meter& meter, int side)
    : world_(world),
      meter_(meter),
      view_(view_of(world, meter, side)),
      film_(tracer.make_film(view_)),
      sums_(world.groups.size()) {}

void MeterRun::add_batch(Tracer& tracer, unsigned first, unsigned passes) {
  const bool incident = meter_.kind == Meter::Kind::incident;
  const double chief_weight = incident ? 1 : weight_at(world_.camera, meter_.at[0], meter_.at[1]);
  // Illuminance of a white receiver = pi x its luminance.
  const double scale = incident ? std::numbers::pi : 1;
  constexpr unsigned most_at_once = 8;  // samples a dispatch (tracer.h)
  film_.clear();
  for (unsigned done = 0; done < passes; done += most_at_once)
    tracer.sample(view_, film_,
                  {.index = first + done,
                   .count = std::min(most_at_once, passes - done),
                   .half = 0,
                   .seed = batch_seed(world_, batch_, purpose_of(meter_))});
  const std::vector<float> film_sums = film_.read();
  sums_.count(batch_, static_cast<double>(view_.pixels()) * passes);
  for (std::size_t g = 0; g < world_.groups.size(); ++g) {
    glm::dvec3 total(0);
    for (std::size_t pixel = 0; pixel < view_.pixels(); ++pixel) {
      const float* rgb = &film_sums[(g * view_.pixels() + pixel) * 3];
      total += glm::dvec3(rgb[0], rgb[1], rgb[2]);
    }
    sums_.add(batch_, g, total * scale, chief_weight);
  }
  ++batch_;
}

void extend_meter(Tracer& tracer, const World& world, const Meter& meter, unsigned first, unsigned passes,
                  RegionSums& into, int side) {
  MeterRun run(tracer, world, meter, side);
  while (!run.done()) run.add_batch(tracer, first, passes);
  into.merge(run.sums());
}

RegionSums take_meter(Tracer& tracer, const World& world, const Meter& meter, unsigned passes) {
  RegionSums sums(world.groups.size());
  extend_meter(tracer, world, meter, 0, passes, sums);
  return sums;
}

}  // namespace undercap
