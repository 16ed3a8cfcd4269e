#include "engine/report/pocket_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <glm/geometric.hpp>

#include "engine/optics/exposure.h"
#include "engine/optics/third_stops.h"
#include "engine/report/light_sheet.h"
#include "engine/report/places.h"
#include "engine/report/plan.h"
#include "engine/report/sketch.h"
#include "engine/world/level_light.h"

namespace undercap {
namespace {

constexpr double seen_f_number = 8, seen_iso = 200;

// "7:30", "12": shorter than in a sentence.
std::string short_clock(const World& world, const glm::dvec3& place_m) {
  std::string words = clock_place_words(world, place_m, subject_middle(world));
  const std::string spoken = " o'clock";
  if (words.ends_with(spoken)) words = words.substr(0, words.size() - spoken.size()) + ":00";
  return words;
}

double height_m(const World& world, const glm::dvec3& place_m) {
  return place_m.z - ground_below(world, std::array{glm::dvec2(place_m)})[0];
}

const LightGroup& group_of(const World& world, std::size_t lamp) {
  return world.groups[world.groups.size() - world.lamps.size() + lamp];
}

// It gives its part of the exposure, however long that is.
bool stays_as_set(const LightGroup& group) { return group.flash || group.on_s.has_value(); }

PocketThing thing_at(const World& world, const glm::dvec3& place_m, double distance_m) {
  PocketThing thing;
  const double height = height_m(world, place_m);
  thing.clock = short_clock(world, place_m);
  thing.distance = length_words(distance_m);
  thing.height = fmt::format("{} up", length_words(height));
  thing.hands = fmt::format("{} off, {} up", hand_words(distance_m), hand_words(height));
  thing.place_m = place_m;
  return thing;
}

PocketThing lamp_thing(const World& world, std::size_t lamp) {
  const Source& source = world.scene.sources[lamp];
  const LightGroup& group = group_of(world, lamp);
  PocketThing thing = thing_at(world, world.lamps[lamp].position_m, lamp_distance_m(world, lamp));
  thing.toward_m = aim_place(world, lamp);
  thing.source = static_cast<int>(lamp);
  thing.name = fmt::format("{} {}", source.name, power_words({.flash = group.flash}, source.power_pct));
  if (group.on_s) thing.name += fmt::format(", on {:g} s", *group.on_s);
  if (source.diffuser > 0) thing.name += ", diffused";
  return thing;
}

std::string card_word(const std::string& letter) {
  return letter == "W"   ? "white"
         : letter == "S" ? "silver"
         : letter == "G" ? "gold"
         : letter == "B" ? "black"
         : letter == "D" ? "diffusing"
                         : "";
}

// Of a card that is held in: its middle, and how near its nearest corner comes.
PocketThing card_thing(const World& world, const Prop& prop) {
  const std::vector<std::uint32_t> parts = parts_of(world, {Address::Of::prop, prop.name, 0, {}});
  const glm::dvec3 subject = subject_middle(world);
  double nearest = 1e9;
  for (const WorldTriangle& t : world.triangle)
    if (std::binary_search(parts.begin(), parts.end(), t.part))
      for (const std::uint32_t corner : {t.a, t.b, t.c})
        nearest = std::min(nearest, glm::distance(glm::dvec3(world.position[corner]), subject));
  PocketThing thing = thing_at(world, *centroid(world, parts), nearest);
  thing.toward_m = subject;
  const std::string word = card_word(card_letter(world, prop.name));
  thing.name = word.empty() || prop.name.find(word) != prop.name.npos ? prop.name
                                                                      : fmt::format("{} {}", word, prop.name);
  return thing;
}

// What lamps have to do where the light is so many times the rehearsed; empty where no lamp has to.
std::string lamp_rise(const World& world, double times) {
  std::vector<std::size_t> rising;
  for (std::size_t i = 0; i < world.lamps.size(); ++i)
    if (const LightGroup& group = group_of(world, i); group.on && group.power > 0 && !stays_as_set(group))
      rising.push_back(i);
  if (rising.empty()) return {};
  if (rising.size() > 1) {
    const int stops = static_cast<int>(std::lround(std::log2(times)));
    return stops == 0 ? "as set"
                      : fmt::format("{} stop{}", signed_stops(stops, 0), std::abs(stops) > 1 ? "s" : "");
  }
  const double pct = world.scene.sources[rising[0]].power_pct * times;
  if (pct <= 100 * (1 + 1e-9)) return power_words({}, pct);
  // Nearer than a hand's width it touches, and the square law no longer holds.
  constexpr double nearest_m = 0.085;
  const double distance = lamp_distance_m(world, rising[0]) * std::sqrt(100 / pct);
  return distance < nearest_m ? std::string("too weak") : fmt::format("100 %, {}", length_words(distance));
}

}  // namespace

double lamp_distance_m(const World& world, std::size_t lamp) {
  return glm::distance(world.lamps[lamp].position_m, aim_place(world, lamp));
}

std::vector<PocketThing> pocket_things(const World& world) {
  std::vector<PocketThing> things;
  for (std::size_t i = 0; i < world.lamps.size(); ++i)
    if (const LightGroup& group = group_of(world, i); group.on && group.power > 0)
      things.push_back(lamp_thing(world, i));
  for (const Prop& prop : world.scene.props) {
    if (!prop.visible || !prop.kind || prop.kind->name != "card") continue;
    const std::vector<std::uint32_t> parts = parts_of(world, {Address::Of::prop, prop.name, 0, {}});
    // A card that is the subject itself is nothing to hold.
    if (!parts.empty() && !std::binary_search(world.subject.begin(), world.subject.end(), parts.front()))
      things.push_back(card_thing(world, prop));
  }
  return things;
}

LightTable light_table(const World& world, const PocketFacts& facts) {
  LightTable table;
  const Illuminance planned(level_light(world).below);
  // A hundredth of a lux is a night under stars: no camera reads it off a card.
  if (planned < Illuminance(0.01)) return table;
  const double working = world.camera.working_f_number;
  table.more_stops = std::log2(facts.shutter / grey_card_time(planned, working, facts.iso));
  const double middle = nearest_shutter(grey_card_time(planned, seen_f_number, seen_iso)).exact;
  for (const int darker : {2, 1, 0, -1, -2, -3}) {
    const Duration seen(middle * std::exp2(darker));
    const Illuminance light = grey_card_illuminance({seen_f_number, seen, seen_iso});
    const Duration time = grey_card_time(light, working, facts.iso) * std::exp2(table.more_stops);
    table.rows.push_back({.seen = nearest_shutter(seen).label,
                          .time = nearest_shutter(time).label,
                          .lamp = lamp_rise(world, darker == 0 ? 1 : light / planned),
                          .rehearsed = darker == 0});
    table.lamp_rises = table.lamp_rises || !table.rows.back().lamp.empty();
  }
  return table;
}

std::string signed_stops(double stops, int digits) {
  const std::string size = fmt::format("{:.{}f}", std::abs(stops), digits);
  if (size.find_first_not_of("0.") == size.npos) return size;
  return fmt::format("{}{}", stops > 0 ? "+" : "\xe2\x88\x92", size);
}

std::string camera_words(const World& world) {
  const Camera& camera = world.scene.camera;
  return fmt::format("{:g} mm lens on {:g} \xc3\x97 {:g} mm", camera.focal_length_mm, camera.format_mm[0],
                     camera.format_mm[1]);
}

std::string support_words(const World& world) {
  switch (world.scene.camera.support) {
    case Camera::Support::tripod:
      return "tripod";
    case Camera::Support::bag:
      return "bean bag";
    case Camera::Support::hand:
      return "in the hand";
  }
  return {};
}

std::vector<std::string> setting_words(const World& world, const PocketFacts& facts) {
  const Camera& camera = world.scene.camera;
  std::vector<std::string> words;
  const auto& kelvin = world.scene.exposure.white_balance_k;
  words.push_back(fmt::format(
      "Balance {}, polariser {}.", kelvin ? fmt::format("{:.0f} K", *kelvin) : std::string("off a grey card"),
      camera.polariser_deg ? fmt::format("turned {:g}\xc2\xb0", *camera.polariser_deg) : std::string("no")));
  words.push_back(facts.stack
                      ? fmt::format("Stack {} \xc3\x97 {:.2g} mm, {:.0f} s in all.", facts.stack->frames,
                                    facts.stack->step / 1_mm, facts.stack->whole.value())
                      : std::string("One frame, no stack."));
  return words;
}

// The square law holds beyond about two widths of the lamp; common practice, no source.
std::vector<std::string> rule_words(const World& world) {
  std::vector<std::string> rules;
  std::optional<std::size_t> first;
  for (std::size_t i = world.lamps.size(); i-- > 0;)
    if (group_of(world, i).on && group_of(world, i).power > 0) first = i;
  if (first) {
    const double distance = lamp_distance_m(world, *first);
    rules.push_back(fmt::format("Too strong: \xc3\x97{} ({}) {} stop, \xc3\x97{} ({}) {}.", 1.4,
                                length_words(distance * std::sqrt(2.0)), signed_stops(-1, 0), 2,
                                length_words(2 * distance), signed_stops(-2, 0)));
    if (!group_of(world, *first).flash)
      rules.push_back(fmt::format("On for half the time: {} stop.", signed_stops(-1, 0)));
    rules.emplace_back("Lamp shows: 2 cm back, or 1 hour on the clock.");
  }
  rules.emplace_back(first ? "Too weak: card to half the distance."
                           : "Shade too dark: card to half the distance.");
  rules.emplace_back(first ? "Backdrop too bright: turn the lamp off it."
                           : "Backdrop too bright: dark wood behind, lower axis.");
  return rules;
}

std::vector<std::string> pocket_cautions() {
  return {
      "Never aim at the sun by an optical finder. Do not look into a lamp. No flash or mains in the wet.",
      "Never name or eat a fungus by a picture; wash hands. Disturb little, put things back. Rules of the "
      "place come first. A rendered picture is no photograph."};
}

}  // namespace undercap
