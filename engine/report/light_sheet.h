// Where to hold the light, in words and on a sheet: the picture without, and lit from each place offered.
#pragma once

#include <string>
#include <vector>

#include "engine/measure/card_place.h"
#include "engine/measure/place_choice.h"
#include "engine/measure/place_levels.h"
#include "engine/report/contact_sheet.h"
#include "engine/report/place_map.h"

namespace undercap {

struct LightQuestion {
  std::string source{};  // its name
  std::string target{};  // "tuft/stem"
  PlaceWish wish{};
  glm::dvec3 target_m{0};
  bool flash = false;
  Duration shutter{};
  double least_power_pct = 10;
  std::optional<Relaxing> relaxing{};  // no place does it as wished
};

// "12 %", of a flash "1/8".
std::string power_words(const LightQuestion& asked, double pct);

// "A: 4:30, lamp front 21 cm from tuft/stem, 9 cm above the ground (1 hand), 64° from the lens axis".
std::string holding_words(const World& world, const LightQuestion& asked, const PlaceFields& place);

// "tuft/stem +1.0 stop", or how far the sides are to differ.
std::string wish_words(const LightQuestion& asked);
// "lit side 310 lx, shadow side 120 lx, 1.4 stops apart".
std::string sides_words(const Sides& sides);

// How to get the level, a sentence each: power, and what to do where the lamp does not go so low; with what a
// hand cannot do said.
std::vector<std::string> level_words(const LightQuestion& asked, const OfferedPlace& offer);

// What a render of an offered place gives: rise, spill, evenness.
std::string rendered_words(const LightQuestion& asked, const OfferedPlace& offer);

// What to give up, and by how much, when nothing can be offered.
std::vector<std::string> relaxing_words(const World& world, const LightQuestion& asked,
                                        const Relaxing& relaxing);

// "the lamp would be in the picture; too much spill"; empty where nothing hinders.
std::string limits_words(PlaceLimits limits);

// How many of the places each limit keeps out, the most frequent first.
std::vector<std::string> limit_counts(const std::vector<PlaceFields>& places);

// The map for the drawings, from fields over two slices of side x side places, row by row from low to high in
// the drawing's axes; offers are its letters.
PlaceMap light_map(const World& world, const LightQuestion& asked, const std::vector<PlaceFields>& plan,
                   const std::vector<PlaceFields>& elevation, int side,
                   const std::vector<OfferedPlace>& offers);

struct LightSheetFacts {
  unsigned samples = 0;  // a pixel
  std::string made_by;
  int width = 3, height = 2;
  double figure_aspect = 0;
};

// Pictures: without the lamp, then lit from each offer, A, B, C ...
ContactSheet light_sheet(const World& world, const LightQuestion& asked,
                         const std::vector<OfferedPlace>& offers, const LightSheetFacts& facts);

// "4:30, edge 8 cm from tuft/stem, ...": a card's middle and edge.
std::string card_words(const World& world, const LightQuestion& asked, const CardPlace& place);
// What it does, a sentence each: rise, what else changes, whether its aim is critical.
std::vector<std::string> card_effects(CardUse use, const CardPlace& place);
// Pictures: without the card, then with it at each place offered.
ContactSheet card_sheet(const World& world, const LightQuestion& asked, CardUse use,
                        const std::vector<CardPlace>& offers, const LightSheetFacts& facts);

// A line a place of the map: RFC 4180 but for plain line feeds.
std::string places_csv(const World& world, const std::vector<PlaceFields>& places,
                       const glm::dvec3& target_m);

// "A" of the first offer.
std::string offer_letter(std::size_t number);

// Safety and care, wherever a sheet tells someone to act.
std::string light_cautions();

}  // namespace undercap
