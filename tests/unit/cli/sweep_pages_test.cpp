// What leaves a sweep or a lesson, by other readers: PDF, table, JSON, quiz, slide.
#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <optional>

#include "engine/image/png.h"
#include "tests/unit/cli/set_up.h"

namespace undercap {
namespace {

using Names = std::vector<std::string>;
using nlohmann::json;

// RFC 4180 to the letter, but for plain line feeds: fields by line; none where the text breaks a rule.
std::optional<std::vector<std::vector<std::string>>> strict_csv(const std::string& text) {
  if (text.empty() || text.back() != '\n') return std::nullopt;
  std::vector<std::vector<std::string>> lines(1, {""});
  bool quoted = false, closed = false;
  for (std::size_t i = 0; i + 1 < text.size(); ++i) {
    const char c = text[i];
    std::string& field = lines.back().back();
    if (quoted) {
      if (c != '"') {
        field += c;
      } else if (text[i + 1] == '"') {
        field += text[++i];
      } else {
        quoted = false;
        closed = true;
      }
    } else if (c == '"') {
      if (!field.empty() || closed) return std::nullopt;
      quoted = true;
    } else if (c == ',') {
      lines.back().emplace_back();
      closed = false;
    } else if (c == '\n') {
      lines.push_back({""});
      closed = false;
    } else {
      if (closed || c == '\r') return std::nullopt;
      field += c;
    }
  }
  if (quoted) return std::nullopt;
  for (const auto& line : lines)
    if (line.size() != lines.front().size()) return std::nullopt;
  return lines;
}

class SweepPages : public Cli {
 protected:
  SweepPages() { write("wood.toml", glowing_card()); }
  Finished sweep(std::vector<std::string> arguments) const {
    std::vector<std::string> whole{"sweep", "wood.toml", "--vary", "camera.f_number=4,8,16"};
    whole.insert(whole.end(), arguments.begin(), arguments.end());
    for (const char* last : {"--size", "48x32", "--quality", "draft", "--device", "software"})
      whole.emplace_back(last);
    return run(std::move(whole));
  }
  std::string path(const std::string& name) const { return fmt::format("'{}'", (folder / name).string()); }
  // What pdftoppm and mutool say of a file that they can read whole: nothing.
  void expect_readable(const std::string& pdf) const {
    EXPECT_EQ(said_by(fmt::format("pdftoppm -r 30 -png {} {}", path(pdf), path("page"))), "");
    // Debian's build of it has no colour management, and says so.
    const std::string said =
        said_by(fmt::format("mutool draw -q -r 30 -o {} {}", path("mu%d.png"), path(pdf)));
    EXPECT_TRUE(said.empty() || said == "warning: ICC support is not available\n") << said;
    EXPECT_TRUE(exists("mu1.png"));
    const std::string fonts = said_by("pdffonts " + path(pdf));
    EXPECT_EQ(fonts.find(" no  "), std::string::npos) << fonts;  // embedded
    EXPECT_NE(fonts.find("OpenSans"), std::string::npos) << fonts;
    EXPECT_LT(read(pdf).size(), 5'000'000u);
  }
};

TEST_F(SweepPages, APdfIsReadByTwoReadersAndItsTextIsText) {
  ASSERT_EQ(sweep({"-o", "a.pdf"}).status, 0);
  expect_readable("a.pdf");
  const std::string text = said_by(fmt::format("pdftotext -layout {} -", path("a.pdf")));
  for (const char* words : {"Changed: f-number. Kept: framing; viewpoint; set and light", "f/16",
                            "A rendered picture is not a photograph."})
    EXPECT_NE(text.find(words), std::string::npos) << words << " in\n" << text;
}

TEST_F(SweepPages, AQuizHasItsAnswersOnASecondPage) {
  ASSERT_EQ(sweep({"--quiz", "-o", "a.pdf", "-o", "a.png"}).status, 0);
  expect_readable("a.pdf");
  EXPECT_TRUE(exists("a-answers.png"));
  const auto page = [&](int number) {
    return said_by(fmt::format("pdftotext -f {0} -l {0} -layout {1} -", number, path("a.pdf")));
  };
  EXPECT_NE(page(1).find("Which is which? f/4; f/8; f/16"), std::string::npos) << page(1);
  EXPECT_EQ(page(1).find("exposure"), std::string::npos) << page(1);
  for (const char* answer : {": f/4", ": f/8", ": f/16"})
    EXPECT_NE(page(2).find(answer), std::string::npos) << page(2);
}

// 16 by 9.
TEST_F(SweepPages, ASlideIsSixteenByNine) {
  ASSERT_EQ(sweep({"--paper", "slide", "-o", "a.pdf"}).status, 0);
  expect_readable("a.pdf");
  EXPECT_NE(said_by("pdfinfo " + path("a.pdf")).find("960.094 x 540 pts"), std::string::npos)
      << said_by("pdfinfo " + path("a.pdf"));
}

TEST_F(SweepPages, TheTableIsStrictAndTheJsonSaysTheSame) {
  const Finished done = sweep({"--json", "--csv", "a.csv", "-o", "a.png", "--report", "separation"});
  ASSERT_EQ(done.status, 0) << done.err;
  const auto table = strict_csv(read("a.csv"));
  ASSERT_TRUE(table.has_value()) << read("a.csv");
  ASSERT_EQ(table->size(), 4u);
  const json all = json::parse(done.out);
  EXPECT_EQ(all["changed"], json({"f-number"}));
  ASSERT_EQ(all["pictures"].size(), 3u);
  const auto column = [&](const std::string& name) {
    return static_cast<std::size_t>(std::find(table->front().begin(), table->front().end(), name) -
                                    table->front().begin());
  };
  for (std::size_t i = 0; i < 3; ++i) {
    const json& picture = all["pictures"][i];
    EXPECT_EQ(picture["picture"], (*table)[i + 1][0]);
    for (const char* name : {"lens.working_f_number", "depth.total_mm", "exposure.snr_grey"})
      EXPECT_NEAR(picture["readings"][name]["value"].get<double>() / std::stod((*table)[i + 1][column(name)]),
                  1, 1e-5)
          << name;
    EXPECT_TRUE(picture["readings"].contains("backdrop.rim_step_stops"));
  }
  EXPECT_NE(done.err.find("What would help most here"), std::string::npos) << done.err;
}

TEST_F(SweepPages, ARangeGoesInThirdsOfAStop) {
  const Finished done = run({"sweep", "wood.toml", "--vary", "camera.f_number=8..16/3", "--csv", "a.csv",
                             "-o", "a.png", "--size", "24x16", "--quality", "draft", "--device", "software"});
  ASSERT_EQ(done.status, 0) << done.err;
  const auto table = strict_csv(read("a.csv"));
  ASSERT_TRUE(table && table->size() == 4u) << read("a.csv");
  EXPECT_EQ((*table)[1][0], "f/8");
  EXPECT_EQ((*table)[2][0], "f/11");
  EXPECT_EQ((*table)[3][0], "f/16");
  EXPECT_NE(done.err.find("camera rays saved by sharing films"), std::string::npos) << done.err;
}

TEST_F(SweepPages, RefusesWhatCannotBeHeldOrShown) {
  const auto refused = [&](std::vector<std::string> arguments, const std::string& message) {
    arguments.insert(arguments.begin(), {"sweep", "wood.toml"});
    expect_refusal(arguments, message);
  };
  refused({"--vary", "lens=35,60", "--hold", "frame"},
          "--hold: 'frame'; allowed: framing, viewpoint, brightness, depth");
  refused(
      {"--vary", "lens=35,60", "--hold", "framing,viewpoint"},
      "--hold framing,viewpoint: the camera moves to keep the one and stands still for the other; hold one");
  refused({"--vary", "camera.f_number=4,8", "--hold", "depth"},
          "--hold depth: depth of field is held by the f-number, which is varied");
  refused({"--vary", "weather=fog"},
          "--vary weather=fog: 'fog' is no weather; allowed: overcast, rain, haze, sun");
  refused({"--vary", "hour=25"},
          "--vary hour=25: '25' is no hour of the day (8 or 10:30, UTC); allowed: 0 to 23");
  refused({"--vary", "distance_cm.torch=10"},
          "--vary distance_cm.torch=10: there is no source 'torch'; the scene has none");
  refused({"--vary", "camera.focal_length_mm=35..90"},
          "--vary camera.focal_length_mm=35..90: a range goes in thirds of a stop, of camera.f_number, "
          "exposure.shutter_s, exposure.iso and a source's power_pct; write a list");
  refused({"--vary", "camera.f_number=4,8", "--box", "0.5"},
          "--box 0.5: write the middle as X,Y, each 0 to 1 of the frame from the upper left, or none");
  expect_refusal(
      {"lesson", "depth"},
      "there is no lesson 'depth'; allowed: f_number, scale, formats, backdrop, near_lamp, soft_light, "
      "stack, litter");
}

TEST_F(SweepPages, LessonsAreListedAndWriteTheirVariants) {
  const Finished list = run({"lesson"});
  EXPECT_EQ(list.status, 0);
  for (const char* name :
       {"f_number", "scale", "formats", "backdrop", "near_lamp", "soft_light", "stack", "litter"})
    EXPECT_NE(list.out.find(fmt::format("{} ", name)), std::string::npos) << list.out;
  const Finished done = run({"lesson", "backdrop", "--variants", "b.toml"});
  ASSERT_EQ(done.status, 0) << done.err;
  const std::string text = read("b.toml");
  EXPECT_NE(text.find("\"camera.focal_length_mm\" = 180"), std::string::npos);
  EXPECT_EQ(run({"check", "b.toml"}).status, 0);
  EXPECT_EQ(run({"check", "b.toml", "--variant", "180 mm"}).status, 0);
}

}  // namespace
}  // namespace undercap
