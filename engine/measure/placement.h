// Where may a lamp stand? Fields over places, by direct light alone: an estimate, which bounces from litter
// and wood add to.
//
// A lamp at a place gives the target l cd/m2 for each cd of its peak, the backdrop b and the foreground f.
// Where they have L, B and F without it, a rise of s stops takes the peak I = (2^s - 1) L / l, and spills
// log2(1 + I b / B) on the backdrop. Means are over what the camera sees of each, as in the readings of
// parts.
#pragma once

#include <cstdint>
#include <glm/vec3.hpp>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "engine/measure/survey.h"
#include "engine/render/light_probe.h"
#include "engine/world/world.h"

namespace undercap {

// Why a lamp may not stand somewhere. Common practice, no source: the numbers of a hand and of a body.
enum class PlaceLimit : std::uint16_t {
  in_picture = 1,    // the lamp would show
  in_the_way = 2,    // it would touch a prop, the ground or the barrel
  photographer = 4,  // who kneels there
  near_subject = 8,
  near_axis = 16,
  out_of_reach = 32,  // of a hand beside the camera
  arm_in_picture = 64,
  flat = 128,      // too near to the camera's direction to show form
  no_light = 256,  // hardly any of it meets the target
  spill = 512,     // on backdrop or foreground, at the power that the rise takes
  power = 1024,    // the rise takes more than the lamp has
  even = 2048,     // at no power do the sides differ as wished
};
inline constexpr int place_limits = 12;
using PlaceLimits = std::uint16_t;  // a sum of PlaceLimit
constexpr PlaceLimits operator|(PlaceLimits a, PlaceLimit b) {
  return static_cast<PlaceLimits>(a | static_cast<PlaceLimits>(b));
}
constexpr bool has(PlaceLimits limits, PlaceLimit one) {
  return (limits & static_cast<PlaceLimits>(one)) != 0;
}
std::string_view limit_words(PlaceLimit limit);

struct PlaceWish {
  std::vector<std::uint32_t> target{};  // parts, sorted
  double rise_stops = 1;
  // In place of a rise: how far the lit third of the target is to stand above its dark third.
  std::optional<double> sides_stops{};
  double spill_stops = 0.2;           // at most, on backdrop and on foreground
  double least_angle_deg = 25;        // between the ways from the target to the camera and to the lamp
  double nearest_m = 0.05;            // lamp front to the nearest place of the target
  double off_axis_m = 0.03;           // lamp's rim to the lens axis
  bool hand = false;                  // a hand beside the camera holds it
  std::optional<glm::dvec3> aim_m{};  // none: the target's middle
};

// How far a hand gets from the entrance pupil, leaning forward; and where the shoulders are, behind and
// beside it.
inline constexpr double hand_reach_m = 0.8, shoulder_behind_m = 0.2, shoulder_beside_m = 0.2;
// Shorter than this from the target no hand holds a lamp steady; and no hand switches within this time.
inline constexpr double least_hold_m = 0.05, least_switch_s = 0.3;

// What a lamp at one place does.
struct PlaceFields {
  glm::dvec3 position_m{0}, direction{0, 0, -1};
  PlaceLimits limits = 0;
  bool hidden = false;    // within the frame, but behind something
  double nearest_m = 0;   // lamp front to the nearest seen place of the target
  double distance_m = 0;  // lamp front to the target's middle
  double angle_deg = 0;   // modelling: 0 from the camera, 90 from the side, 180 from behind
  double size_deg = 0;    // of the lamp's front, from the target
  double rise_stops = 0;  // of the target: as wished, or what parts its sides as wished
  double power_pct = 0;   // of the lamp's full power, for the rise; infinite without light
  double backdrop_stops = 0, foreground_stops = 0;  // spill at that power
  double evenness_stops =
      0;  // between brightest and darkest tenth of the target at the rise, were it evenly lit before
  std::optional<double>
      penumbra_mm{};        // width of shadow edges on the target, the median; none: no shadow on it
  double lit_share = 0;     // of the target's seen surface, in this light
  double target_cd_m2 = 0;  // for a peak of 1 cd
};

// The seen points of a world that light is asked for, and what they have without the lamp.
class Placement {
 public:
  struct Counts {
    unsigned target = 128, backdrop = 48, foreground = 48;
  };
  // 'base' is a survey of the same world, 'without' its mix without the lamp. Refuses a target that the
  // camera does not see, or that is black without the lamp, when a rise means nothing.
  Placement(const LightProbe& probe, Tracer& tracer, const World& world, const Survey& base,
            const Mix& without, PlaceWish wish, Counts counts);

  const PlaceWish& wish() const { return wish_; }
  void set_wish(double rise_stops, double spill_stops) {
    wish_.rise_stops = rise_stops;
    wish_.spill_stops = spill_stops;
  }
  const glm::dvec3& target_middle() const { return middle_m_; }
  const Estimate& target_luminance() const { return target_; }
  const std::vector<SeenPoint>& points() const { return points_; }

  // 'full_peak' is the lamp's weight at full power: cd at the peak times its share of the exposure. The order
  // of the places is that of the answer and matters for nothing else. Where the camera, who holds it or what
  // stands there forbids a lamp, its light is not asked for.
  std::vector<PlaceFields> fields(Tracer& tracer, const ProbeLamp& lamp, double full_peak,
                                  std::span<const glm::dvec3> places, unsigned samples) const;

  // The same for one pose, whatever its limits.
  PlaceFields at(Tracer& tracer, const ProbeLamp& lamp, double full_peak, const LampPlace& place,
                 unsigned samples) const;

 private:
  PlaceFields posed(const LampPlace& place) const;  // where it stands, and no light yet
  void choose_points(Tracer& tracer, const Counts& counts);
  void measure_light(Tracer& tracer, const ProbeLamp& lamp, double full_peak,
                     std::vector<PlaceFields*> places, unsigned samples) const;
  void find_room(Tracer& tracer, double radius_m, std::vector<PlaceFields>& places) const;

  const LightProbe& probe_;
  const World& world_;
  PlaceWish wish_;
  std::size_t targets_ = 0, backdrops_ = 0;  // the first so many points, then so many; the rest is foreground
  std::vector<SeenPoint> points_;
  glm::dvec3 middle_m_{0};
  Estimate target_;
  std::optional<double> backdrop_, foreground_;  // cd/m2 without the lamp; none: not seen, or black
};

// What no wish can change about a place: a lamp there would show, or is in something or somebody.
inline constexpr PlaceLimits impossible =
    static_cast<PlaceLimits>(PlaceLimit::in_picture) | PlaceLimit::in_the_way | PlaceLimit::photographer;

// The limits that the camera and who holds it set, for a ball of this radius around the lamp's front:
// in_picture, photographer, near_axis, out_of_reach, arm_in_picture, flat. in_picture says that the ball lies
// in the frame, hidden or not.
PlaceLimits geometric_limits(const World& world, const PlaceWish& wish, const glm::dvec3& target_m,
                             const glm::dvec3& place_m, double radius_m);

// Modelling: between the ways from a target to the camera and to a place; 0 from the camera, 180 from behind.
double axis_angle_deg(const CameraRig& rig, const glm::dvec3& target_m, const glm::dvec3& place_m);

// Around the lamp's front, m: the front itself with a rim.
double lamp_radius(const Lamp& lamp);

}  // namespace undercap
