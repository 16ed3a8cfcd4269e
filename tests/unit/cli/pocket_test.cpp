// The pocket card, asked for from outside: what is written, what two readers make of it, what was taken.
#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "engine/image/png.h"
#include "tests/unit/cli/set_up.h"

namespace undercap {
namespace {

using Names = std::vector<std::string>;
using nlohmann::json;

// A card of 2 cm before an even sky of 320 lx, and a torch on it. f/8 at ISO 200 reads .25 s off a grey card:
// E = 250 N^2 / (t S).
std::string card_and_torch() {
  return "undercap = 1\n"
         "title = \"Card by Rill\"\n"
         "[ground]\n"
         "kind = \"none\"\n"
         "[sky]\n"
         "model = \"uniform\"\n"
         "horizontal_lx = 320\n"
         "[camera]\n"
         "barrel_mm = 0\n"
         "position_m = [0, -0.5, 0]\n"
         "look_at = [0, 0, 0]\n"
         "f_number = 16\n"
         "[exposure]\n"
         "meter_on = \"card\"\n"
         "[[prop]]\n"
         "name = \"card\"\n"
         "kind = \"card\"\n"
         "at_m = [0, 0, 0]\n"
         "size_mm = [20, 20]\n"
         "[prop.material.surface]\n"
         "reflectance = 0.5\n"
         "roughness = 1\n"
         "[[source]]\n"
         "name = \"torch\"\n"
         "kind = \"torch\"\n"
         "position_m = [0.1, -0.3, 0]\n"
         "aim = [0, 0, 0]\n"
         "intensity_cd = 10\n"
         "beam_deg = 120\n";
}

class Pocket : public Cli {
 protected:
  Pocket() { write("wood.toml", card_and_torch()); }
  Finished pocket(std::vector<std::string> arguments) const {
    std::vector<std::string> whole{"pocket", "wood.toml"};
    whole.insert(whole.end(), arguments.begin(), arguments.end());
    for (const char* last : {"--size", "48x32", "--quality", "draft", "--device", "software"})
      whole.emplace_back(last);
    return run(std::move(whole));
  }
  std::string path(const std::string& name) const { return fmt::format("'{}'", (folder / name).string()); }
};

TEST_F(Pocket, WritesACardThatTwoReadersOpen) {
  const Finished done = pocket({});
  ASSERT_EQ(done.status, 0) << done.err;
  EXPECT_EQ(done.out, "");
  EXPECT_NE(done.err.find("wrote wood-card.pdf"), std::string::npos) << done.err;
  EXPECT_EQ(names(), (Names{"wood-card.pdf", "wood.toml"}));
  EXPECT_LT(read("wood-card.pdf").size(), 5'000'000u);
  const std::string info = said_by("pdfinfo " + path("wood-card.pdf"));
  EXPECT_NE(info.find("Pages:           2"), std::string::npos) << info;
  EXPECT_NE(info.find("419.528 x 595.276"), std::string::npos) << info;  // A5 in points
  EXPECT_EQ(said_by(fmt::format("pdftoppm -r 30 -png {} {}", path("wood-card.pdf"), path("page"))), "");
  EXPECT_TRUE(exists("page-1.png") && exists("page-2.png"));
  // It may warn of what it was built without.
  const std::string drawn =
      said_by(fmt::format("mutool draw -q -o /dev/null {} && echo drawn", path("wood-card.pdf")));
  EXPECT_TRUE(drawn.ends_with("drawn\n") && drawn.find("error") == drawn.npos) << drawn;
  const std::string words = said_by(fmt::format("pdftotext {} -", path("wood-card.pdf")));
  for (const char* part :
       {"Card by Rill", "Check by spot reading", "torch 100 %", "1/4 s", "litter back", "Really used"})
    EXPECT_NE(words.find(part), std::string::npos) << part << "\n" << words;
  const std::string faces = said_by("pdffonts " + path("wood-card.pdf"));
  EXPECT_NE(faces.find("OpenSans"), std::string::npos) << faces;
  EXPECT_EQ(faces.find(" no  "), std::string::npos) << faces;  // embedded, and a subset
}

TEST_F(Pocket, SameSeedSameBytes) {
  ASSERT_EQ(pocket({"-o", "a.pdf", "-o", "a.png"}).status, 0);
  ASSERT_EQ(pocket({"-o", "b.pdf", "-o", "b.png"}).status, 0);
  EXPECT_EQ(read("a.pdf"), read("b.pdf"));
  EXPECT_EQ(read("a.png"), read("b.png"));
  EXPECT_TRUE(decode_png(read("a.png")).is_srgb);
}

TEST_F(Pocket, AnswersInJson) {
  const Finished done = pocket({"--json", "--quiet"});
  ASSERT_EQ(done.status, 0) << done.err;
  EXPECT_EQ(done.err, "");
  const json answer = json::parse(done.out);
  EXPECT_EQ(answer.at("light").size(), 6u);
  EXPECT_EQ(answer["light"][2].at("seen"), "1/4 s");
  EXPECT_EQ(answer["light"][2].at("rehearsed"), true);
  // The card faces south: half of the sky's 320 lx, and of the torch's 10 cd / .1 m2 the cosine .949, make .5
  // / pi (160 + 94.9) = 40.6 cd/m2. Behind it half of the frame is sky of 320 / pi cd/m2 and half is black:
  // -.33 stop, to the noise of a draft. The camera meters the card itself to mid-grey, H = 10 / S (ISO 12232,
  // from memory). It has one part, so that nothing is to be checked within it.
  ASSERT_EQ(answer.at("targets").size(), 2u);
  EXPECT_EQ(answer["targets"][0].at("words"), "subject over backdrop");
  EXPECT_NEAR(answer["targets"][0].at("stops").get<double>(), std::log2(0.5 * 254.9 / 160), 0.03);
  EXPECT_EQ(answer["targets"][1].at("words"), "subject over mid-grey");
  EXPECT_NEAR(answer["targets"][1].at("stops").get<double>(), 0, 1e-3);  // two means of the same samples
}

// f/11 at 5 s and ISO 200 is 30.25 lx. The corrected scene's own plan then differs from what was taken by
// nothing but the noise of two surveys.
TEST_F(Pocket, WhatWasTakenCorrectsTheScene) {
  write("wood.toml",
        card_and_torch() +
            "[taken]\nf_number = 11\nshutter_s = 5\niso = 200\nlamp = \"torch\"\nlamp_distance_m = "
            "0.8\ntime = 2026-11-02T14:00:00Z\n");
  const Finished done = pocket({"--corrected", "true.toml", "-o", "a.pdf"});
  ASSERT_EQ(done.status, 0) << done.err;
  EXPECT_NE(done.out.find("30.2 lx"), std::string::npos) << done.out;
  EXPECT_NE(done.out.find("32 cm                    80 cm"), std::string::npos) << done.out;
  const std::string words = said_by(fmt::format("pdftotext {} -", path("a.pdf")));
  EXPECT_NE(words.find("corrected by what was taken on 2026-11-02"), std::string::npos) << words;
  // Away from the card on the line from it: (.1, -.3) / .3162 times .8.
  EXPECT_NE(read("true.toml").find("position_m = [0.25298, -0.75895, 0.00000]"), std::string::npos)
      << read("true.toml");
  const Finished again =
      run({"measure", "true.toml", "--json", "--quality", "draft", "--device", "software", "--quiet"});
  ASSERT_EQ(again.status, 0) << again.err;
  const json readings = json::parse(again.out).at("readings");
  EXPECT_NEAR(readings.at("taken.light_lx").at("value").get<double>(), 30.25, 1e-9);
  EXPECT_NEAR(readings.at("taken.difference_stops").at("value").get<double>(), 0, 0.05);
  EXPECT_FALSE(exists("wood-card.pdf"));
}

TEST_F(Pocket, Refuses) {
  expect_refusal({"pocket", "wood.toml", "-o", "card.svg"},
                 "-o 'card.svg': the ending says the format; allowed: .pdf, .png");
  expect_refusal({"pocket", "wood.toml", "--noise", "1"},
                 "pocket takes its samples by --quality: leave --noise and --seconds out");
  expect_refusal({"pocket", "wood.toml", "--corrected", "wood.toml"},
                 "-o wood.toml: that is the scene itself; give the output another name");
  write("card.pdf", "mine");
  const Finished kept = pocket({"-o", "card.pdf"});
  EXPECT_EQ(kept.status, 1);
  EXPECT_EQ(read("card.pdf"), "mine");
  EXPECT_EQ(pocket({"-o", "card.pdf", "--force"}).status, 0);
  EXPECT_TRUE(read("card.pdf").starts_with("%PDF-1."));
}

TEST_F(Pocket, ACorrectionNeedsWhatWasTaken) {
  const Finished none = pocket({"--corrected", "true.toml"});
  EXPECT_EQ(none.status, 1);
  EXPECT_NE(none.err.find("give the scene [taken] with f_number, shutter_s and iso"), std::string::npos)
      << none.err;
  EXPECT_FALSE(exists("true.toml"));
  // A hundred-thousandth of the light: less than the torch alone gave.
  const Finished dark = pocket({"--corrected", "true.toml", "--set", "taken.f_number=1.4", "--set",
                                "taken.shutter_s=600", "--set", "taken.iso=6400"});
  EXPECT_EQ(dark.status, 1);
  EXPECT_NE(dark.err.find("the lamps alone give more than that"), std::string::npos) << dark.err;
}

}  // namespace
}  // namespace undercap
