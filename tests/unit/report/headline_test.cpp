#include "engine/report/headline.h"

#include <gtest/gtest.h>

#include "engine/report/sweep_sheet.h"

namespace undercap {
namespace {

using Under = Reading::Under;

Headline noon() {
  Headline headline;
  headline.name = "noon";
  // C = 250 lx s at ISO 100 (ISO 2720:1974): EV = log2(E 100 / 250), so 640 lx are EV 8.
  headline.light_lx = Estimate{.value = 640, .se = 1.25};
  headline.contrasts = {{Under::headline, "contrast.subject_backdrop_stops", -0.25, "stops", 0.01, ""},
                        {Under::headline, "contrast.cap_gills_stops", 2.84, "stops", 0.21, ""},
                        {Under::headline, "contrast.cap_stem_stops", std::monostate{}, "stops", std::nullopt,
                         "no part stem of the subject is seen"},
                        {Under::exposure, "contrast.range_stops", 5.5, "stops", 0.04, ""}};
  headline.f_number = 11;
  headline.shutter_s = 1.0 / 60;
  headline.iso = 200;
  return headline;
}

std::vector<std::pair<std::string, std::string>> pairs_of(const std::vector<SheetRow>& rows) {
  std::vector<std::pair<std::string, std::string>> pairs;
  for (const SheetRow& row : rows) pairs.emplace_back(row.label, row.value);
  return pairs;
}

std::vector<std::pair<std::string, std::string>> rows_of(const Headline& headline, const std::string& shade) {
  return pairs_of(headline_rows(headline, shade));
}

// 60 mm f/8 at m 0.5, N_w 12: 1.75 x .55 um x 12 is 11.55 um; sharp for 1.44 mm with a circle of 0.015 mm.
std::vector<Reading> noon_camera() {
  const auto row = [](const char* name, decltype(Reading::value) value, std::string note = {}) {
    return Reading{Under::depth, name, value, "", std::nullopt, std::move(note)};
  };
  return {row("lens.focal_length_mm", 60.),
          row("lens.working_f_number", 12.),
          row("depth.circle_of_confusion_mm", .015),
          row("depth.total_mm", 1.44),
          row("depth.needed_mm", 12.),
          row("depth.blur_near_um", 52.),
          row("depth.diffraction_blur_um", 11.55),
          row("depth.blur_far_um", 30.),
          row("depth.best_f_number", 10.079, "no single frame is sharp throughout, stack instead"),
          row("depth.frames_for_stack", 12.),
          row("exposure.snr_grey", 49.4)};
}

using Rows = std::vector<std::pair<std::string, std::string>>;

TEST(HeadlineRows, SayLightContrastsAndExposure) {
  const std::vector<Headline> all{noon()};
  EXPECT_EQ(shade_contrast(all), "contrast.cap_gills_stops");
  EXPECT_EQ(rows_of(noon(), shade_contrast(all)), (Rows{{"light on subject", "640 lx (EV 8.0)"},
                                                        {"cap : gills", "+2.8 \xc2\xb1 0.2 stops"},
                                                        {"subject : backdrop",
                                                         "\xe2\x88\x92"
                                                         "0.2 stops"},
                                                        {"exposure", "1/60 s at f/11, ISO 200"}}));
}

// What has no number says why; a small number has no sign that its digits do not show.
TEST(HeadlineRows, SayWhatIsMissing) {
  Headline headline = noon();
  headline.contrasts[0].value = -0.04;
  headline.light_lx.reset();
  headline.shutter_s = 1.3333;
  headline.compensation_stops = -0.6;
  EXPECT_EQ(rows_of(headline, "contrast.cap_stem_stops"),
            (Rows{{"light on subject", "none: the subject is not seen"},
                  {"cap : stem", "none: no part stem of the subject is seen"},
                  {"subject : backdrop", "0.0 stops"},
                  {"exposure",
                   "1.3 s at f/11, ISO 200, \xe2\x88\x92"
                   "0.6"}}));
  headline.light_lx = Estimate{.value = 0.8765, .se = .1, .freedom = 31, .doubtful = true};
  // log2(.8765 / 2.5) = -1.51
  EXPECT_EQ(headline_rows(headline, "contrast.cap_stem_stops")[0].value,
            "0.88 lx (EV \xe2\x88\x92"
            "1.5) (?)");
}

TEST(HeadlineRows, ASheetShowsOneContrastForAll) {
  std::vector<Headline> all{noon(), noon()};
  all[0].contrasts[1].value = std::monostate{};
  EXPECT_EQ(shade_contrast(all), "contrast.cap_gills_stops");
  all[1].contrasts[1].value = std::monostate{};
  EXPECT_EQ(shade_contrast(all), "contrast.range_stops");
}

// Blur in circles of confusion: 52 / 15, 11.55 / 15 and 30 / 15.
TEST(CameraRows, SayLensDepthAndGrain) {
  Headline headline = noon();
  headline.camera = noon_camera();
  EXPECT_EQ(pairs_of(camera_rows(headline)), (Rows{{"lens", "60 mm, f/11 (f/12.0)"},
                                                   {"zone", "1.44 of 12 mm"},
                                                   {"blur", "3.5, 0.77, 2"},
                                                   {"best", "f/10, or stack 12"},
                                                   {"exposure", "1/60 s, ISO 200; S/N 49.4"}}));
}

// 1.75 lambda N_w of f/40 is wider than a circle of 15 um: no zone and no stack.
TEST(CameraRows, DiffractionLeavesNoZone) {
  Headline headline = noon();
  headline.camera = noon_camera();
  for (Reading& reading : headline.camera)
    if (reading.name == "depth.diffraction_blur_um") reading.value = 38.5;
  const Rows rows = pairs_of(camera_rows(headline));
  EXPECT_EQ(rows[1].second, "none: diffraction");
  EXPECT_EQ(rows[3].second, "f/10; no stack helps");
}

TEST(CameraRows, SayWhatIsMissing) {
  EXPECT_EQ(pairs_of(camera_rows(noon())), (Rows{{"lens", "- mm, f/11 (-)"},
                                                 {"zone", "to infinity"},
                                                 {"blur", "-, -, -"},
                                                 {"best", "none"},
                                                 {"exposure", "1/60 s, ISO 200; S/N -"}}));
}

TEST(HeadlineCsv, OneHeaderAndOneLineAPicture) {
  std::vector<Headline> all{noon(), noon()};
  all[1].name = "rain, \"late\"";
  all[1].light_lx.reset();
  all[1].compensation_stops = -0.6;
  all[1].camera = noon_camera();
  all[1].backdrop = {{Under::backdrop, "backdrop.rim_step_stops", -1.25, "stops", .03, ""}};
  const std::string header =
      "picture,light_on_subject_lx,light_on_subject_se_lx,light_on_subject_ev100,cap_gills_stops,"
      "cap_gills_se_stops,cap_stem_stops,cap_stem_se_stops,subject_backdrop_stops,subject_backdrop_se_stops,"
      "range_stops,range_se_stops,shutter_s,f_number,iso,compensation_stops,lens.focal_length_mm,"
      "lens.magnification,lens.working_f_number,lens.frame_width_mm,depth.circle_of_confusion_mm,"
      "depth.near_mm,depth.far_mm,depth.total_mm,depth.needed_mm,depth.blur_near_um,"
      "depth.diffraction_blur_um,depth.blur_far_um,depth.best_f_number,depth.frames_for_stack,"
      "exposure.snr_grey,backdrop.blur_pct,backdrop.blur_pct.se,backdrop.blur_infinity_mm,"
      "backdrop.blur_infinity_mm.se,backdrop.disc_mm,backdrop.disc_mm.se,backdrop.width_m,"
      "backdrop.width_m.se,backdrop.rim_step_stops,backdrop.rim_step_stops.se,backdrop.rim_step_low_stops,"
      "backdrop.rim_step_low_stops.se,backdrop.rim_delta_e,backdrop.rim_delta_e.se,"
      "backdrop.texture_2_8_pct,backdrop.texture_2_8_pct.se,backdrop.texture_8_32_pct,"
      "backdrop.texture_8_32_pct.se,backdrop.texture_32_128_pct,backdrop.texture_32_128_pct.se,"
      "backdrop.hot_spots_pct,backdrop.hot_spots_pct.se,backdrop.gradient_ratio,"
      "backdrop.gradient_ratio.se\n";
  EXPECT_EQ(headline_csv(all),
            header +
                "noon,640,1.25,8,2.84,0.21,,,-0.25,0.01,5.5,0.04,0.0166667,11,200,0"
                ",,,,,,,,,,,,,,," +
                std::string(24, ',') +
                "\n"
                "\"rain, \"\"late\"\"\",,,,2.84,0.21,,,-0.25,0.01,5.5,0.04,0.0166667,11,"
                "200,-0.6,60,,12,,0.015,,,1.44,12,52,11.55,30,10.079,12,49.4,,,,,,,,,-1.25,0.03" +
                std::string(14, ',') + "\n");
}

TEST(SweepSheet, SaysWhatIsChangedAndThatItIsNoPhotograph) {
  const std::vector<Headline> headlines{noon(), noon()};
  const std::vector<Picture8> pictures(2, make_picture8(6, 4));
  SweepFacts facts{.title = "Six lights",
                   .scene_name = "six_lights",
                   .changed = {"sky", "torch"},
                   .lens = "90 mm lens",
                   .metered = true,
                   .sampling = "16 samples a pixel",
                   .made_by = "Undercap"};
  ContactSheet sheet = sweep_sheet(facts, headlines, pictures);
  EXPECT_EQ(sheet.title, "Six lights");
  EXPECT_EQ(sheet.under_title, "Changed: sky, torch. Kept: all else.");
  EXPECT_EQ(sheet.caution, "A rendered picture is not a photograph.");
  ASSERT_EQ(sheet.cells.size(), 2U);
  EXPECT_EQ(sheet.cells[1].name, "noon");
  EXPECT_EQ(sheet.cells[1].width, 6);
  EXPECT_NE(sheet.small[0].find("metered by itself"), std::string::npos);
  facts.rows = SweepRows::camera;
  facts.kept = "viewpoint; all else";
  facts.columns = 1;
  sheet = sweep_sheet(facts, headlines, pictures);
  EXPECT_EQ(sheet.under_title, "Changed: sky, torch. Kept: viewpoint; all else.");
  EXPECT_EQ(sheet.cells[0].rows.front().label, "lens");
  EXPECT_EQ(sheet.columns, 1);
  facts.metered = false;
  facts.changed.clear();
  sheet = sweep_sheet(facts, headlines, pictures);
  EXPECT_NE(sheet.small[0].find("The shutter is set"), std::string::npos);
  EXPECT_EQ(sheet.under_title, "Nothing is changed.");
}

}  // namespace
}  // namespace undercap
