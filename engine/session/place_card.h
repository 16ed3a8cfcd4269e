// Where may I hold a card? It gives no light of its own: it sends on the scene's, and takes away what it
// stands in. So each place is rendered, which asks for few.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/measure/card_place.h"
#include "engine/session/session.h"

namespace undercap {

struct CardRequest {
  std::string card;                 // a prop of kind card in the scene, with a height of its own
  std::optional<Address> target{};  // none: the subject
  PlaceWish wish{};                 // rise: for what raises; spill: the most that anything else may change
  std::size_t offers = 3;
  Quality quality = Quality::good;
  int width = 480, height = 320;
  bool filtered = false;
};

struct CardResult {
  CardUse use = CardUse::white;
  std::string target_words;
  glm::dvec3 target_m{0};
  std::vector<CardPlace> places;  // all that were tried; those with limits are not rendered
  std::vector<CardPlace>
      offers;  // white, silver: the target's rise, the largest first; black: the backdrop's fall
  Picture8 without;
  std::vector<Picture8> pictures;
  std::vector<std::string> notes;
};

// The scene to compare with: the card is put away.
Scene scene_without_card(const Scene& scene, const std::string& card);

// 'session' is of scene_without_card(scene, ...). Nothing when stopped.
std::optional<CardResult> run_place_card(const ShaderLibrary& shaders, Session& session, const Scene& scene,
                                         const CardRequest& request, const Progress& progress);

}  // namespace undercap
