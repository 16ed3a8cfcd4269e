// What a person looks at and has chosen, beside the scene itself.
#pragma once

#include <glm/vec2.hpp>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/render/develop.h"
#include "engine/report/plan.h"
#include "engine/scene/address.h"

namespace undercap::window {

// One of the drawings: what of the set it shows.
struct DrawnView {
  DrawingView view{};
  bool fitted = false;  // until then it is fitted to the set
  std::uint64_t version = 0;
  std::uint64_t map = 0;  // the number of the map in it; 0: none
  bool dirty = true;
  Drawing drawing{};
};

// The map of places for a lamp on plan and elevation: what is asked, and what is told.
struct MapView {
  bool on = false;
  std::optional<Address> target{};  // none: the subject
  double rise_stops = 1, spill_stops = 0.2;
  bool hand = false;    // a hand beside the camera holds it
  std::string here;     // fields where the lamp stands, in words
  std::string here_of;  // of which state of the set and of what is asked
  std::string there;    // fields where the mouse is, in words; empty: it is over no place
};

// The scene as it is and some of its variants beside each other, all at one place of the picture.
struct SideBySide {
  static constexpr std::size_t most_variants = 3;
  bool on = false;
  std::vector<std::string> chosen;  // variants, by name
  double zoom = 1;                  // 1: whole pictures
  glm::dvec2 middle{0.5};           // of what is seen, share of the frame
};

inline constexpr int overlay_kinds = static_cast<int>(Overlay::Kind::focus_plane) + 1;

struct View {
  bool raw = false;   // without the display filter
  bool grid = false;  // thirds over the picture
  Overlay::Kind overlay = Overlay::Kind::none;
  std::string source, prop;  // chosen, by name
  MapView map{};
  DrawnView plan{.view = {.kind = DrawingView::Kind::plan}},
      elevation{.view = {.kind = DrawingView::Kind::elevation}};
  std::string beside;    // variant that the picture is split with; empty: none
  float divider = 0.5f;  // of the split, share of the picture's width
  SideBySide side_by_side{};
  bool help = false;  // the list of keys
  bool tidy = false;  // clicks on the picture hide what they meet
};

}  // namespace undercap::window
