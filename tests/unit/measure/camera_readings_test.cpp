// Readings of depth, sensor and movement, worked out by hand from a made-up survey.
#include <gtest/gtest.h>

#include <cmath>

#include "engine/measure/readings.h"
#include "engine/optics/diffraction.h"
#include "engine/scene/load.h"

namespace undercap {
namespace {

// 60 mm f/8 at m .5 on 17.3 x 13 mm, N_w = 12, its plane in focus 180 mm before the entrance pupil; 8 s at
// ISO 200.
World small_world() {
  return build_world(
      SceneFile::from_text(
          "undercap = 1\n[ground]\nkind = \"none\"\n[sky]\nmodel = \"off\"\n[exposure]\niso = 200\n"
          "shutter_s = 8\nwhite_balance_k = 6500\n[camera]\nformat_mm = [17.3, 13]\nfocal_length_mm = "
          "60\nf_number = 8\nposition_m = [0, -1, 0]\nlook_at = [0, 0, 0]\nmagnification = 0.5\n"
          "circle_of_confusion_mm = 0.015\nbarrel_mm = 0\n[subject]\nparts = [\"card\"]\n[[prop]]\nname "
          "= \"card\"\nkind = \"card\"\nat_m = [0, 0, 0]\nsway_mm = 2\nsway_hz = 3\n"
          "material.surface.emission_cd_m2 = 5\n",
          "test.toml")
          .scene());
}

// The visible subject lies half at one depth and half at the other; 40 samples a batch meet it.
Survey survey_of(const World& world, double near_m, double far_m) {
  Survey survey = start_survey(world, false, 8);
  survey.passes = 1;
  for (auto& depths : survey.subject_depth_m) {
    depths.assign(100, static_cast<float>(near_m));
    depths.resize(200, static_cast<float>(far_m));
  }
  for (unsigned batch = 0; batch < batch_count; ++batch)
    for (RegionSums* sums : {&survey.subject, &survey.whole}) {
      sums->count(batch, 40);
      sums->add(batch, 0, glm::dvec3(40 * 5.), 1);
    }
  return survey;
}

// Fills so many of the cells from 'first' on with a luminance, in every eighth.
void fill(Survey& survey, std::size_t first, std::size_t count, double luminance) {
  for (auto& eighth : survey.cell)
    for (std::size_t i = first; i < first + count; ++i)
      eighth[0][i] = glm::dvec3(luminance * survey.passes * batch_count / eighths);
}

class CameraReadings {
 public:
  CameraReadings(const World& world, const Survey& survey) {
    const Survey white = start_survey(world, true, 8);
    readings_ = all_readings({world, survey, choose_exposure(world, survey, white), {}, nullptr});
  }
  const Reading& named(const std::string& name) const {
    static const Reading none;
    for (const Reading& reading : readings_)
      if (reading.name == name) return reading;
    ADD_FAILURE() << "no reading " << name;
    return none;
  }
  double value(const std::string& name) const {
    const double* value = std::get_if<double>(&named(name).value);
    return value ? *value : std::nan("");
  }
  std::string note(const std::string& name) const { return named(name).note; }

 private:
  std::vector<Reading> readings_;
};

// 60 mm f/8, m .5, c .015 mm: sharp from .71713 mm before the plane in focus to .72289 mm behind, 1.4400 in
// all (S. F. Ray, Applied Photographic Optics, 2002, from memory, in its form of the entrance pupil). Half of
// the last digit.
TEST(DepthReadings, SharpZone) {
  const World world = small_world();
  const CameraReadings readings(world, survey_of(world, .18, .21));
  EXPECT_NEAR(readings.value("depth.near_mm"), -.71713, 5e-6);
  EXPECT_NEAR(readings.value("depth.far_mm"), .72289, 5e-6);
  EXPECT_NEAR(readings.value("depth.total_mm"), 1.44, 5e-5);
  EXPECT_DOUBLE_EQ(readings.value("depth.circle_of_confusion_mm"), .015);
  EXPECT_NEAR(readings.value("depth.needed_mm"), 30, 1e-4);
}

// What a lens cannot bring nearer than infinity is no number: 12 mm f/16 at a metre, hyperfocal distance 600
// mm with a circle of .015 mm.
TEST(DepthReadings, ToInfinity) {
  const World world = build_world(
      SceneFile::from_text(
          "undercap = 1\n[ground]\nkind = \"none\"\n[sky]\nmodel = \"off\"\n[camera]\nfocal_length_mm = "
          "12\nf_number = 16\nposition_m = [0, -1, 0]\nlook_at = [0, 0, 0]\ncircle_of_confusion_mm = "
          "0.015\nbarrel_mm = 0\n[[prop]]\nname = \"card\"\nkind = \"card\"\n"
          "material.surface.emission_cd_m2 = 5\n",
          "test.toml")
          .scene());
  const CameraReadings readings(world, survey_of(world, .9, 1.1));
  EXPECT_TRUE(std::holds_alternative<std::monostate>(readings.named("depth.far_mm").value));
  EXPECT_TRUE(std::holds_alternative<std::monostate>(readings.named("depth.total_mm").value));
  EXPECT_NE(readings.note("depth.far_mm").find("infinite"), std::string::npos);
}

// At 180 and 210 mm, in focus at the near end: there the blur is diffraction's alone, 1.7454 lambda N_w
// = 11.52 um; at the far end b = m d (210 - 180) / 210 = .53571 mm for d = 7.5 mm, 81 lambda N_w, of which
// diffraction takes .2.
TEST(DepthReadings, BlurAtTheEndsOfTheSubject) {
  const World world = small_world();
  const CameraReadings readings(world, survey_of(world, .18, .21));
  EXPECT_NEAR(readings.value("depth.blur_near_um"), 1.7454 * .55 * 12, .01);
  EXPECT_NEAR(readings.value("depth.blur_far_um"), 535.71 - .2 * .55 * 12, .7);
  EXPECT_NEAR(readings.value("depth.diffraction_blur_um"), 1.75 * .55 * 12, 1e-9);
}

// Focusing through 30 mm from m .5 on at f/8 takes 25 frames, each chained to the next with .3 of its zone in
// common; at constant scale it would be 1 + ceil((30 - 1.44) / (.7 x 1.44)) = 30 (derived). 8 s each, 2 s
// between.
TEST(DepthReadings, StackInFrames) {
  const World world = small_world();
  const CameraReadings readings(world, survey_of(world, .18, .21));
  EXPECT_EQ(readings.value("depth.frames_for_stack"), 25);
  EXPECT_NE(readings.note("depth.frames_for_stack").find("at constant scale 30"), std::string::npos);
  EXPECT_EQ(readings.value("depth.stack_s"), 25 * 8 + 24 * 2);
  EXPECT_NE(readings.note("depth.best_f_number").find("stack instead"), std::string::npos);
}

// A subject that a few samples met tells nothing of its ends.
TEST(DepthReadings, SayWhyTheyAreMissing) {
  const World world = small_world();
  Survey survey = survey_of(world, .18, .21);
  survey.subject = RegionSums(world.groups.size());
  for (auto& depths : survey.subject_depth_m) depths.clear();
  const CameraReadings unseen(world, survey);
  for (const char* name :
       {"depth.needed_mm", "depth.blur_near_um", "depth.best_f_number", "depth.frames_for_stack"})
    EXPECT_EQ(unseen.note(name), "the subject is not seen") << name;
}

// 20 megapixels on 17.3 x 13 mm: S = 1226.6 electrons of mid-grey at ISO 200, SNR 34.365 after 8 s (EMVA
// 1288, from memory); 19135 electrons over 3 are 12.639 stops at ISO 100, one less here. 1e-3: the yield is
// rounded. An output pixel of a 2-megapixel picture gathers ten: sqrt(10) times the SNR.
TEST(SensorReadings, NoiseOfMidGrey) {
  const World world = small_world();
  const CameraReadings readings(world, survey_of(world, .18, .21));
  EXPECT_NEAR(readings.value("exposure.snr_grey_pixel") / 34.365, 1, 1e-3);
  EXPECT_NEAR(readings.value("exposure.dynamic_range_ev"), 11.639, 2e-3);
  EXPECT_NEAR(readings.value("exposure.snr_grey") / readings.value("exposure.snr_grey_pixel"), std::sqrt(10),
              1e-6);
}

// Of 88 cells a quarter is at 20 times mid-grey, past the raw clip at 7.8 times; an eighth at 6.5 times, past
// the display's white at 5.56 alone; an eighth six stops under mid-grey, where five drown; the rest is
// mid-grey. Of the 8 cells of the subject two, one and one are of these kinds.
TEST(SensorReadings, WhatClipsAndWhatDrowns) {
  const World world = small_world();
  Survey survey = survey_of(world, .18, .21);
  const double grey = 10. / 200 / exposure_per_luminance(world, 8_s).value();
  ASSERT_EQ(survey.subject_hits.size(), 88U);
  fill(survey, 0, 88, grey);
  fill(survey, 0, 22, 20 * grey);
  fill(survey, 22, 11, 6.5 * grey);
  fill(survey, 33, 11, grey / 64);
  for (const std::size_t cell : {0U, 1U, 22U, 33U, 50U, 51U, 52U, 53U})
    survey.subject_hits[cell] = batch_count;
  survey.subject_hits[2] = batch_count / 2;  // not most of it
  const CameraReadings readings(world, survey);
  EXPECT_NEAR(readings.value("exposure.raw_clip_pct"), 25, 1e-9);
  EXPECT_NEAR(readings.value("exposure.display_clip_pct"), 37.5, 1e-9);
  EXPECT_NEAR(readings.value("exposure.drown_pct"), 12.5, 1e-9);
  EXPECT_NEAR(readings.value("exposure.subject_raw_clip_pct"), 25, 1e-9);
  EXPECT_NEAR(readings.value("exposure.subject_drown_pct"), 12.5, 1e-9);
}

// 1 mm is .5 mm on the sensor, over a pitch of 3.3534 um; the circle of .015 mm is reached after .030 s; a
// sway of 2 mm to either side is 4 mm from end to end (derived).
TEST(MovementReadings, OnTheSensor) {
  const World world = small_world();
  const CameraReadings readings(world, survey_of(world, .18, .21));
  EXPECT_NEAR(readings.value("exposure.blur_of_1mm_px"), 500 / 3.3534, .01);
  EXPECT_NEAR(readings.value("exposure.still_limit_s"), .03, 1e-9);
  EXPECT_NEAR(readings.value("exposure.sway.card_px"), 4 * 500 / 3.3534, .04);
}

}  // namespace
}  // namespace undercap
