// The form of a gilled cap: a profile turned about an axis, and the warp that makes it a living thing.
//
// Cap space: mm, z along the cap's axis, z = 0 at the level of the margin before warping. A place on the cap
// is (q, a): q = 0 at the centre to 1 at the margin, a the angle about the axis. Skin, flesh and gills all go
// through the one warp, so that nothing comes apart.
#pragma once

#include <cstdint>
#include <glm/vec2.hpp>
#include <glm/vec3.hpp>
#include <vector>

namespace undercap {

enum class CapForm { convex, cushion, conic, bell, flat, funnel };
enum class GillAttachment { free, adnexed, adnate, sinuate, decurrent };

// One mushroom: lengths in mm, angles in rad. Base at the origin, ground at z = 0.
struct MushroomShape {
  CapForm form = CapForm::convex;
  double cap_radius = 22.5, cap_height = 17;
  double umbo = 1, depression = 0, upturn = 0, inroll = 1;
  double flesh = 5, margin = 0.8;
  bool one_sheet = false;  // a cap too thin for flesh: one open sheet
  double wave = 1, dent = 1, striae = 0;

  int gill_count = 46, gill_tiers = 2;
  double gill_depth = 4.5;
  GillAttachment attachment = GillAttachment::adnate;

  double stem_length = 60, stem_radius = 4, bulb = 1.5;
  glm::dvec2 tip{0};             // where the stem's top stands, from the base
  glm::dvec3 cap_axis{0, 0, 1};  // unit
  double youth = 0;              // 0 full grown .. 1 button: darker, smoother
  double spacing = 1;  // of the mesh: 1 is fine enough for a close-up, 2 has a quarter of the triangles
  std::uint32_t seed = 1;
};

// A point of the half-section: radius and height.
struct SectionPoint {
  double q = 0;
  glm::dvec2 place{};   // (r, z)
  glm::dvec2 normal{};  // (r, z), away from the flesh on the upper side, unit
};

class CapProfile {
 public:
  explicit CapProfile(const MushroomShape& shape);

  // The upper side at q, and the under side facing it across the flesh; the under side's normal is still the
  // upper's.
  SectionPoint top(double q) const;
  SectionPoint under(double q) const;
  // q after a share of the way along the upper side: 0 at the centre, 1 at the margin. Where the side is
  // steep, even steps of the way are even on the surface and steps of q are not.
  double q_at_way(double share) const;
  // From the end of the upper side round the margin's edge to the under side, both ends left out.
  std::vector<SectionPoint> margin(int count) const;
  double thickness(double q) const;
  // The share of the way at which the under side is 'radius' away from the axis.
  double way_at_radius(double radius) const;

 private:
  std::vector<SectionPoint> samples_;
  std::vector<double> way_;  // one a sample, mm from the centre
  double flesh_, margin_;
};

class CapWarp {
 public:
  explicit CapWarp(const MushroomShape& shape);
  // A point of the section at angle a, in cap space.
  glm::dvec3 place(double q, double angle, const glm::dvec2& section) const;
  // A fixed offset for noise, so that two mushrooms do not share their pattern.
  const glm::dvec3& offset() const { return offset_; }

 private:
  struct Nick {
    double angle = 0, width = 0, depth = 0;
  };
  double radius_, wave_, dent_;
  double waves_around_;
  double phase_[6] = {};
  std::vector<Nick> nicks_;
  glm::dvec3 offset_{};
  std::uint32_t seed_;
};

}  // namespace undercap
