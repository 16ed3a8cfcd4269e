// Pictures as files: what is in them, that they repeat, and what is left when the work is cut short.
#include <langinfo.h>
#include <locale.h>
#include <signal.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "engine/image/exr.h"
#include "engine/image/png.h"
#include "tests/unit/cli/set_up.h"

namespace undercap {
namespace {

using Names = std::vector<std::string>;

TEST_F(Cli, RenderWritesPngAndExrAndRepeatsThem) {
  write("wood.toml", glowing_card());
  const Finished first = draft({"wood.toml", "-o", "a.png", "-o", "a.exr", "--json"});
  ASSERT_EQ(first.status, 0) << first.err;
  const auto report = nlohmann::json::parse(first.out);
  EXPECT_EQ(report.at("files"), nlohmann::json({"a.png", "a.exr"}));
  EXPECT_EQ(report.at("complete"), true);
  const DecodedPng png = decode_png(read("a.png"));
  EXPECT_EQ(png.picture.width, 32);
  EXPECT_TRUE(png.is_srgb);
  const auto scene = std::find_if(png.texts.begin(), png.texts.end(),
                                  [](const auto& text) { return text.first == "Scene"; });
  ASSERT_NE(scene, png.texts.end());
  EXPECT_EQ(scene->second, glowing_card());
  // Linear .18 is code 255 (1.055 x .18^(1/2.4) - .055) = 117.6 (IEC 61966-2-1); cos^4 moves it by less than
  // 2 codes here.
  EXPECT_NEAR(png.picture.rgb[3 * (16 * 32 + 16)], 117.6, 2.0);
  const auto exr = decode_exr(read("a.exr"));
  ASSERT_EQ(exr.size(), 2U);
  EXPECT_EQ(exr[0].name, "mix");
  EXPECT_EQ(exr[1].name, "glow");
  EXPECT_NEAR(exr[0].picture.rgb[3 * (16 * 32 + 16)], 100, 1e-3);
  EXPECT_EQ(draft({"wood.toml", "-o", "b.png", "-o", "b.exr"}).status, 0);
  EXPECT_EQ(read("a.png"), read("b.png"));
  EXPECT_EQ(read("a.exr"), read("b.exr"));
  EXPECT_EQ(names(), (Names{"a.exr", "a.png", "b.exr", "b.png", "wood.toml"}));
}

// The filter is for the eye: it changes no byte of an EXR, and a filtered PNG says so.
TEST_F(Cli, AFilteredPictureIsMarkedAndAnExrStaysRaw) {
  write("wood.toml", glowing_card());
  EXPECT_EQ(draft({"wood.toml", "-o", "raw.png", "-o", "raw.exr"}).status, 0);
  const Finished finished = draft({"wood.toml", "-o", "a.png", "-o", "a.exr", "--filtered", "--json"});
  ASSERT_EQ(finished.status, 0) << finished.err;
  EXPECT_EQ(nlohmann::json::parse(finished.out).at("filtered"), true);
  EXPECT_NE(finished.err.find("wrote a.png, filtered: 16 samples a pixel"), std::string::npos)
      << finished.err;
  EXPECT_NE(finished.err.find("wrote a.exr: 16 samples a pixel"), std::string::npos) << finished.err;
  EXPECT_EQ(read("a.exr"), read("raw.exr"));
  const auto mark = [&](const std::string& file) {
    const DecodedPng png = decode_png(read(file));
    return std::count_if(png.texts.begin(), png.texts.end(),
                         [](const auto& text) { return text.first == "Filtered"; });
  };
  EXPECT_EQ(mark("a.png"), 1);
  EXPECT_EQ(mark("raw.png"), 0);
  const Finished refused = draft({"wood.toml", "-o", "b.exr", "--filtered"});
  EXPECT_EQ(refused.status, 1);
  EXPECT_NE(refused.err.find("--filtered is for a .png; an .exr is always raw: leave --filtered out, or add "
                             "-o NAME.png"),
            std::string::npos)
      << refused.err;
}

TEST_F(Cli, PathsWithBlanksAndLettersOfManyKinds) {
  const std::string scene = "b\xc3\xa4r lauch \xe8\x8c\xb8.toml",
                    picture = "b\xc3\xa4r lauch \xe8\x8c\xb8.png";
  write(scene, glowing_card());
  const Finished finished = draft({scene});  // without -o: beside us, with the scene's name
  EXPECT_EQ(finished.status, 0) << finished.err;
  EXPECT_EQ(finished.out, "");
  EXPECT_NE(finished.err.find("wrote " + picture + ": 16 samples a pixel"), std::string::npos)
      << finished.err;
  EXPECT_EQ(names(), (Names{picture, scene}));
}

TEST_F(Cli, NoLightMakesABlackPictureAndSaysSo) {
  write("dark.toml", replaced(glowing_card(), "emission_cd_m2 = 100", "emission_cd_m2 = 0"));
  const Finished finished = draft({"dark.toml"});
  EXPECT_EQ(finished.status, 0);
  EXPECT_NE(finished.err.find("note: exposure.shutter_s: no light is on, so the picture is black and the "
                              "meter has no say; 1 s is used\n"),
            std::string::npos)
      << finished.err;
  const DecodedPng png = decode_png(read("dark.png"));
  EXPECT_TRUE(
      std::all_of(png.picture.rgb.begin(), png.picture.rgb.end(), [](auto code) { return code == 0; }));
}

TEST_F(Cli, ACameraInsideAPropRenders) {
  write("inside.toml", replaced(replaced(glowing_card(), "kind = \"card\"", "kind = \"box\""),
                                "size_mm = [300, 300]", "size_mm = [2000, 2000, 2000]"));
  const Finished finished = draft({"inside.toml", "--set", "camera.focus_distance_m=1"});
  EXPECT_EQ(finished.status, 0) << finished.err;
}

// A comma-decimal locale must not change a number in or out. The test makes the locale in its own folder.
TEST_F(Cli, AnyLocaleGivesTheSameBytes) {
  const std::string made = (folder / "de_DE.UTF-8").string();
  ASSERT_EQ(std::system(("localedef -i de_DE -f UTF-8 '" + made + "'").c_str()), 0);
  ASSERT_EQ(::setenv("LOCPATH", folder.c_str(), 1), 0);
  const locale_t comma = newlocale(LC_ALL_MASK, "de_DE.UTF-8", nullptr);
  ASSERT_NE(comma, nullptr);
  EXPECT_STREQ(nl_langinfo_l(RADIXCHAR, comma), ",");
  freelocale(comma);
  write("wood.toml", glowing_card());
  EXPECT_EQ(draft({"wood.toml", "-o", "a.png"}).status, 0);
  EXPECT_EQ(draft({"wood.toml", "-o", "b.png"},
                  {.folder = {},
                   .environment = {"LC_ALL=de_DE.UTF-8", "LOCPATH=" + folder.string()},
                   .out_file = {},
                   .watch = {}})
                .status,
            0);
  ::unsetenv("LOCPATH");
  EXPECT_EQ(read("a.png"), read("b.png"));
}

TEST_F(Cli, AnInterruptKeepsWhatIsComplete) {
  write("wood.toml", glowing_card());
  ChildOptions options;
  options.watch = [](const std::string& err) {
    if (err.find("exposed: ") == std::string::npos) return 0;
    ::usleep(200'000);  // well into the sampling, which would go on for a minute
    return SIGINT;
  };
  const auto start = std::chrono::steady_clock::now();
  const Finished finished = draft({"wood.toml", "-o", "kept.png", "--seconds", "60"}, options);
  EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(30));
  EXPECT_EQ(finished.status, 130);
  EXPECT_NE(finished.err.find("stopped early"), std::string::npos) << finished.err;
  EXPECT_EQ(names(), (Names{"kept.png", "wood.toml"}));
  EXPECT_NEAR(decode_png(read("kept.png")).picture.rgb[3 * (16 * 32 + 16)], 117.6, 2.0);
}

TEST_F(Cli, AnInterruptBeforeThePictureLeavesNothing) {
  write("wood.toml", glowing_card());
  ChildOptions options;
  options.watch = [](const std::string& err) {
    return err.find("32 x 32 pixels") == std::string::npos ? 0 : SIGINT;
  };
  const Finished finished =
      run({"render", "wood.toml", "--size", "32x32", "--quality", "fine", "--device", "software"}, options);
  EXPECT_EQ(finished.status, 130);
  EXPECT_EQ(names(), (Names{"wood.toml"}));
}

}  // namespace
}  // namespace undercap
