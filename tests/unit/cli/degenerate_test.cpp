// Scenes with nothing to see, or too much of something: odd and physical, so they are answered with status 0,
// JSON that parses, no number that is not finite, and a note wherever there is no number.
#include <cmath>
#include <nlohmann/json.hpp>

#include "engine/image/png.h"
#include "tests/unit/cli/set_up.h"

namespace undercap {
namespace {

using nlohmann::json;

const std::string bare = "undercap = 1\n[ground]\nkind = \"none\"\n";
const std::string camera = "[camera]\nposition_m = [0, -0.6, 0.03]\nbarrel_mm = 0\n";
const std::string ball =
    "[[prop]]\nname = \"ball\"\nkind = \"sphere\"\ndiameter_mm = 60\nat_m = [0, 0, 0.03]\n";
const std::string torch =
    "[[source]]\nname = \"torch\"\nkind = \"torch\"\nposition_m = [0, -0.3, 0.1]\naim = [0, 0, 0.03]\n";

class Degenerate : public Cli {
 protected:
  json readings(const std::string& scene) const {
    write("odd.toml", scene);
    const Finished finished =
        run({"measure", "odd.toml", "--json", "--quality", "draft", "--device", "software"});
    EXPECT_EQ(finished.status, 0) << finished.err;
    json all = json::parse(finished.out, nullptr, false);
    if (all.is_discarded()) {
      ADD_FAILURE() << "no JSON: " << finished.out.substr(0, 200) << finished.err;
      return {};
    }
    all = all.at("readings");
    for (const auto& [name, reading] : all.items()) {
      const json &value = reading.at("value"), &se = reading.at("se");
      // JSON has no word for infinity and NaN; the library writes them as null, which then has no note.
      EXPECT_TRUE(!value.is_null() || reading.at("note") != "") << name;
      EXPECT_TRUE(!value.is_number() || std::isfinite(value.get<double>())) << name;
      EXPECT_TRUE(se.is_null() || se.get<double>() >= 0) << name;
    }
    return all;
  }

  Picture8 picture(const std::string& scene) const {
    write("odd.toml", scene);
    const Finished finished = run({"render", "odd.toml", "-o", "odd.png", "--force", "--size", "24x16",
                                   "--quality", "draft", "--device", "software"});
    EXPECT_EQ(finished.status, 0) << finished.err;
    return exists("odd.png") ? decode_png(read("odd.png")).picture : Picture8{};
  }

  static bool is_black(const Picture8& picture) {
    return !picture.rgb.empty() &&
           std::all_of(picture.rgb.begin(), picture.rgb.end(), [](auto code) { return code == 0; });
  }
};

TEST_F(Degenerate, NoLight) {
  const std::string dark = bare + "[sky]\nmodel = \"off\"\n" + camera + ball;
  const json all = readings(dark);
  EXPECT_EQ(all.at("part.ball/surface.luminance_cd_m2").at("value"), 0);
  EXPECT_TRUE(all.at("part.ball/surface.stops").at("value").is_null());
  EXPECT_TRUE(is_black(picture(dark)));
  // A light that shines with nothing, and a surface that glows with nothing, are none.
  EXPECT_EQ(readings(dark + "[prop.material.surface]\nemission_cd_m2 = 0\n" + torch + "flux_lm = 0\n")
                .at("part.ball/surface.luminance_cd_m2")
                .at("value"),
            0);
}

TEST_F(Degenerate, NothingThere) {
  readings(bare + "[sky]\nmodel = \"off\"\n");
  EXPECT_TRUE(is_black(picture(bare + "[sky]\nmodel = \"off\"\n")));
  const std::string hidden = bare + camera + ball + "visible = false\n";
  EXPECT_TRUE(readings(hidden).at("contrast.subject_backdrop_stops").at("value").is_null());
  const json subject = readings(hidden +
                                "[subject]\nparts = [\"ball\"]\n[[prop]]\nname = \"card\"\nkind = \"card\"\n"
                                "at_m = [0, 0, 0.03]\n");
  EXPECT_TRUE(subject.at("contrast.subject_backdrop_stops").at("value").is_null());
}

TEST_F(Degenerate, TheCameraInAnOddPlace) {
  // In a closed box whose walls glow with nothing: black. Its own walls are all it sees.
  const std::string inside = bare + camera + "look_at = [0, 5, 0.03]\nfocus_distance_m = 1\n" +
                             "[[prop]]\nname = \"log\"\nkind = \"box\"\nsize_mm = [2000, 2000, 2000]\n";
  EXPECT_EQ(readings(inside).at("part.log/surface.luminance_cd_m2").at("value"), 0);
  EXPECT_TRUE(is_black(picture(inside)));
  const std::string away = bare + camera + "look_at = [0, -5, 0.03]\nfocus_distance_m = 1\n" + ball;
  EXPECT_EQ(readings(away).at("part.ball/surface.luminance_cd_m2").at("note"), "not seen in the picture");
  // Under the ground, looking up at its lower side.
  const std::string under =
      "undercap = 1\n[ground]\nsize_m = 1\nrelief_mm = 0\n[camera]\nposition_m = [0, -0.6, -0.5]\n"
      "look_at = [0, 0, 0]\nfocus_distance_m = 1\nbarrel_mm = 0\n" +
      ball;
  EXPECT_LT(readings(under).at("lens.axis_height_m").at("value"), 0);
  picture(under);
  readings(bare + "[camera]\nposition_m = [0, 0, 1]\nlook_at = [0, 0, 0]\n" + ball);  // straight down
}

TEST_F(Degenerate, AThinDiscSeenFromItsEdge) {
  const json all =
      readings(bare + camera +
               "[[prop]]\nname = \"disc\"\nkind = \"disc\"\nat_m = [0, 0, 0.03]\nnormal = [0, 0, 1]\n");
  // Of no width: either no sample met it, or some did and it has a luminance.
  const json& value = all.at("part.disc/surface.luminance_cd_m2").at("value");
  EXPECT_TRUE(value.is_null() || value.get<double>() >= 0);
}

// R = 0 sends nothing back. In a closed white box, R = 1, light never ends; what is computed of it does.
TEST_F(Degenerate, BlackAndWhiteSurfaces) {
  const json black = readings(bare + camera + ball + "[prop.material.surface]\nreflectance = 0\n");
  EXPECT_EQ(black.at("part.ball/surface.luminance_cd_m2").at("value"), 0);
  const json room = readings(bare + camera + "look_at = [0, 1, 0.03]\nfocus_distance_m = 1\n" +
                             "[[prop]]\nname = \"room\"\nkind = \"box\"\nsize_mm = [2000, 2000, 2000]\n"
                             "[prop.material.surface]\nreflectance = 1\n[sky]\nmodel = \"off\"\n" +
                             torch + "flux_lm = 100\n");
  // One bounce alone gives flux / (pi area of the walls) = 100 / (pi 24) cd/m2 in the mean.
  EXPECT_GT(room.at("part.room/surface.luminance_cd_m2").at("value"), 100 / (3.1416 * 24));
}

TEST_F(Degenerate, LensesAtTheirLimits) {
  const json far = readings(bare + camera + "focus_distance_m = 10000\n" + ball);
  EXPECT_TRUE(far.at("depth.far_mm").at("value").is_null());  // to infinity
  readings(bare +
           "[camera]\nformat_mm = [3, 3]\nfocal_length_mm = 4\nf_number = 64\nposition_m = [0, -0.3, 0.1]\n" +
           ball);
  readings(
      bare +
      "[camera]\nformat_mm = [130, 3]\nfocal_length_mm = 1200\nf_number = 0.7\nposition_m = [0, -20, 1]\n"
      "barrel_mm = 0\n" +
      ball);
  readings(bare + "[camera]\nmagnification = 20\nfocal_length_mm = 4\nf_number = 0.7\nbarrel_mm = 0\n" +
           ball);
  readings(bare + camera + ball + "scale = 0.001\n[exposure]\niso = 102400\nshutter_s = 3600\n");
  readings(bare + camera + ball + "[prop.material.surface]\nemission_cd_m2 = 1e9\n" + torch +
           "flux_lm = 10000000\nbeam_deg = 1\n");
}

}  // namespace
}  // namespace undercap
