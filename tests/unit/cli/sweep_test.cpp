// Sheets as files: what is in them, what is refused, what is left.
#include <fmt/format.h>
#include <signal.h>

#include <algorithm>

#include "engine/image/png.h"
#include "tests/unit/cli/set_up.h"

namespace undercap {
namespace {

using Names = std::vector<std::string>;

// The glowing card with two variants: at half, and with another lens.
std::string card_with_variants() {
  return glowing_card() +
         "[[variant]]\n"
         "name = \"half\"\n"
         "change = { \"prop.card.material.surface.emission_cd_m2\" = 50 }\n"
         "[[variant]]\n"
         "name = \"60 mm\"\n"
         "change = { \"camera.focal_length_mm\" = 60 }\n";
}

class Sweep : public Cli {
 protected:
  Finished sweep(std::vector<std::string> arguments, ChildOptions options = {}) const {
    std::vector<std::string> whole{"sweep", "wood.toml"};
    whole.insert(whole.end(), arguments.begin(), arguments.end());
    for (const char* last : {"--size", "32x32", "--quality", "draft", "--device", "software"})
      whole.emplace_back(last);
    return run(std::move(whole), std::move(options));
  }
};

TEST_F(Sweep, WritesASheetAndATableAndRepeatsThem) {
  write("wood.toml", card_with_variants());
  const Finished first =
      sweep({"--vary", "variant=base,half", "-o", "a.png", "-o", "a.pdf", "--csv", "a.csv"});
  ASSERT_EQ(first.status, 0) << first.err;
  EXPECT_EQ(first.out, "");
  EXPECT_NE(first.err.find("wood.toml: 2 pictures, 32 x 32 pixels on "), std::string::npos) << first.err;
  EXPECT_NE(first.err.find("wrote a.pdf: 2 pictures"), std::string::npos) << first.err;
  EXPECT_TRUE(read("a.pdf").starts_with("%PDF-1."));
  const DecodedPng png = decode_png(read("a.png"));
  EXPECT_TRUE(png.is_srgb);
  EXPECT_GT(png.picture.width, png.picture.height);
  EXPECT_TRUE(std::any_of(png.texts.begin(), png.texts.end(), [](const auto& text) {
    return text.first == "Scene" && text.second == card_with_variants();
  }));
  // The shutter of half the light is twice as long; nothing else shines on the card.
  const std::string table = read("a.csv");
  EXPECT_EQ(std::count(table.begin(), table.end(), '\n'), 3);
  EXPECT_TRUE(table.ends_with("\n"));
  const auto shutter_of = [&](const std::string& name) {
    const std::size_t begin = table.find("\n" + name + ",");
    std::string line = table.substr(begin + 1, table.find('\n', begin + 1) - begin - 1);
    for (int fields = 0; fields < 12; ++fields) line = line.substr(line.find(',') + 1);
    return std::stod(line);
  };
  EXPECT_NEAR(shutter_of("half") / shutter_of("base"), 2, 1e-3);
  EXPECT_EQ(sweep({"--vary", "variant=base,half", "-o", "b.png", "-o", "b.pdf", "--csv", "b.csv"}).status, 0);
  EXPECT_EQ(read("a.png"), read("b.png"));
  EXPECT_EQ(read("a.pdf"), read("b.pdf"));
  EXPECT_EQ(read("a.csv"), read("b.csv"));
  EXPECT_EQ(names(), (Names{"a.csv", "a.pdf", "a.png", "b.csv", "b.pdf", "b.png", "wood.toml"}));
}

TEST_F(Sweep, WithoutAnOutputTheSheetHasTheScenesName) {
  write("wood.toml", card_with_variants());
  const Finished finished = sweep({"--vary", "variant=60 mm", "--quiet", "--filtered"});
  EXPECT_EQ(finished.status, 0);
  EXPECT_EQ(finished.err, "");
  EXPECT_EQ(names(), (Names{"wood-sheet.png", "wood.toml"}));
}

TEST_F(Sweep, Refusals) {
  write("wood.toml", card_with_variants());
  write("plain.toml", glowing_card());
  expect_refusal({"sweep"}, "sweep needs a scene: a file, or a name that 'undercap scenes' lists");
  expect_refusal({"sweep", "wood.toml"}, "sweep needs --vary, for example --vary variant=all");
  expect_refusal({"sweep", "wood.toml", "--vary", "camera.f_number=4,8"},
                 "--vary camera.f_number=4,8: only variants can be varied: write variant=all, or "
                 "variant=NAME,NAME");
  expect_refusal({"sweep", "wood.toml", "--vary", "variant=half,third"},
                 "--vary variant=half,third: there is no variant 'third'; allowed: all, or of these, with "
                 "commas: base, half, 60 mm");
  expect_refusal({"sweep", "wood.toml", "--vary", "variant="},
                 "--vary variant=: there is no variant ''; allowed: all, or of these, with commas: base, "
                 "half, 60 mm");
  expect_refusal({"sweep", "wood.toml", "--vary", "variant=half,half"},
                 "--vary variant=half,half: 'half' is named twice");
  expect_refusal({"sweep", "plain.toml", "--vary", "variant=all"},
                 "--vary variant=all: the scene has no variants");
  expect_refusal({"sweep", "wood.toml", "--vary", "variant=all", "-o", "a.exr"},
                 "-o 'a.exr': the ending says the format; allowed: .png, .pdf");
  expect_refusal({"sweep", "wood.toml", "--vary", "variant=all", "--csv", "a.txt"},
                 "--csv 'a.txt': the ending says the format; allowed: .csv");
  expect_refusal({"sweep", "wood.toml", "--vary", "variant=all", "--variant", "half"},
                 "unknown option '--variant'; 'undercap sweep --help' lists the options");
  write("a.pdf", "old");
  const Finished refused = run({"sweep", "wood.toml", "--vary", "variant=all", "-o", "a.pdf"});
  EXPECT_EQ(refused.status, 1);
  EXPECT_NE(refused.err.find("--force"), std::string::npos) << refused.err;
  EXPECT_EQ(read("a.pdf"), "old");
  EXPECT_EQ(sweep({"--vary", "variant=half", "-o", "a.pdf", "--force"}).status, 0);
  EXPECT_TRUE(read("a.pdf").starts_with("%PDF-1."));
}

// Twenty-four pictures are a sheet; more are refused before the first is rendered.
TEST_F(Sweep, TooManyPictures) {
  std::string text = glowing_card();
  for (char letter = 'a'; letter <= 'y'; ++letter)
    text += fmt::format("[[variant]]\nname = \"{}\"\nchange = {{ \"camera.f_number\" = 8 }}\n", letter);
  write("wood.toml", text);
  expect_refusal({"sweep", "wood.toml", "--vary", "variant=all"},
                 "--vary variant=all: these are 25 pictures; a sheet holds up to 24: name some of them");
}

// A font list without Open Sans: trouble with the machine, told before any work.
TEST_F(Sweep, WithoutTheTypefaceItSaysWhatToInstall) {
  write("wood.toml", card_with_variants());
  write("fonts.conf", "<?xml version=\"1.0\"?><fontconfig><dir>/nowhere</dir></fontconfig>\n");
  ChildOptions options;
  options.environment = {"FONTCONFIG_FILE=" + (folder / "fonts.conf").string()};
  const Finished finished = sweep({"--vary", "variant=half"}, options);
  EXPECT_EQ(finished.status, 2);
  EXPECT_NE(
      finished.err.find("undercap: the typeface Open Sans, which sheets are set in, is not installed; on "
                        "Debian: apt-get install fonts-open-sans\n"),
      std::string::npos)
      << finished.err;
  EXPECT_FALSE(exists("wood-sheet.png"));
}

TEST_F(Sweep, AnInterruptLeavesNothing) {
  write("wood.toml", card_with_variants());
  ChildOptions options;
  options.watch = [](const std::string& err) {
    return err.find("32 x 32 pixels") == std::string::npos ? 0 : SIGINT;
  };
  const Finished finished = run({"sweep", "wood.toml", "--vary", "variant=all", "--size", "32x32",
                                 "--quality", "fine", "--device", "software"},
                                options);
  EXPECT_EQ(finished.status, 130);
  EXPECT_EQ(names(), (Names{"wood.toml"}));
}

}  // namespace
}  // namespace undercap
