// The form of a cap: a profile turned about an axis, and the warp that makes it a living thing.
//
// Cap space: mm, z along the cap's axis, z = 0 at the level of the margin before it curls. A place on the cap
// is (q, a): q = 0 at the centre to 1 at the margin, a the angle about the axis. Skin, flesh and gills all go
// through the one warp, so that nothing comes apart.
#pragma once

#include <cstdint>
#include <glm/vec2.hpp>
#include <glm/vec3.hpp>
#include <string>
#include <vector>

namespace undercap {

// The trade's words for the outline of a cap, as numbers. The superellipse is r = R sin(t)^(2/n),
// z = H cos(t)^(2/m); knob and hollow are Gaussians on the crown, in shares of the radius.
struct CapForm {
  const char* word = "convex";
  double n = 2.05, m = 2.0;
  double usual_height = 0.72;  // of the radius, where a scene gives no height
  double knob = 0, knob_width = 0.3;
  double hollow = 0, hollow_width = 0.5;
  double flare = 0;      // the last eighth turns outwards by this share of the radius
  bool is_bowl = false;  // rises outwards
};
const std::vector<CapForm>& cap_forms();
const CapForm& cap_form(const std::string& word);  // one of cap_forms()

enum class MarginForm {
  plain,  // curls as the lengths say, nothing else
  straight,
  incurved,
  inrolled,
  decurved,
  upturned,
  striate,
  sulcate,
  appendiculate,
  crenate,
  lobed,
  split,
  eroded
};
enum class GillAttachment { free, adnexed, adnate, sinuate, decurrent, arcuate, ventricose };
enum class StemForm { usual, equal, tapering, clavate, bulbous, rooting };
enum class RingForm { none, skirt, flaring, cortina };
enum class CupForm { none, sac, collar, bands };

// One mushroom: lengths in mm, angles in rad. Base at the origin, ground at z = 0.
struct MushroomShape {
  CapForm form{};
  MarginForm margin_form = MarginForm::plain;
  double cap_radius = 22.5, cap_height = 17;
  double umbo = 1, depression = 0, upturn = 0, inroll = 1;
  double flesh = 5, margin = 0.8;
  bool one_sheet = false;  // a cap too thin for flesh: one open sheet
  double wave = 1, dent = 1, striae = 0;
  int warts = 0;

  bool pores = false;
  int gill_count = 46, gill_tiers = 2;
  double gill_depth = 4.5;  // or of the tubes
  GillAttachment attachment = GillAttachment::adnate;

  double stem_length = 60, stem_radius = 4, bulb = 1.5;
  StemForm stem_form = StemForm::usual;
  RingForm ring = RingForm::none;
  CupForm cup = CupForm::none;
  glm::dvec3 root_axis{0, 0, 1};  // the stem's first direction, unit: out of a host's flank
  glm::dvec2 tip{0};              // where the stem's top stands, from the base
  glm::dvec3 cap_axis{0, 0, 1};   // unit
  double youth = 0;               // 0 full grown .. 1 button: darker, smoother
  double wear = 0.4;              // 0 fresh .. 1 old: torn, spotted
  double spacing = 1;  // of the mesh: 1 is fine enough for a close-up, 2 has a quarter of the triangles
  std::uint32_t seed = 1;
};

// A point of the half-section: radius and height.
struct SectionPoint {
  double q = 0;
  double way = 0;       // share of the way along the upper side, 0 centre .. 1 margin
  glm::dvec2 place{};   // (r, z)
  glm::dvec2 normal{};  // (r, z), away from the flesh on the upper side, unit
};

class CapProfile {
 public:
  explicit CapProfile(const MushroomShape& shape);

  // The upper side and, facing it across the flesh, the under side, at a share of the way from the centre to
  // the margin: even steps of the way are even on the surface where steps of q are not. The under side's
  // normal is still the upper's.
  SectionPoint top(double way) const;
  SectionPoint under(double way) const;
  // From the end of the upper side round the margin's edge to the under side, both ends left out.
  std::vector<SectionPoint> margin(int count) const;
  double thickness(double q) const;
  // The share of the way at which the under side is 'radius' away from the axis.
  double way_at_radius(double radius) const;
  // Beyond it the flesh is so thin that light comes through.
  double way_at_thin_flesh() const;
  // Beyond it the margin rolls in: no gill stands there.
  double way_at_curl() const { return curl_way_; }

 private:
  void curl_margin(const MushroomShape& shape);
  void finish();

  std::vector<SectionPoint> samples_;
  double flesh_, margin_, tubes_, curl_way_ = 1;
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
  double widening(double q, double angle) const;

  double radius_, wave_, dent_;
  double waves_around_;
  double scallops_ = 0, lobes_ = 0, lobe_depth_ = 0, erosion_ = 0;
  double phase_[6] = {};
  std::vector<Nick> nicks_;
  glm::dvec3 offset_{};
  std::uint32_t seed_;
};

}  // namespace undercap
