// What a person looks at and has chosen, beside the scene itself.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "engine/render/develop.h"
#include "engine/report/plan.h"

namespace undercap::window {

// One of the drawings: what of the set it shows.
struct DrawnView {
  DrawingView view{};
  bool fitted = false;  // until then it is fitted to the set
  std::uint64_t version = 0;
  bool dirty = true;
  Drawing drawing{};
};

inline constexpr int overlay_kinds = static_cast<int>(Overlay::Kind::focus_plane) + 1;

struct View {
  bool raw = false;   // without the display filter
  bool grid = false;  // thirds over the picture
  Overlay::Kind overlay = Overlay::Kind::none;
  std::string source, prop;  // chosen, by name
  DrawnView plan{.view = {.kind = DrawingView::Kind::plan}},
      elevation{.view = {.kind = DrawingView::Kind::elevation}};
  std::string beside;    // variant that the picture is split with; empty: none
  float divider = 0.5f;  // of the split, share of the picture's width
  bool help = false;     // the list of keys
  bool tidy = false;     // clicks on the picture hide what they meet
};

}  // namespace undercap::window
