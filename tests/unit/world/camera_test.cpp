// The camera's lengths from a scene's keys: converters, lenses that shorten, filters, what is told of them.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "engine/core/errors.h"
#include "engine/scene/load.h"
#include "engine/world/world.h"

namespace undercap {
namespace {

// 60 mm f/2.8 looking at the origin; 'lines' are further lines of the camera, with one that focuses.
World camera_with(const std::string& lines) {
  return build_world(
      SceneFile::from_text("undercap = 1\n[ground]\nkind = \"none\"\n[camera]\nfocal_length_mm = 60\n"
                           "f_number = 2.8\nposition_m = [0, -0.6, 0]\nlook_at = [0, 0, 0]\n"
                           "barrel_mm = 0\n" +
                               lines,
                           "camera.toml")
          .scene());
}

std::string refusal_of(const std::string& lines) {
  try {
    camera_with(lines);
  } catch (const Refusal& refusal) {
    return refusal.what();
  }
  return {};
}

// A converter enlarges what the lens draws, from the same pupil at the same place: f and N twice, N_w twice
// that of the bare lens (derived; close_focus.h). 60 mm at m .5: a = 180 mm, N_w = 4.2; with a doubler the
// same a at m 1, N_w 8.4.
TEST(Camera, WithAConverter) {
  const CameraRig bare = camera_with("magnification = 0.5\n").camera,
                  doubled = camera_with("magnification = 1\nconverter = 2\n").camera;
  EXPECT_NEAR(doubled.lens.focal_length / 1_mm, 120, 1e-9);
  EXPECT_NEAR(doubled.lens.f_number, 5.6, 1e-12);
  EXPECT_NEAR(entrance_pupil_diameter(doubled.lens) / entrance_pupil_diameter(bare.lens), 1, 1e-12);
  EXPECT_NEAR(doubled.pupil_distance / 1_mm, 180, 1e-9);
  EXPECT_NEAR(doubled.working_f_number, 8.4, 1e-12);
  EXPECT_NEAR(doubled.scale_distance / bare.scale_distance, 1, 1e-12);
}

// Focused at the same place with and without it, the scale is its factor times as large.
TEST(Camera, WithAConverterKeepsItsFocus) {
  for (const char* focus : {"", "focus_distance_m = 0.5\n", "focus = [0, -0.1, 0]\n"}) {
    const CameraRig bare = camera_with(focus).camera,
                    longer = camera_with(fmt::format("{}converter = 1.4\n", focus)).camera;
    EXPECT_NEAR(longer.magnification / bare.magnification, 1.4, 1e-9) << focus;
    EXPECT_NEAR(longer.pupil_distance / bare.pupil_distance, 1, 1e-9) << focus;
  }
}

// The data sheet of a macro lens: life size at 190 mm from the sensor, so f = 190 / (2 + 1 + 1) = 47.5 mm
// there (derived). On the way the focal length falls in proportion to the magnification: 53.75 mm at 1:2, N_w
// = 2.8 x 1.5.
TEST(Camera, ThatShortensAsItFocusesClose) {
  const std::string sheet = "minimum_focus_m = 0.19\nlargest_magnification = 1\n";
  const CameraRig life_size = camera_with(sheet + "magnification = 1\n").camera,
                  half = camera_with(sheet + "magnification = 0.5\n").camera,
                  by_distance = camera_with(sheet + "focus_distance_m = 0.19\n").camera;
  EXPECT_NEAR(life_size.lens.focal_length / 1_mm, 47.5, 1e-9);
  EXPECT_NEAR(life_size.scale_distance / 1_mm, 190, 1e-9);
  EXPECT_NEAR(half.lens.focal_length / 1_mm, 53.75, 1e-9);
  EXPECT_NEAR(half.working_f_number, 4.2, 1e-12);
  EXPECT_NEAR(by_distance.magnification, 1, 1e-9);
  EXPECT_EQ(life_size.beyond_closest_focus, "");
}

TEST(Camera, TellsWhatIsBeyondItsClosestFocus) {
  const std::string sheet = "minimum_focus_m = 0.19\nlargest_magnification = 1\n";
  EXPECT_EQ(camera_with(sheet + "magnification = 1.5\n").camera.beyond_closest_focus,
            "the scale of 1.5 is beyond the lens's largest of 1");
  EXPECT_EQ(camera_with("largest_magnification = 0.3\nmagnification = 0.5\n").camera.beyond_closest_focus,
            "the scale of 0.5 is beyond the lens's largest of 0.3");
  // 60 mm at m .5: T = 60 (2 + .5 + 2) = 270 mm.
  EXPECT_EQ(camera_with("minimum_focus_m = 0.3\nmagnification = 0.5\n").camera.beyond_closest_focus,
            "0.270 m from subject to sensor is nearer than the lens's closest focus of 0.3 m");
  // A converter enlarges the largest scale too.
  EXPECT_EQ(camera_with(sheet + "magnification = 1.4\nconverter = 1.4\n").camera.beyond_closest_focus, "");
  EXPECT_EQ(refusal_of(sheet + "focus_distance_m = 0.18\n"),
            "camera.toml:12:20: camera.focus_distance_m = 0.18: the lens focuses from camera.minimum_focus_m "
            "= 0.19 m "
            "outwards; give a larger distance");
}

// Three stops leave an eighth; a polariser takes its 1.3 stops of light that is not polarised only where
// there is one.
TEST(Camera, LetsThroughWhatGlassAndFiltersLeave) {
  const auto through = [](const std::string& lines) {
    return transmission_of(camera_with("transmission = 0.8\nmagnification = 0.5\n" + lines).scene.camera);
  };
  EXPECT_DOUBLE_EQ(through(""), .8);
  EXPECT_DOUBLE_EQ(through("nd_stops = 3\n"), .1);
  EXPECT_DOUBLE_EQ(through("polariser_stops = 2\n"), .8);
  EXPECT_DOUBLE_EQ(through("polariser_deg = 40\npolariser_stops = 2\n"), .2);
  EXPECT_DOUBLE_EQ(through("polariser_deg = 0\n"), .8 * std::exp2(-1.3));
}

// The transverse aberration of W rho^4 is 8 N_w W rho^3 on the sensor (Welford, Aberrations of Optical
// Systems, 1986, from memory), 1/m of that on the plane in focus: 2 waves of .55 um, N_w 4.2, m .5: 73.92 um.
TEST(Camera, HasTheTransverseAberrationOfItsWaves) {
  EXPECT_NEAR(camera_with("magnification = 0.5\nspherical_waves = 2\n").camera.spherical_m, 73.92e-6, 1e-12);
  EXPECT_EQ(camera_with("magnification = 0.5\n").camera.spherical_m, 0);
}

// At 0 a polariser lets swing what is upright in the scene, across the glare of level ground; in the frame,
// which a roll turns clockwise, that leans to the left by as much.
TEST(Camera, HasAPolariserThatIsTurnedAgainstTheLevel) {
  EXPECT_FALSE(camera_with("magnification = 0.5\n").camera.polariser.has_value());
  const auto upright = [](const CameraRig& rig) {
    return rig.polariser->x * rig.right + rig.polariser->y * rig.up;
  };
  for (const char* roll : {"0", "30", "-75"}) {
    const auto swing = upright(
        camera_with(fmt::format("magnification = 0.5\nroll_deg = {}\npolariser_deg = 0\n", roll)).camera);
    EXPECT_NEAR(swing.z, 1, 1e-12) << roll;
  }
  const auto turned = upright(camera_with("magnification = 0.5\npolariser_deg = 30\n").camera);
  EXPECT_NEAR(turned.z, std::cos(std::numbers::pi / 6), 1e-12);
  EXPECT_NEAR(turned.x, .5, 1e-12);
}

// 20 megapixels on 17.3 x 13 mm have a pitch of 3.3534 um; the noise is in the file's units.
TEST(Camera, HasTheSensorOfTheScene) {
  const SensorModel plain = sensor_of(camera_with("format_mm = [17.3, 13]\nmagnification = 0.5\n"));
  EXPECT_NEAR(plain.pitch / 1_um, 3.3534, 5e-5);
  EXPECT_DOUBLE_EQ(plain.prnu, .005);
  const SensorModel given =
      sensor_of(camera_with("magnification = 0.5\n[sensor]\npixel_pitch_um = 6\nread_noise_e = "
                            "2\ndark_current_e_s = 0.3\nprnu_pct = 1\n"));
  EXPECT_DOUBLE_EQ(given.pitch / 1_um, 6);
  EXPECT_DOUBLE_EQ(given.read_noise_e, 2);
  EXPECT_DOUBLE_EQ(given.dark_current_e_s, .3);
  EXPECT_DOUBLE_EQ(given.prnu, .01);
}

}  // namespace
}  // namespace undercap
