// What the pocket card says, as words: the plan in a line, the light seen and the time that it asks for, what
// to check by spot readings, what to do when it does not fit.
//
// The card is read lying down, without glasses: few words, and every number with what it counts.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/core/quantities.h"
#include "engine/world/world.h"

namespace undercap {

// Two places that a spot meter is held on, and how far the first reads above the second.
struct SpotTarget {
  std::string words{};    // "cap over gills"
  double stops = 0;       // in the rehearsed picture
  double band_stops = 0;  // as far to either side will do
};

struct PocketStack {
  int frames = 0;
  Length step{};     // of the plane in focus
  Duration whole{};  // first exposure to last
};

// What the world does not know: what was measured in the rehearsal.
struct PocketFacts {
  Duration shutter{};
  double iso = 0;
  std::vector<SpotTarget> targets{};
  std::optional<PocketStack> stack{};  // none: one frame
  std::string corrected{};             // "corrected by what was taken on 2026-11-02"; empty: as planned
};

// A lamp that is on: its front to what it is aimed at.
double lamp_distance_m(const World& world, std::size_t lamp);

// What stands in the wood by hand: lamps that are on, then cards.
struct PocketThing {
  std::string name{};   // "torch 50 %", "W card"
  std::string clock{};  // "7:30"
  std::string
      distance{};        // "26 cm": of a lamp its front to what it lights, of a card its edge to the subject
  std::string height{};  // "3 cm up"
  std::string hands{};   // "3 hands off, half a hand up"
  glm::dvec3 place_m{0};
  glm::dvec3 toward_m{0};  // what it lights
  int source = -1;         // into the scene's sources; of a card -1
};
std::vector<PocketThing> pocket_things(const World& world);

// The table of light seen and time. A row is a whole stop. 'seen' is what f/8 at ISO 200 reads off a grey
// card that lies level at the subject, without lamps: E = 250 N^2 / (t S). The time is the plan's, in that
// light:
//   t = 250 N_w^2 / (E S) 2^more,   more = how much longer than that card the rehearsed picture was exposed,
// to the third of a stop. A lamp that shines on must rise with the light; one that is on for a part of the
// exposure, and a flash, stay as they are, since the exposure stays the same.
struct LightRow {
  std::string seen{};  // "1/4 s"
  std::string time{};
  std::string lamp{};  // "50 %", "100 %, 18 cm", "too weak", "+1 stop"; empty where it stays
  bool rehearsed = false;
};
struct LightTable {
  std::vector<LightRow> rows{};  // from dark to bright; none where no light of the day is
  double more_stops = 0;
  bool lamp_rises = false;
};
LightTable light_table(const World& world, const PocketFacts& facts);

// "+1.3" with a true minus where it is one; "0.0".
std::string signed_stops(double stops, int digits = 1);

std::string camera_words(const World& world);   // "90 mm on 23.5 x 15.6 mm"
std::string support_words(const World& world);  // "tripod"
std::vector<std::string> setting_words(const World& world, const PocketFacts& facts);
// What to do when a check does not fit, a line each.
std::vector<std::string> rule_words(const World& world);
// Safety and care in their shortest form, a line each.
std::vector<std::string> pocket_cautions();

}  // namespace undercap
