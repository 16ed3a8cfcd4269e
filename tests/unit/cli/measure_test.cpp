// Readings as the program prints them, and what exposure meters on.
#include <chrono>
#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>

#include "tests/unit/cli/set_up.h"

namespace undercap {
namespace {

using nlohmann::json;

class Measure : public Cli {
 protected:
  json readings(std::vector<std::string> arguments, ChildOptions options = {}) const {
    std::vector<std::string> whole;
    whole.emplace_back("measure");
    for (std::string& argument : arguments) whole.push_back(std::move(argument));
    for (const char* last : {"--json", "--quality", "draft", "--device", "software"})
      whole.emplace_back(last);
    const Finished finished = run(std::move(whole), std::move(options));
    EXPECT_EQ(finished.status, 0) << finished.err;
    const json root = json::parse(finished.out);
    EXPECT_TRUE(root.at("undercap").is_string());
    EXPECT_TRUE(root.at("renderer").is_string());
    return root.at("readings");
  }
};

// The shape of the contract: value number, bool, text or null with a note; unit; se number or null; note.
TEST_F(Measure, JsonHasTheShapeOfTheContract) {
  write("wood.toml", glowing_card());
  const json all = readings({"wood.toml"});
  EXPECT_GT(all.size(), 30U);
  for (const auto& [name, reading] : all.items()) {
    EXPECT_EQ(reading.size(), 4U) << name;
    const json& value = reading.at("value");
    EXPECT_TRUE(value.is_number() || value.is_boolean() || value.is_string() || value.is_null()) << name;
    EXPECT_TRUE(reading.at("unit").is_string() && reading.at("note").is_string()) << name;
    EXPECT_TRUE(reading.at("se").is_number() || reading.at("se").is_null()) << name;
    EXPECT_TRUE(!value.is_null() || reading.at("note") != "") << name;
  }
  // An emitter's luminance needs no light and has no noise but single precision.
  EXPECT_NEAR(all.at("part.card/surface.luminance_cd_m2").at("value"), 100, 1e-3);
  // Metered on a picture of one luminance, that luminance is mid-grey: no stops away, but for the fall of
  // cos^4, which within this frame (6.3 degrees to the side) stays under 0.02 stops.
  EXPECT_NEAR(all.at("part.card/surface.stops").at("value"), 0, 0.02);
  EXPECT_TRUE(all.at("contrast.cap_stem_stops").at("value").is_null());
}

// The white of the kind is a guess, a reflectance that the scene gives is the scene's.
TEST_F(Measure, FootAndNotesNameTheGuesses) {
  write("wood.toml", glowing_card());
  const Finished table =
      run({"measure", "wood.toml", "--quality", "draft", "--device", "software", "-o", "wood.json"});
  ASSERT_EQ(table.status, 0) << table.err;
  EXPECT_TRUE(
      table.out.ends_with("Guessed reflectances of the scene, plausible and unmeasured: pale_card.\n"))
      << table.out;
  const json root = json::parse(read("wood.json"));
  EXPECT_EQ(root.at("guessed_reflectances"), json::array({"pale_card"}));
  EXPECT_EQ(root.at("readings").at("part.card/surface.luminance_cd_m2").at("note"),
            "rests on guessed reflectances: pale_card");
  write("own.toml", glowing_card() + "reflectance = 0.5\n");
  EXPECT_EQ(readings({"own.toml"}).at("part.card/surface.luminance_cd_m2").at("note"), "");
}

TEST_F(Measure, TheTableHoldsTheSameRowsWithin100Columns) {
  write("wood.toml", glowing_card());
  const Finished table =
      run({"measure", "wood.toml", "--quality", "draft", "--device", "software", "-o", "wood.json"});
  ASSERT_EQ(table.status, 0) << table.err;
  for (const auto& [name, reading] : json::parse(read("wood.json")).at("readings").items())
    EXPECT_NE(table.out.find("\n  " + name + " "), std::string::npos) << name;
  EXPECT_EQ(table.out.find("Subject, shade and backdrop"), 0U);
  for (std::size_t from = 0, to; (to = table.out.find('\n', from)) != std::string::npos; from = to + 1)
    EXPECT_LE(to - from, 100U) << table.out.substr(from, to - from);
}

// Two cards side by side, one four times as bright: exposing on a spot on the one or the other differs by
// exactly 4, and each by t = (10 / S) / ((pi / 4) T L cos^4 / N_w^2), ISO 12232 form. The spots lie on
// mirrored places, so cos^4 cancels.
TEST_F(Measure, ExposureMetersOnASpot) {
  std::string two = replaced(glowing_card(), "at_m = [0, 0, 0]", "at_m = [-0.15, 0, 0]");
  two = replaced(
      two, "[camera]",
      "[exposure]\nmeter_on = \"meter:left\"\niso = 100\n[camera]\nlook_at = [0, 0, 0]\nfocus = [0, 0, 0]");
  two +=
      "[[prop]]\nname = \"bright\"\nkind = \"card\"\nat_m = [0.15, 0, 0]\nsize_mm = [300, 300]\n"
      "[prop.material.surface]\nemission_cd_m2 = 400\n"
      "[[meter]]\nname = \"left\"\nkind = \"spot\"\nat = [0.3, 0.5]\n"
      "[[meter]]\nname = \"right\"\nkind = \"spot\"\nat = [0.7, 0.5]\n";
  write("two.toml", two);
  const json left = readings({"two.toml"}),
             right = readings({"two.toml", "--set", "exposure.meter_on=\"meter:right\""});
  const double shutter_left = left.at("exposure.shutter_s").at("value"),
               shutter_right = right.at("exposure.shutter_s").at("value");
  EXPECT_NEAR(shutter_left / shutter_right, 4, 1e-4);  // single precision of the film
  const double working = left.at("lens.working_f_number").at("value");
  // The spot lies 0.2 x 23.5 mm off the axis; the image distance is f (1 + m) with f = 90 mm, m = 90 / (600 -
  // 90).
  const double slope = 0.2 * 23.5 / (90 * (1 + 90.0 / 510)), cos4 = std::pow(1 + slope * slope, -2);
  const double expected = 10.0 / 100 * working * working / (std::numbers::pi / 4 * 0.9 * 100 * cos4);
  EXPECT_NEAR(shutter_left, expected, 1e-4 * expected);
  EXPECT_EQ(left.at("meter.left.luminance_cd_m2").at("value").get<double>() > 99.99, true);
  EXPECT_NE(left.at("exposure.shutter_s").at("note").get<std::string>().find("metered on meter:left"),
            std::string::npos);
}

// A flat sheet under a uniform sky of E = 1000 lx sends back L = R E / pi (Lambert). R is the file's Kd until
// the scene gives one of its own. Nothing else stands in the world, so no light bounces twice.
TEST_F(Measure, AnImportedFilesColourIsItsReflectance) {
  write("sheet.obj", "mtllib sheet.mtl\nv -1 0 1\nv 1 0 1\nv 1 0 -1\nv -1 0 -1\nusemtl skin\nf 1 2 3 4\n");
  write("sheet.mtl", "newmtl skin\nKd .5 .5 .5\n");
  write("sheet.toml",
        "undercap = 1\n[ground]\nkind = \"none\"\n[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n"
        "[camera]\nposition_m = [0, -0.5, 0.5]\nbarrel_mm = 0\n[[prop]]\nname = \"sheet\"\nkind = "
        "\"mesh\"\nfile = \"sheet.obj\"\n"
        "at_m = [0, 0, 0]\n");
  const auto expect_luminance = [&](const std::vector<std::string>& arguments, double reflectance) {
    const json reading = readings(arguments).at("part.sheet/skin.luminance_cd_m2");
    const double expected = reflectance * 1000 / std::numbers::pi;
    EXPECT_NEAR(reading.at("value"), expected, 4 * reading.at("se").get<double>() + 1e-4 * expected);
    EXPECT_LT(reading.at("se"), 0.005 * expected);
  };
  expect_luminance({"sheet.toml"}, 0.5);
  expect_luminance({"sheet.toml", "--set", "prop.sheet.material.skin.reflectance=0.2"}, 0.2);
}

// Nothing in the scene, and everything behind the camera: an answer all the same.
TEST_F(Measure, EmptySetsAnswer) {
  write("empty.toml", "undercap = 1\n[ground]\nkind = \"none\"\n");
  const json empty = readings({"empty.toml"});
  EXPECT_TRUE(empty.at("contrast.subject_backdrop_stops").at("value").is_null());
  write("behind.toml",
        replaced(glowing_card(), "[camera]", "[camera]\nlook_at = [0, -1, 0]\nfocus_distance_m = 1"));
  const json behind = readings({"behind.toml"});
  EXPECT_EQ(behind.at("part.card/surface.stops").at("note"), "not seen in the picture");
}

// A grey card that meters f/8, 2 s at ISO 200 has 250 x 64 / (2 x 200) = 40 lx of the sky below the leaves.
// The sun goes 15 degrees an hour, so that a fleck of a gap 12 m up goes some 5 cm a minute and more where
// the sun is low. Every light that a scene brings has its colour on the subject; the ladder adds up.
TEST_F(Measure, TheLightOfTheWood) {
  write(
      "wood.toml",
      "undercap = 1\n[ground]\nkind = \"none\"\n[sky]\nmodel = \"general\"\ntype = 12\n"
      "grey_card = { f_number = 8, shutter_s = 2, iso = 200 }\n[sun]\non = true\n"
      "[canopy]\nleaf_area_index = 1\n[camera]\nmagnification = 0.25\n"
      "[[prop]]\nname = \"card\"\nkind = \"card\"\nsize_mm = [100, 80]\n"
      "[[source]]\nname = \"panel\"\nkind = \"panel\"\nposition_m = [0, -0.5, 0.3]\naim = \"card\"\n"
      "size_mm = [60, 40]\nflux_lm = 300\ncct_k = 3200\n"
      "[[source]]\nname = \"burst\"\nkind = \"flash\"\nposition_m = [0, -0.5, 0.3]\naim = \"card\"\n"
      "size_mm = [60, 40]\nguide_number_m = 10\ncct_k = 5600\n"
      "[[meter]]\nname = \"front\"\nkind = \"incident\"\nposition_m = [0, -0.05, 0]\nnormal = [0, -1, 0]\n");
  const json all = readings({"wood.toml"});
  const auto value = [&](const std::string& name) { return all.at(name).at("value").get<double>(); };
  EXPECT_NEAR(value("sky.below_leaves_lx"), 40, 1e-6);
  EXPECT_GT(value("sky.horizontal_lx"), 40);
  EXPECT_GT(value("sun.fleck_m_per_min"), 12 * 15. / 60 * std::numbers::pi / 180 * 0.5);
  EXPECT_LT(value("sun.fleck_m_per_min"), 0.5);
  // No ground sends colour back: the panel's own, and mired apart from the flash's own.
  EXPECT_NEAR(value("subject.panel.cct_k"), 3200, 15);
  EXPECT_NEAR(value("subject.panel.vs_white_mired") - value("subject.burst.vs_white_mired"),
              1e6 / 3200 - 1e6 / 5600, 1.5);
  EXPECT_LT(value("subject.canopy.cct_k"), value("subject.sky.cct_k"));  // yellow leaves
  for (const char* group : {"sky", "sun", "canopy", "panel"})
    EXPECT_GT(value(std::string("meter.front.") + group + "_lx"), 0) << group;
  EXPECT_GT(value("meter.front.flash_lx_s"), 0);
  double sum = 0;
  for (const char* step : {"open_ev100", "leaves_stops", "set_stops", "lamps_stops", "lightness_stops",
                           "magnification_stops", "glass_stops", "settings_stops"})
    sum += value(std::string("exposure.ladder.") + step);
  EXPECT_NEAR(sum, value("exposure.ev100"), 1e-6);
  EXPECT_LT(value("exposure.ladder.leaves_stops"), 0);
  EXPECT_LT(value("exposure.ladder.asked_stops"), -3);  // far below what the hour gives
}

// Where the base of a logarithm is black there is no number but a reason, in every reading that has one.
TEST_F(Measure, ABlackBaseIsSaid) {
  write(
      "night.toml",
      "undercap = 1\n[ground]\nkind = \"none\"\n[sky]\nmodel = \"off\"\n[camera]\nposition_m = [0, -0.5, 0]\n"
      "barrel_mm = 0\n[subject]\nbackdrop = [\"far\"]\n"
      "[[prop]]\nname = \"sheet\"\nkind = \"card\"\nat_m = [-0.05, 0, 0]\nsize_mm = [100, 300]\n"
      "[[prop]]\nname = \"far\"\nkind = \"card\"\nat_m = [0, 0.1, 0]\nsize_mm = [900, 900]\n"
      "material.surface = { reflectance = 0 }\n"
      "[[source]]\nname = \"torch\"\nkind = \"torch\"\nposition_m = [0, -0.5, 0.1]\naim = [0, 0, 0]\nflux_lm "
      "= "
      "100\n");
  const json night = readings({"night.toml"});
  const auto expect_none = [&](const char* name, const std::string& reason) {
    EXPECT_TRUE(night.at(name).at("value").is_null()) << name;
    EXPECT_EQ(night.at(name).at("note"), reason) << name;
  };
  expect_none("rise.torch.sheet/surface_stops", "without this light black: no light comes from it");
  expect_none("spill.torch_stops", "without this light backdrop: black: no light comes from it");
  expect_none("contrast.subject_backdrop_stops", "backdrop: black: no light comes from it");
  expect_none("part.far/surface.stops", "black: no light comes from it");
  expect_none("contrast.range_stops", "the darkest hundredth of the picture is black");
  EXPECT_EQ(night.at("part.far/surface.luminance_cd_m2").at("value"), 0);
}

// --noise says what it did not reach; --seconds ends all of the measuring, meters included: without it, 0.05
// % needs 256 passes of each meter.
TEST_F(Measure, StopsByTimeAndSaysSo) {
  std::string text =
      "undercap = 1\n[ground]\nkind = \"soil\"\n[camera]\nposition_m = [0, -0.5, 0.2]\nbarrel_mm = 0\n";
  for (const char* name : {"a", "b", "c"})
    text += std::string("[[meter]]\nname = \"") + name +
            "\"\nkind = \"incident\"\nposition_m = [0, 0, 0.1]\nnormal = [0, -1, 0.1]\n";
  write("soil.toml", text);
  const auto start = std::chrono::steady_clock::now();
  const Finished finished = run({"measure", "soil.toml", "--json", "--quality", "fine", "--noise", "0.05",
                                 "--seconds", "0.5", "--device", "software"});
  EXPECT_EQ(finished.status, 0) << finished.err;
  EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(30));
  EXPECT_NE(finished.err.find("of 16 rounds of the survey"), std::string::npos) << finished.err;
  for (const char* name : {"a", "b", "c"})
    EXPECT_NE(finished.err.find(std::string("note: meter '") + name + "' reached "), std::string::npos)
        << finished.err;
  EXPECT_NE(finished.err.find("%, not the 0.05 % asked for"), std::string::npos) << finished.err;
}

}  // namespace
}  // namespace undercap
