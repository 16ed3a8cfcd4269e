#include "engine/measure/survey.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "engine/colour/spaces.h"

namespace undercap {
namespace {

constexpr int cells_high = 64;
constexpr int meter_side = 32;  // a meter's batch is this many samples squared, a pass

// Scrambles of the picture, of surveys and of meters are kept apart.
std::uint32_t batch_seed(const World& world, unsigned batch, std::uint32_t purpose) {
  return static_cast<std::uint32_t>(world.scene.seed) * 0x9e3779b1u + purpose * 0x85ebca6bu +
         batch * 0xc2b2ae35u + 1u;
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

double luminance_under(const RegionSums& region, unsigned batch, const Mix& mix, bool weighted) {
  double sum = 0;
  for (std::size_t g = 0; g < mix.size(); ++g)
    sum += luminance_y(mix[g] * (weighted ? region.weighted_of(batch, g) : region.luminance_of(batch, g)));
  return sum;
}

// Value and the residual of each batch, scaled so that SE^2 = sum of residual^2.
struct Residuals {
  double value = 0;
  std::array<double, batch_count> residual{};
};

Residuals residuals(const RegionSums& region, const Mix& mix, bool weighted) {
  std::array<double, batch_count> sums{};
  double total = 0, count = 0;
  for (unsigned b = 0; b < batch_count; ++b) {
    sums[b] = luminance_under(region, b, mix, weighted);
    total += sums[b];
    count += region.count_of(b);
  }
  Residuals r;
  r.value = total / count;
  const double scale = std::sqrt(static_cast<double>(batch_count) / (batch_count - 1)) / count;
  for (unsigned b = 0; b < batch_count; ++b) r.residual[b] = (sums[b] - r.value * region.count_of(b)) * scale;
  return r;
}

double root_sum_square(const std::array<double, batch_count>& residual) {
  double sum = 0;
  for (const double r : residual) sum += r * r;
  return std::sqrt(sum);
}

}  // namespace

RegionSums::RegionSums(std::size_t groups)
    : groups_(groups), count_(batch_count), plain_(batch_count * groups), weighted_(batch_count * groups) {}

void RegionSums::add(unsigned batch, std::size_t group, const glm::dvec3& luminance, double chief_weight) {
  plain_[batch * groups_ + group] += luminance;
  weighted_[batch * groups_ + group] += luminance * chief_weight;
}

void RegionSums::merge(const RegionSums& other) {
  for (std::size_t i = 0; i < count_.size(); ++i) count_[i] += other.count_[i];
  for (std::size_t i = 0; i < plain_.size(); ++i) {
    plain_[i] += other.plain_[i];
    weighted_[i] += other.weighted_[i];
  }
}

double RegionSums::samples() const {
  double sum = 0;
  for (const double c : count_) sum += c;
  return sum;
}

Survey take_survey(Tracer& tracer, const World& world, unsigned passes, bool white_first,
                   const std::function<bool(double done)>& keep_going) {
  const std::size_t groups = world.groups.size();
  Survey survey;
  survey.height = cells_high;
  survey.width =
      std::max(8, static_cast<int>(std::lround(cells_high * (world.camera.width / world.camera.height))));
  survey.part.assign(world.parts.size(), RegionSums(groups));
  survey.subject = survey.backdrop = survey.whole = RegionSums(groups);
  const View view{
      .width = survey.width, .height = survey.height, .white_first = white_first, .first_hits = true};
  const std::vector<double> weights = chief_weights(world, survey.width, survey.height);
  survey.cell.assign(groups, std::vector<glm::dvec3>(view.pixels()));
  Film film = tracer.make_film(view);
  const double focus = world.camera.pupil_distance.value();
  std::vector<std::uint8_t> is_subject(world.parts.size()), is_backdrop(world.parts.size());
  for (std::uint32_t p = 0; p < world.parts.size(); ++p) {
    is_subject[p] = contains(world.subject, p);
    is_backdrop[p] = world.backdrop && contains(*world.backdrop, p);
  }
  for (unsigned turn = 0; turn < batch_count * passes; ++turn) {
    const unsigned batch = turn % batch_count;
    film.clear();
    tracer.sample(
        view, film,
        {.index = turn / batch_count, .half = 0, .seed = batch_seed(world, batch, white_first ? 2 : 1)});
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
      if (subject) survey.subject.count(batch), survey.subject_depth_m.push_back(hit.distance_m);
      if (backdrop) survey.backdrop.count(batch), survey.backdrop_depth_m.push_back(hit.distance_m);
      for (std::size_t g = 0; g < groups; ++g) {
        const float* rgb = &sums[(g * view.pixels() + pixel) * 3];
        const glm::dvec3 luminance(rgb[0], rgb[1], rgb[2]);
        survey.cell[g][pixel] += luminance;
        survey.whole.add(batch, g, luminance, weights[pixel]);
        if (met) survey.part[hit.part].add(batch, g, luminance, weights[pixel]);
        if (subject) survey.subject.add(batch, g, luminance, weights[pixel]);
        if (backdrop) survey.backdrop.add(batch, g, luminance, weights[pixel]);
      }
    }
    survey.samples = turn + 1;
    // Only whole rounds end a survey, so that every batch has the same count.
    if (batch + 1 == batch_count && !keep_going(static_cast<double>(turn + 1) / (batch_count * passes)))
      break;
  }
  for (auto& group : survey.cell)
    for (glm::dvec3& mean : group) mean /= static_cast<double>(survey.samples);
  survey.counters = tracer.counters();
  return survey;
}

Mix mix_of(const World& world) {
  Mix mix;
  for (const LightGroup& group : world.groups) mix.push_back(group.weight());
  return mix;
}

Mix mix_with(const World& world, std::size_t group, bool on) {
  Mix mix = mix_of(world);
  mix[group] = on ? world.groups[group].colour * world.groups[group].power : glm::dvec3(0);
  return mix;
}

std::optional<Estimate> mean_luminance(const RegionSums& region, const Mix& mix, bool chief_weighted) {
  if (region.empty()) return std::nullopt;
  const Residuals r = residuals(region, mix, chief_weighted);
  return Estimate{r.value, root_sum_square(r.residual)};
}

// log2(a / b) by the delta method; a and b share samples, so their residuals are combined batch by batch.
std::optional<Estimate> stops_between(const RegionSums& a, const Mix& mix_a, const RegionSums& b,
                                      const Mix& mix_b) {
  if (a.empty() || b.empty()) return std::nullopt;
  const Residuals ra = residuals(a, mix_a, false), rb = residuals(b, mix_b, false);
  if (ra.value <= 0 || rb.value <= 0 || rb.value < 5 * root_sum_square(rb.residual) ||
      ra.value < 5 * root_sum_square(ra.residual))
    return std::nullopt;
  std::array<double, batch_count> combined{};
  for (unsigned i = 0; i < batch_count; ++i)
    combined[i] = (ra.residual[i] / ra.value - rb.residual[i] / rb.value) / std::numbers::ln2;
  return Estimate{std::log2(ra.value / rb.value), root_sum_square(combined)};
}

glm::dvec3 mean_colour(const RegionSums& region, const Mix& mix) {
  glm::dvec3 sum(0);
  for (unsigned b = 0; b < batch_count; ++b)
    for (std::size_t g = 0; g < mix.size(); ++g) sum += mix[g] * region.luminance_of(b, g);
  return region.empty() ? sum : sum / region.samples();
}

RegionSums take_meter(Tracer& tracer, const World& world, const Meter& meter, unsigned passes) {
  const bool incident = meter.kind == Meter::Kind::incident;
  View view{
      .mode = incident ? View::Mode::meter : View::Mode::spot, .width = meter_side, .height = meter_side};
  view.meter_position_m = meter.position_m;
  view.meter_normal = meter.normal;
  const auto across =
      static_cast<float>(meter.diameter_pct / 100 * (world.camera.height / world.camera.width));
  const auto down = static_cast<float>(meter.diameter_pct / 100);
  if (!incident)
    view.window = {static_cast<float>(meter.at[0]) - across / 2, static_cast<float>(meter.at[1]) - down / 2,
                   across, down};
  Film film = tracer.make_film(view);
  RegionSums sums(world.groups.size());
  const double chief_weight = incident ? 1 : weight_at(world.camera, meter.at[0], meter.at[1]);
  const double scale =
      incident ? std::numbers::pi : 1;  // illuminance of a white receiver = pi x its luminance
  for (unsigned batch = 0; batch < batch_count; ++batch) {
    film.clear();
    for (unsigned pass = 0; pass < passes; ++pass)
      tracer.sample(view, film, {.index = pass, .half = 0, .seed = batch_seed(world, batch, 3)});
    const std::vector<float> film_sums = film.read();
    sums.count(batch, static_cast<double>(view.pixels()) * passes);
    for (std::size_t g = 0; g < world.groups.size(); ++g) {
      glm::dvec3 total(0);
      for (std::size_t pixel = 0; pixel < view.pixels(); ++pixel) {
        const float* rgb = &film_sums[(g * view.pixels() + pixel) * 3];
        total += glm::dvec3(rgb[0], rgb[1], rgb[2]);
      }
      sums.add(batch, g, total * scale, chief_weight);
    }
  }
  return sums;
}

}  // namespace undercap
