// Where may I hold the lamp? A map of lamp places over two slices of space, drawn on the plan and the
// elevation of the set: lines of equal power, hatches where a lamp cannot be or does no good, offered places
// as letters. What the fields hold is worked out elsewhere.
#pragma once

#include <cstdint>
#include <glm/vec3.hpp>
#include <string>
#include <vector>

#include "engine/report/contours.h"
#include "engine/report/drawing_sheet.h"
#include "engine/report/plan.h"

namespace undercap {

enum class MapArea : std::uint8_t {
  free,            // a lamp may stand there
  not_allowed,     // in the picture, in a prop, in the way of the lens ...
  too_much_spill,  // it can, and lights what it should not
  no_light         // it can, and its light does not reach what it should
};

struct MapSlice {
  DrawingView::Kind kind = DrawingView::Kind::plan;
  FieldGrid field{};             // per cent of its power that a lamp at the node needs
  std::vector<MapArea> limit{};  // of each node; lines are drawn where it is free
  double at_m = 0;  // plan: z of the slice; elevation: how far it lies to the camera's right of the origin
};

struct MapMark {
  std::string letter;
  glm::dvec3 place_m{0};
};

struct PlaceMap {
  MapSlice plan{.kind = DrawingView::Kind::plan}, elevation{.kind = DrawingView::Kind::elevation};
  std::vector<MapMark> marks{};
  std::string unit_words{};  // "per cent of the torch's power for +1 stop on tuft/stem"

  const MapSlice& slice(DrawingView::Kind kind) const {
    return kind == DrawingView::Kind::plan ? plan : elevation;
  }
};

// A page with plan and elevation at one scale and the map on both, the key, and words below, broken into
// lines; those beyond the fourteenth line find no room.
DrawingSheet place_sheet(const World& world, const PlaceMap& map, const std::string& title,
                         const std::vector<std::string>& words);

// The signs of the map explained: lines and hatches.
Drawing place_map_key(double width_mm);

// Both side by side at one scale, the key below, as one drawing: for a page of pictures.
Drawing place_figure(const World& world, const PlaceMap& map, double width_mm, double height_mm);

}  // namespace undercap
