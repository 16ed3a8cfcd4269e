#include "engine/session/live_places.h"

#include <algorithm>
#include <chrono>

#include "engine/core/errors.h"
#include "engine/session/place.h"
#include "engine/world/update.h"

namespace undercap {
namespace {

using Clock = std::chrono::steady_clock;
double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

std::uint64_t samples_of(const Survey& survey) {
  return static_cast<std::uint64_t>(survey.passes) * static_cast<std::uint64_t>(survey.width * survey.height);
}

void add_shape(const Lamp& lamp, std::vector<double>& to) {
  to.insert(to.end(), {lamp.rectangle ? 1.0 : 0.0, lamp.half_width_m, lamp.half_height_m,
                       static_cast<double>(lamp.planes)});
  to.insert(to.end(), lamp.beam.begin(), lamp.beam.end());
}

void add_vector(const glm::dvec3& v, std::vector<double>& to) { to.insert(to.end(), {v.x, v.y, v.z}); }

}  // namespace

LivePlaces::OtherLight LivePlaces::other_light(const Live& live, const PlacesAsked& asked,
                                               std::size_t group) {
  const World& world = live.world();
  OtherLight other{.set = live.set_version(),
                   .source = asked.source,
                   .target = asked.target,
                   .hand = asked.hand,
                   .mix = mix_with(world, live.development().shutter, group, false),
                   .lamps = {}};
  const std::size_t first = world.groups.size() - world.lamps.size();
  for (std::size_t i = 0; i < world.lamps.size(); ++i) {
    if (first + i == group) continue;
    const Lamp& lamp = world.lamps[i];
    add_vector(lamp.position_m, other.lamps);
    add_vector(lamp.direction, other.lamps);
    add_vector(lamp.right, other.lamps);
    add_shape(lamp, other.lamps);
  }
  return other;
}

LivePlaces::OwnLight LivePlaces::own_light(const Live& live, const Source& source) {
  Source full = source;
  full.power_pct = 100;
  full.on = true;
  const CarriedLamp carried = carried_lamp(live.world().scene, full);
  OwnLight own{.lamp = probe_lamp(carried, source),
               .full_peak = carried.group.power * exposure_share(carried.group, live.development().shutter),
               .numbers = {}};
  own.numbers = {own.full_peak, source.roll_deg, own.lamp.tube_m, carried.group.flash ? 1.0 : 0.0};
  add_vector(own.lamp.colour, own.numbers);
  add_shape(own.lamp.lamp, own.numbers);
  return own;
}

void LivePlaces::begin_slices() {
  for (Slice& slice : slice_) slice.fields.clear();
  shown_ = false;
}

bool LivePlaces::refuse(const std::string& why) {
  const bool news = fault_ != why || map_;
  fault_ = why;
  placement_.reset();
  for (Slice& slice : slice_) slice = {};
  if (map_) ++number_;
  map_.reset();
  return news;
}

// The points of the target and their light. False, with a fault, where the camera does not see it.
bool LivePlaces::make_placement(Live& live, const PlacesAsked& asked) {
  if (const std::string defines = live.tracer().walk_defines(); !probe_ || probe_defines_ != defines) {
    placement_.reset();
    probe_.emplace(shaders_, live.tracer());
    probe_defines_ = defines;
  }
  const Survey& survey = *live.readings().survey();
  survey_samples_ = samples_of(survey);
  try {
    PlaceWish wish{.target = target_parts(live.world(), asked.target),
                   .rise_stops = asked.rise_stops,
                   .spill_stops = asked.spill_stops,
                   .hand = asked.hand};
    placement_.emplace(*probe_, live.tracer(), live.world(), survey, other_->mix, std::move(wish),
                       Placement::Counts{});
    fault_.clear();
  } catch (const Refusal& refusal) {
    refuse(refusal.what());
    return false;
  }
  question_.target = asked.target ? asked.target->text() : "the subject";
  question_.target_m = placement_->target_middle();
  slice_[0] = slice_[1] = {};
  shown_ = false;
  return true;
}

// A slice that lies elsewhere than before begins anew.
void LivePlaces::lay_slices(const World& world, const glm::dvec3& lamp_m) {
  for (const bool level : {true, false}) {
    Slice& slice = slice_[level ? 0 : 1];
    std::vector<glm::dvec3> places =
        slice_places(world, question_.target_m, {.level = level, .through_m = lamp_m});
    if (places == slice.places) continue;
    slice = {std::move(places), {}};
    shown_ = false;
  }
}

// Brings everything in step with the world. True when there is something to be measured.
bool LivePlaces::prepare(Live& live, const PlacesAsked& asked) {
  const World& world = live.world();
  const Source& source = source_of(world.scene, asked.source);
  const auto group = static_cast<std::size_t>(world.group_index(asked.source));
  OtherLight other = other_light(live, asked, group);
  const LiveReadings& readings = live.readings();
  const bool finer = readings.current() && readings.survey()->passes >= LiveReadings::whole_passes &&
                     samples_of(*readings.survey()) > survey_samples_;
  if (!other_ || *other_ != other || finer) {
    if (!other_ || *other_ != other) {
      placement_.reset();  // it looks at a world that may be gone
      fault_.clear();
      for (Slice& slice : slice_) slice = {};
      shown_ = false;
      other_ = std::move(other);
      survey_samples_ = 0;
    }
  }
  if ((!placement_ && fault_.empty()) || finer) {
    if (!readings.current() || !readings.survey()) return false;
    if (!make_placement(live, asked)) return false;
  }
  if (!placement_) return false;
  OwnLight own = own_light(live, source);
  if (own.numbers != own_.numbers) begin_slices();
  own_ = std::move(own);
  if (const PlaceWish& wish = placement_->wish();
      wish.rise_stops != asked.rise_stops || wish.spill_stops != asked.spill_stops) {
    placement_->set_wish(asked.rise_stops, asked.spill_stops);
    begin_slices();
  }
  question_.source = asked.source;
  question_.wish = placement_->wish();
  question_.flash = source.kind == Source::Kind::flash;
  question_.shutter = live.development().shutter;
  lay_slices(world, source.position_m);
  return true;
}

void LivePlaces::take_rows(Tracer& tracer, double seconds) {
  const auto start = Clock::now();
  for (Slice& slice : slice_)
    while (!slice.whole()) {
      const double left = seconds - seconds_since(start);
      const std::size_t done = slice.fields.size(), row = slice_side;
      if (left <= 0 && row_s_ > 0) return;
      const double share = row_s_ > 0 ? left / row_s_ : 1;
      const auto rows = static_cast<std::size_t>(std::clamp(share, 1.0, double{slice_side}));
      const std::size_t count = std::min(rows * row, slice.places.size() - done);
      const auto from = Clock::now();
      const std::vector<PlaceFields> more = placement_->fields(
          tracer, own_.lamp, own_.full_peak, std::span(slice.places).subspan(done, count), lamp_samples);
      slice.fields.insert(slice.fields.end(), more.begin(), more.end());
      row_s_ = std::max(1e-6, seconds_since(from) * static_cast<double>(row) / static_cast<double>(count));
    }
}

bool LivePlaces::work(Live& live, const PlacesAsked& asked, double seconds) {
  if (!live.exposed()) return false;
  const World& world = live.world();
  if (world.group_index(asked.source) < 0) return refuse("the scene has no lamp to be placed");
  const DrawingAxes axes = axes_of(world);
  bool news = false;
  if (map_ && (map_file_ != world.scene.file || map_axes_.forward != axes.forward)) {
    map_.reset();
    ++number_;
    news = true;
  }
  const std::string fault = fault_;
  if (!prepare(live, asked)) return news || fault != fault_;
  if (!under_way()) return news;
  take_rows(live.tracer(), seconds);
  if (!slice_[0].whole() || !slice_[1].whole()) return news;
  map_ = light_map(world, question_, slice_[0].fields, slice_[1].fields, slice_side, {});
  map_file_ = world.scene.file;
  map_axes_ = axes;
  shown_ = true;
  ++number_;
  return true;
}

double LivePlaces::share_done() const {
  if (!under_way()) return 1;
  const double all = 2.0 * slice_side * slice_side;
  return static_cast<double>(slice_[0].fields.size() + slice_[1].fields.size()) / all;
}

std::optional<PlaceFields> LivePlaces::at(Live& live, const glm::dvec3& place_m) const {
  if (!placement_ || !other_ || other_->set != live.set_version()) return std::nullopt;
  return placement_->fields(live.tracer(), own_.lamp, own_.full_peak, std::span(&place_m, 1), lamp_samples)
      .front();
}

}  // namespace undercap
