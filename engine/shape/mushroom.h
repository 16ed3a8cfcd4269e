// Builders of one mushroom's surfaces. Each appends to a mesh in mm, with uv, the pattern of each part, and
// tints that are still colours (see balance_tints): only the slow changes that a pattern cannot know, such as
// the soil on the foot; the pattern does the fine ones.
#pragma once

#include <array>

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
  // The part's index, its pattern set.
  std::uint32_t part(Mesh& mesh, const char* name, PatternKind kind, float size_mm) const;
  // The inner end of the gills, as a share of the way from the centre to the margin.
  double gills_begin() const;
};

// The stem as a bent tube. s runs from 0 at the sunk foot to 1 at the top.
class StemTube {
 public:
  explicit StemTube(const MushroomBuild& build);
  glm::dvec3 place(double s, double angle, double radius) const;
  double radius(double s, double angle) const;  // mm, with its lumps and fibres
  double height(double s) const {
    return (s - sunk_share_) * length_;
  }  // along the stem above the ground, mm
  double at_height(double mm) const { return sunk_share_ + mm / length_; }
  double length() const { return length_; }

 private:
  static constexpr int frames = 65;
  double smooth_radius(double s) const;
  double fibre(double angle, double h, double fineness, std::uint32_t salt) const;

  const MushroomBuild& build_;
  std::array<glm::dvec3, frames> middle_, x_, y_;
  double length_ = 0, sunk_share_ = 0;
};

void add_cap(Mesh& mesh, const MushroomBuild& build);    // 'cap', and below 'flesh' and 'gills', or 'pores'
void add_gills(Mesh& mesh, const MushroomBuild& build);  // the sheets
void add_stem(Mesh& mesh, const MushroomBuild& build);   // 'stem', closed
void add_ring(Mesh& mesh, const MushroomBuild& build, const StemTube& stem);  // 'ring'
void add_rags(Mesh& mesh, const MushroomBuild& build);                        // 'ring', at the cap's margin
void add_cup(Mesh& mesh, const MushroomBuild& build, const StemTube& stem);   // 'cup'
void add_warts(Mesh& mesh, const MushroomBuild& build);                       // 'warts', each closed

// The whole mushroom, mm.
Mesh build_mushroom(const MushroomShape& shape, int individual);

// How far below the ground the foot is sunk, mm.
double sunk_depth(const MushroomShape& shape);

}  // namespace undercap
