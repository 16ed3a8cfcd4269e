// Builders of one mushroom's surfaces. Each appends to a mesh in mm, its tints still colours (see
// balance_tints).
#pragma once

#include "engine/shape/cap.h"
#include "engine/shape/mesh.h"

namespace undercap {

// Places cap space in the prop's: the cap sits on the stem's top, its axis leaning as the shape says.
class CapSeat {
 public:
  CapSeat(const MushroomShape& shape, const CapProfile& profile);
  glm::dvec3 place(const glm::dvec3& in_cap) const;
  const glm::dvec3& tip() const { return tip_; }  // where the under side would cross the axis

 private:
  glm::dvec3 tip_, x_, y_, z_;
  double seat_height_;
};

struct MushroomBuild {
  const MushroomShape& shape;
  CapProfile profile;
  CapWarp warp;
  CapSeat seat;
  int individual = 1;

  MushroomBuild(const MushroomShape& form, int number)
      : shape(form), profile(form), warp(form), seat(form, profile), individual(number) {}
  glm::dvec3 place(double q, double angle, const glm::dvec2& section) const {
    return seat.place(warp.place(q, angle, section));
  }
};

void add_cap(Mesh& mesh, const MushroomBuild& build);    // 'cap', and the under side as 'gills'
void add_gills(Mesh& mesh, const MushroomBuild& build);  // the sheets
void add_stem(Mesh& mesh, const MushroomBuild& build);   // 'stem', closed

// The whole mushroom, mm.
Mesh build_mushroom(const MushroomShape& shape, int individual);

// How far below the ground the foot is sunk, mm.
double sunk_depth(const MushroomShape& shape);

}  // namespace undercap
