// The same photograph on another format, as a scene that is built: what the two cameras have in common.
#include "engine/session/partner.h"

#include <gtest/gtest.h>

#include <cmath>
#include <glm/geometric.hpp>

#include "engine/measure/stack_task.h"
#include "engine/optics/best_aperture.h"
#include "engine/optics/depth.h"
#include "engine/scene/load.h"

namespace undercap {
namespace {

constexpr std::array<double, 2> large_mm{36, 24};
// Ratio of the diagonals of 36 x 24 and 17.3 x 13 mm, 1.9994.
const double larger = std::hypot(36, 24) / std::hypot(17.3, 13);

// 60 mm f/8 at m 0.5 on 17.3 x 13 mm; 'more' are further lines of the camera.
World small_format(const std::string& more = {}) {
  return build_world(
      SceneFile::from_text(
          "undercap = 1\n[exposure]\niso = 200\n[ground]\nkind = \"none\"\n[sensor]\npixel_pitch_um = 3.3\n"
          "[camera]\nformat_mm = [17.3, 13]\nfocal_length_mm = 60\nf_number = 8\nmagnification = 0.5\n"
          "position_m = [0.02, -0.5, 0.3]\nlook_at = [0.01, 0.02, 0.03]\ncircle_of_confusion_mm = 0.015\n"
          "barrel_mm = 0\n" +
              more,
          "partner.toml")
          .scene());
}

World partner_of(const World& base, const PartnerWish& wish) {
  return build_world(partner_scene(base, wish, std::nullopt));
}

double off(const glm::dvec3& a, const glm::dvec3& b) { return glm::distance(a, b); }

// What all partners but the rule of thumb share: the pupil's place and what the diagonal shows in focus.
// 1e-9 of a length: a handful of roundings.
void expect_same_view(const CameraRig& a, const CameraRig& b, double k) {
  EXPECT_LT(off(a.pupil_m, b.pupil_m), 1e-9 * a.pupil_distance.value());
  EXPECT_LT(off(a.forward, b.forward), 1e-9);
  EXPECT_LT(off(a.right, b.right), 1e-9);
  EXPECT_NEAR(b.pupil_distance / a.pupil_distance, 1, 1e-9);
  EXPECT_NEAR(b.magnification / a.magnification, k, 1e-9 * k);
}

// Same entrance pupil and field: f_B / f_A = N_B / N_A = k (1 + m) / (1 + k m) for P = 1, N_w k times as
// high, ISO speed k^2 (derived; equivalence.h). 60 mm f/8 becomes 89.986 mm f/11.998.
TEST(Partner, OfTheSamePupilHasItsPlaceItsDiameterAndItsField) {
  const World base = small_format();
  const World partner = partner_of(base, {.format_mm = large_mm, .same = Same::pupil});
  const CameraRig &a = base.camera, &b = partner.camera;
  expect_same_view(a, b, larger);
  EXPECT_NEAR(entrance_pupil_diameter(b.lens) / entrance_pupil_diameter(a.lens), 1, 1e-9);
  EXPECT_NEAR(b.working_f_number / a.working_f_number, larger, 1e-9);
  EXPECT_NEAR(b.lens.focal_length / 1_mm, 89.986, 5.1e-4);
  EXPECT_NEAR(b.lens.f_number, 11.998, 5.1e-4);
  EXPECT_NEAR(partner.scene.exposure.iso, 200 * larger * larger, 1e-6);
  EXPECT_NEAR(circle_of(partner) / circle_of(base), larger, 1e-9);
  EXPECT_NEAR(pitch_of(partner) / pitch_of(base), larger, 1e-9);
}

// Blur by defocus in parts of the diagonal is the same at any depth, exactly.
TEST(Partner, OfTheSamePupilHasTheSameBlur) {
  const World base = small_format("pupil_magnification = 0.8\n");
  const World partner = partner_of(base, {.format_mm = large_mm, .same = Same::pupil});
  for (const Length distance : {100_mm, 180_mm, 500_mm, 20_m}) {
    const Length here = blur_disc(base.camera.lens, base.camera.magnification, distance),
                 there = blur_disc(partner.camera.lens, partner.camera.magnification, distance);
    EXPECT_NEAR(there / here, larger, 1e-8 * larger) << distance.value();
  }
}

// A converter and a lens that shortens are in the partner's focal length, and not counted once more.
TEST(Partner, OfALensThatIsChangedByConverterAndCloseFocus) {
  const World base = small_format("converter = 1.4\nminimum_focus_m = 0.2\nlargest_magnification = 0.9\n");
  EXPECT_LT(base.camera.lens.focal_length, 1.4 * 60_mm);
  EXPECT_EQ(base.camera.beyond_closest_focus, "");
  const World partner = partner_of(base, {.format_mm = large_mm, .same = Same::pupil});
  expect_same_view(base.camera, partner.camera, larger);
  EXPECT_NEAR(entrance_pupil_diameter(partner.camera.lens) / entrance_pupil_diameter(base.camera.lens), 1,
              1e-9);
}

TEST(Partner, OfTheSameFNumberHasTheSameMarkedOne) {
  const World base = small_format();
  const World partner = partner_of(base, {.format_mm = large_mm, .same = Same::f_number});
  expect_same_view(base.camera, partner.camera, larger);
  EXPECT_NEAR(partner.camera.lens.f_number, 8, 1e-12);
  EXPECT_EQ(partner.scene.exposure.iso, 200);
}

// Focal length and f-number twice as large or so, and it stands back: a = f (1/m + 1) becomes
// k f (1 / (k m) + 1) = f (1/m + k), 180 mm become 239.96 mm.
TEST(Partner, ByTheRuleFramesTheSameFromFurtherAway) {
  const World base = small_format();
  const double k = 36 / 17.3;
  const World partner = partner_of(base, {.format_mm = large_mm, .match = Match::width, .same = Same::rule});
  const CameraRig &a = base.camera, &b = partner.camera;
  EXPECT_NEAR(b.lens.focal_length / a.lens.focal_length, k, 1e-9);
  EXPECT_NEAR(b.lens.f_number / a.lens.f_number, k, 1e-9);
  EXPECT_NEAR(b.width / b.magnification / (a.width / a.magnification), 1, 1e-9);
  EXPECT_NEAR(b.pupil_distance / 1_mm, 60 * (2 + k), 1e-6);
  EXPECT_LT(off(a.focus_point_m, b.focus_point_m), 1e-9);
  EXPECT_LT(off(a.forward, b.forward), 1e-9);
  EXPECT_NEAR(partner.scene.exposure.iso, 200 * k * k, 1e-6);
}

// What is in focus may lie beside the axis: the rule's camera moves along its own axis, and its plane in
// focus stays.
TEST(Partner, ByTheRuleStaysOnItsAxis) {
  const World base = build_world(
      SceneFile::from_text(
          "undercap = 1\n[ground]\nkind = \"none\"\n[camera]\nformat_mm = [17.3, 13]\nfocal_length_mm = "
          "60\nposition_m = [0, -0.3, 0]\nlook_at = [0, 0, 0]\nfocus = [0.02, 0, 0.01]\nbarrel_mm = 0\n",
          "partner.toml")
          .scene());
  const World partner = partner_of(base, {.format_mm = large_mm, .same = Same::rule});
  const CameraRig &a = base.camera, &b = partner.camera;
  EXPECT_LT(off(a.forward, b.forward), 1e-12);
  EXPECT_NEAR(b.pupil_m.x, 0, 1e-12);
  EXPECT_NEAR(b.pupil_m.z, 0, 1e-12);
  EXPECT_LT(b.pupil_m.y, -.31);
  EXPECT_NEAR(b.pupil_m.y + b.pupil_distance.value(), 0, 1e-9);
  EXPECT_NEAR(b.magnification / a.magnification, larger, 1e-9);
}

TEST(Partner, OnItsOwnFormatIsTheCameraItself) {
  const World base = small_format("pupil_magnification = 1.3\n");
  for (const Same same : {Same::f_number, Same::pupil, Same::rule}) {
    const World partner = partner_of(base, {.format_mm = {17.3, 13}, .same = same});
    expect_same_view(base.camera, partner.camera, 1);
    EXPECT_NEAR(partner.camera.lens.focal_length / 60_mm, 1, 1e-9);
    EXPECT_NEAR(partner.camera.lens.f_number, 8, 1e-9);
    EXPECT_NEAR(partner.scene.exposure.iso, 200, 1e-9);
  }
}

// The best f-number is that of the partner's lens for the same depth, its circle grown with the format; it
// focuses where both ends are alike, at 2 / (1 / near + 1 / far). Without a subject it is the partner's own.
TEST(Partner, OfTheBestFNumberTakesItForTheDepthThatIsNeeded) {
  const World base = small_format();
  const DepthRange needed{175_mm, 190_mm};
  const PartnerWish wish{.format_mm = large_mm, .same = Same::best};
  const World partner = build_world(partner_scene(base, wish, needed));
  EXPECT_LT(off(base.camera.pupil_m, partner.camera.pupil_m), 1e-9);
  EXPECT_LT(off(base.camera.forward, partner.camera.forward), 1e-9);
  EXPECT_NEAR(partner.camera.pupil_distance / 1_mm, 2 / (1. / 175 + 1. / 190), 1e-6);
  const auto best = best_aperture(partner.camera.lens, needed.near, needed.far, lowest_f_number,
                                  highest_f_number, circle_of(partner));
  ASSERT_TRUE(best.has_value());
  EXPECT_NEAR(partner.camera.lens.f_number, best->nearest_third_stop, 1e-9);  // as a ring can be set to it
  EXPECT_GT(std::abs(best->f_number - 12), 1);  // another than the partner has by itself
  EXPECT_NEAR(build_world(partner_scene(base, wish, std::nullopt)).camera.lens.f_number, 11.998, 5.1e-4);
}

TEST(Partner, SaysInWordsWhatIsKept) {
  EXPECT_EQ(words_of(Same::pupil), "same pupil");
  EXPECT_EQ(kept_by(Match::width), "field of view at the plane in focus, matched by width");
  // (1 + k m) / (1 + m) = 1.333 for k = 1.9994 and m = .5 (derived; equivalence.h).
  EXPECT_EQ(rule_error(small_format(), large_mm, Match::diagonal),
            "The crop rule (focal length and f-number times 2) gives 36 x 24 mm 1.33 times the depth of "
            "field of the "
            "scene's own camera at its scale of 0.5; it would be exact far away.");
  EXPECT_EQ(kept_by(Same::rule, Match::height),
            "field of view at the plane in focus, matched by height; not the viewpoint");
}

}  // namespace
}  // namespace undercap
