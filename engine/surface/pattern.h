// The procedural pattern of a surface, as numbers: which one, how large, how strong. The renderer evaluates
// it per pixel in the prop's own space; its colour is a factor whose area mean over the part is 1, so the
// material's reflectance stays the part's mean.
#pragma once

#include <cstdint>
#include <glm/vec3.hpp>

namespace undercap {

// What a pattern takes from Mesh::uv, both 0..1. 'angle' is a share of a turn and may jump from 1 to 0 within
// a triangle.
//   cap    (angle, 0 centre .. 1 margin)
//   gills  (0 stem .. 1 margin, 0 root .. 1 edge)
//   stem   (angle, 0 foot .. 1 top)
//   shelf  (angle, 0 host .. 1 margin)
//   ball   (nothing, 0 foot .. 1 top)
//   bark   (0 furrow .. 1 ridge, 1 = the bark is gone)
//   wood   (angle, 0 pith .. 1 rim): the end of a log
//   leaf   (0 stalk .. 1 tip, 0 .. 1 across)
//   moss   (nothing, 0 base .. 1 tip of a shoot)
//   frond  (0 stalk .. 1 tip, 0 .. 1 across)
//   grass  (0 .. 1 across, 0 foot .. 1 tip)
//   pores, soil, stone, twig read nothing but the place
enum class PatternKind : std::uint8_t {
  none,
  cap,
  gills,
  pores,
  stem,
  shelf,
  ball,
  bark,
  wood,
  leaf,
  moss,
  frond,
  grass,
  soil,
  stone,
  twig
};

struct Pattern {
  PatternKind kind = PatternKind::none;
  std::uint32_t seed = 0;
  float size_mm = 10;  // radius of a cap or stem, length of a leaf, pitch of bark
  float strength = 1;  // of the colour: 0 plain, 1 usual, 2 strong
  float relief = 1;    // of the bump, likewise
  float gloss = 0;     // share of the area in glossy patches, 0..1: the viscid or damp places
  float lines = 0;     // striae or veins round or along it, a net on a stem; 0 = none
  glm::vec3 tone{
      1};  // the second colour as a factor on the first: disc of a cap, foot of a stem, furrow of bark
  bool upright = false;  // the grain of bark runs along z, else along x
  float wear = 0.5f;     // 0 fresh .. 1 old: spots, algae, lichen, bruises
};

}  // namespace undercap
