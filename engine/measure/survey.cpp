#include "engine/measure/survey.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/colour/spaces.h"

namespace undercap {
namespace {

// Scrambles of the picture, of surveys and of meters are kept apart. All that hangs on a batch is multiplied
// by odd numbers, so that what differs anywhere differs in the sum but for one case in 2^32.
constexpr std::uint32_t survey_purpose = 1, white_purpose = 2;
std::uint32_t batch_seed(const World& world, unsigned batch, std::uint32_t purpose) {
  return static_cast<std::uint32_t>(world.scene.seed) * 0x9e3779b1u + purpose * 0x85ebca6bu +
         batch * 0xc2b2ae35u + 1u;
}

// By its name, so that a meter reads the same whatever other meters a scene has. FNV-1a, 32 bits (Fowler,
// Noll, Vo; from memory).
std::uint32_t purpose_of(const Meter& meter) {
  std::uint32_t hash = 0x811c9dc5u;
  for (const char c : meter.name) hash = (hash ^ static_cast<unsigned char>(c)) * 0x01000193u;
  return hash;
}

bool contains(const std::vector<std::uint32_t>& sorted, std::uint32_t part) {
  return std::binary_search(sorted.begin(), sorted.end(), part);
}

// cos^4 of the chief ray of a place in the frame, 0..1 from the upper left.
double weight_at(const CameraRig& rig, double across, double down) {
  const Length right = rig.width * (across - 0.5), up = rig.height * (down - 0.5);
  return chief_ray_weight(rig.lens, rig.magnification, Length(std::hypot(right.value(), up.value())));
}

std::vector<double> chief_weights(const World& world, int width, int height) {
  std::vector<double> weights;
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x)
      weights.push_back(weight_at(world.camera, (x + 0.5) / width, (y + 0.5) / height));
  return weights;
}

}  // namespace

Survey start_survey(const World& world, bool white_first, int cells_high) {
  const std::size_t groups = world.groups.size();
  Survey survey;
  survey.height = cells_high;
  survey.width =
      std::max(8, static_cast<int>(std::lround(cells_high * (world.camera.width / world.camera.height))));
  survey.white_first = white_first;
  survey.part.assign(world.parts.size(), RegionSums(groups));
  survey.subject = survey.backdrop = survey.whole = RegionSums(groups);
  const std::size_t cells = static_cast<std::size_t>(survey.width) * static_cast<std::size_t>(survey.height);
  for (auto& eighth : survey.cell) eighth.assign(groups, std::vector<glm::dvec3>(cells));
  return survey;
}

bool extend_survey(Tracer& tracer, const World& world, Survey& survey, unsigned passes,
                   const KeepGoing& keep_going) {
  const std::size_t groups = world.groups.size();
  const View view{
      .width = survey.width, .height = survey.height, .white_first = survey.white_first, .first_hits = true};
  const std::vector<double> weights = chief_weights(world, survey.width, survey.height);
  Film film = tracer.make_film(view);
  const double focus = world.camera.pupil_distance.value();
  std::vector<std::uint8_t> is_subject(world.parts.size()), is_backdrop(world.parts.size());
  for (std::uint32_t p = 0; p < world.parts.size(); ++p) {
    is_subject[p] = contains(world.subject, p);
    is_backdrop[p] = world.backdrop && contains(*world.backdrop, p);
  }
  for (unsigned turn = 0; turn < batch_count * passes; ++turn) {
    const unsigned batch = turn % batch_count;
    const std::size_t eighth = batch % eighths;
    film.clear();
    tracer.sample(view, film,
                  {.index = survey.passes,
                   .half = 0,
                   .seed = batch_seed(world, batch, survey.white_first ? white_purpose : survey_purpose)});
    const std::vector<float> sums = film.read();
    const std::vector<Film::FirstHit> hits = film.read_first_hits();
    for (std::size_t pixel = 0; pixel < hits.size(); ++pixel) {
      const Film::FirstHit& hit = hits[pixel];
      const bool met = hit.part != no_part;
      const bool subject = met && is_subject[hit.part];
      const bool backdrop = world.backdrop ? met && is_backdrop[hit.part]
                                           : !subject && static_cast<double>(hit.distance_m) > focus;
      survey.whole.count(batch);
      if (met) survey.part[hit.part].count(batch);
      if (subject) survey.subject.count(batch), survey.subject_depth_m[eighth].push_back(hit.distance_m);
      if (backdrop) survey.backdrop.count(batch);
      for (std::size_t g = 0; g < groups; ++g) {
        const float* rgb = &sums[(g * view.pixels() + pixel) * 3];
        const glm::dvec3 luminance(rgb[0], rgb[1], rgb[2]);
        survey.cell[eighth][g][pixel] += luminance;
        survey.whole.add(batch, g, luminance, weights[pixel]);
        if (met) survey.part[hit.part].add(batch, g, luminance, weights[pixel]);
        if (subject) survey.subject.add(batch, g, luminance, weights[pixel]);
        if (backdrop) survey.backdrop.add(batch, g, luminance, weights[pixel]);
      }
    }
    // Only whole rounds end a survey, so that every batch has the same count.
    if (batch + 1 < batch_count) continue;
    ++survey.passes;
    survey.counters = tracer.counters();
    if (!keep_going(static_cast<double>(turn + 1) / (batch_count * passes))) return false;
  }
  return true;
}

Survey take_survey(Tracer& tracer, const World& world, unsigned passes, bool white_first,
                   const KeepGoing& keep_going, int cells_high) {
  Survey survey = start_survey(world, white_first, cells_high);
  extend_survey(tracer, world, survey, passes, keep_going);
  return survey;
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

void extend_meter(Tracer& tracer, const World& world, const Meter& meter, unsigned first, unsigned passes,
                  RegionSums& into, int side) {
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
  Film film = tracer.make_film(view);
  const double chief_weight = incident ? 1 : weight_at(world.camera, meter.at[0], meter.at[1]);
  const double scale =
      incident ? std::numbers::pi : 1;  // illuminance of a white receiver = pi x its luminance
  constexpr unsigned most_at_once = 8;  // samples a dispatch (tracer.h)
  for (unsigned batch = 0; batch < batch_count; ++batch) {
    film.clear();
    for (unsigned done = 0; done < passes; done += most_at_once)
      tracer.sample(view, film,
                    {.index = first + done,
                     .count = std::min(most_at_once, passes - done),
                     .half = 0,
                     .seed = batch_seed(world, batch, purpose_of(meter))});
    const std::vector<float> film_sums = film.read();
    into.count(batch, static_cast<double>(view.pixels()) * passes);
    for (std::size_t g = 0; g < world.groups.size(); ++g) {
      glm::dvec3 total(0);
      for (std::size_t pixel = 0; pixel < view.pixels(); ++pixel) {
        const float* rgb = &film_sums[(g * view.pixels() + pixel) * 3];
        total += glm::dvec3(rgb[0], rgb[1], rgb[2]);
      }
      into.add(batch, g, total * scale, chief_weight);
    }
  }
}

RegionSums take_meter(Tracer& tracer, const World& world, const Meter& meter, unsigned passes) {
  RegionSums sums(world.groups.size());
  extend_meter(tracer, world, meter, 0, passes, sums);
  return sums;
}

}  // namespace undercap
