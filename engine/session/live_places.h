// The map of places for a lamp in a window: where may it be held? Two slices, a level one at the lamp's
// height and an upright one along the camera's axis through the lamp, in slices of time.
//
// What makes a map stale, and nothing else does:
//  - set, camera or sky (Live::set_version), the other lamps, the light that they give over the exposure;
//  - what is asked: source, target, rise, spill, hand;
//  - the source's own size, beam, colour, roll, tube, full power and time on;
//  - its height (the level slice), how far it stands to the camera's right (the upright one);
//  - the last survey of the readings, once, when the quick one made the map before.
// Not the source's power, nor whether it is on, nor where it stands within the slices. The old map stays to
// be seen until the new one is whole, but for one in other axes, after a turn of the camera, which would lie
// wrong.
//
// Light is direct alone, and snoots stand where they stand.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/report/light_sheet.h"
#include "engine/session/live.h"

namespace undercap {

struct PlacesAsked {
  std::string source;               // of the scene
  std::optional<Address> target{};  // none: the subject
  double rise_stops = 1, spill_stops = 0.2;
  bool hand = false;
  bool operator==(const PlacesAsked&) const = default;
};

class LivePlaces {
 public:
  explicit LivePlaces(const ShaderLibrary& shaders) : shaders_(shaders) {}

  // Of the lamp's front, for each place.
  static constexpr unsigned lamp_samples = 1;

  // Works for about so long, on one row of places at least. True when there is a new map or a new refusal.
  bool work(Live& live, const PlacesAsked& asked, double seconds);

  // The last whole map; none yet.
  const PlaceMap* map() const { return map_ ? &*map_ : nullptr; }
  std::uint64_t number() const { return number_; }  // counts maps, and their loss
  // It is of the world as the last work() found it.
  bool current() const { return map_ && !under_way(); }
  bool under_way() const { return fault_.empty() && !(slice_[0].whole() && slice_[1].whole() && shown_); }
  double share_done() const;
  const std::string& fault() const { return fault_; }  // why there is none: the target is not seen ...

  // Fields of one place, with the lamp aimed at the target, in a moment. None while nobody knows.
  std::optional<PlaceFields> at(Live& live, const glm::dvec3& place_m) const;
  // What was asked, for words on places. Holds where at() gives something.
  const LightQuestion& question() const { return question_; }
  // The same as at() takes its fields from: for tests.
  const Placement* placement() const { return placement_ ? &*placement_ : nullptr; }

 private:
  // What the points of the target and their light without the lamp rest on.
  struct OtherLight {
    std::uint64_t set = 0;
    std::string source;
    std::optional<Address> target;
    bool hand = false;
    Mix mix;
    std::vector<double> lamps;  // all numbers of the other ones
    bool operator==(const OtherLight&) const = default;
  };
  // The lamp that is carried about.
  struct OwnLight {
    ProbeLamp lamp;
    double full_peak = 0;
    std::vector<double> numbers;
  };
  struct Slice {
    std::vector<glm::dvec3> places{};
    std::vector<PlaceFields> fields{};  // of the first ones
    bool whole() const { return !places.empty() && fields.size() == places.size(); }
  };
  static OtherLight other_light(const Live& live, const PlacesAsked& asked, std::size_t group);
  static OwnLight own_light(const Live& live, const Source& source);
  bool prepare(Live& live, const PlacesAsked& asked);
  bool make_placement(Live& live, const PlacesAsked& asked);
  void lay_slices(const World& world, const glm::dvec3& lamp_m);
  void begin_slices();
  void take_rows(Tracer& tracer, double seconds);
  bool refuse(const std::string& why);

  const ShaderLibrary& shaders_;
  std::string probe_defines_;
  std::optional<LightProbe> probe_;
  std::optional<Placement> placement_;
  std::optional<OtherLight> other_;  // that placement or fault are of
  std::uint64_t survey_samples_ = 0;
  OwnLight own_;
  LightQuestion question_;
  Slice slice_[2];  // level, upright
  bool shown_ = false;
  std::optional<PlaceMap> map_;
  std::string map_file_;
  DrawingAxes map_axes_;
  std::uint64_t number_ = 0;
  double row_s_ = 0;  // of the last rows; 0: not known
  std::string fault_;
};

}  // namespace undercap
