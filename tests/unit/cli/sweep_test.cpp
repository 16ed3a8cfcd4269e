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

std::vector<std::string> fields_of(const std::string& line) {
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (const char c : line) {
    quoted = quoted != (c == '"');
    if (c == ',' && !quoted)
      fields.emplace_back();
    else if (c != '"')
      fields.back() += c;
  }
  return fields;
}

// A number of a table, by the picture's name and the column's.
double field(const std::string& table, const std::string& picture, const std::string& column) {
  const std::vector<std::string> names = fields_of(table.substr(0, table.find('\n')));
  for (std::size_t begin = 0; begin < table.size(); begin = table.find('\n', begin) + 1) {
    const std::vector<std::string> fields = fields_of(table.substr(begin, table.find('\n', begin) - begin));
    const auto at = std::find(names.begin(), names.end(), column) - names.begin();
    if (fields[0] == picture && at < static_cast<std::ptrdiff_t>(fields.size()))
      return std::stod(fields[static_cast<std::size_t>(at)]);
  }
  ADD_FAILURE() << "no " << column << " of '" << picture << "' in\n" << table;
  return 0;
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
  EXPECT_NEAR(field(table, "half", "shutter_s") / field(table, "base", "shutter_s"), 2, 1e-3);
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

TEST_F(Sweep, RefusesWhatCannotBeVaried) {
  write("wood.toml", card_with_variants());
  const auto refused = [&](std::vector<std::string> arguments, const std::string& message) {
    arguments.insert(arguments.begin(), {"sweep", "wood.toml"});
    expect_refusal(arguments, message);
  };
  for (const char* vary : {"camera.f_number", "=4,8"})
    refused({"--vary", vary},
            fmt::format("--vary {}: write what is varied and its values, for example variant=all, "
                        "camera.f_number=4,8,16 or format=36x24,17.3x13",
                        vary));
  refused({"--vary", "camera.f_number=4,,8"}, "--vary camera.f_number=4,,8: a value is missing");
  refused({"--vary", "camera.f_number=4,8,4"}, "--vary camera.f_number=4,8,4: '4' is named twice");
  refused({"--vary", "camera.f_number=4,99"},
          "--vary camera.f_number=99: camera.f_number is 99; allowed: a number from 0.7 to 64");
  for (const char* format : {"36", "36x", "x24", "36x24mm", "36x2.9", "131x24", "36x-24", "36 x 24"})
    refused({"--vary", fmt::format("format={}", format)},
            fmt::format("--vary format={0}: '{0}' is no format; write width x height in mm, 3 to 130 each, "
                        "for example format=36x24,17.3x13",
                        format));
  refused({"--vary", "format=36x24", "--vary", "same=pupil,size"},
          "--vary same=pupil,size: 'size'; allowed: f_number, pupil, best, rule");
  refused({"--vary", "format=36x24", "--same", "size"},
          "--same: 'size'; allowed: f_number, pupil, best, rule");
  refused({"--vary", "format=36x24", "--match", "area"}, "--match: 'area'; allowed: diagonal, width, height");
  const std::string formats_needed =
      "'same' and --match say how formats compare; add --vary format=36x24,17.3x13, say";
  refused({"--vary", "same=pupil,rule"}, formats_needed);
  refused({"--vary", "variant=all", "--same", "pupil"}, formats_needed);
  refused({"--vary", "variant=all", "--match", "width"}, formats_needed);
}

TEST_F(Sweep, RefusesGridsThatNoSheetHolds) {
  write("wood.toml", card_with_variants());
  const auto refused = [&](std::vector<std::string> arguments, const std::string& message) {
    arguments.insert(arguments.begin(), {"sweep", "wood.toml"});
    expect_refusal(arguments, message);
  };
  refused({"--vary", "variant=all", "--vary", "camera.f_number=4,8", "--vary", "exposure.iso=100,200"},
          "--vary is given 3 times; a sheet shows one or two things varied: leave some out");
  refused({"--vary", "camera.f_number=4,8", "--vary", "camera.f_number=5.6,11"},
          "--vary camera.f_number=5.6,11: the same thing twice; put its values in one list");
  refused(
      {"--vary", "camera.f_number=2,4,5.6,8,11,16,22", "--vary", "exposure.iso=100,200,400,800,1600,3200"},
      "--vary camera.f_number=2,4,5.6,8,11,16,22: these are 42 pictures; a sheet holds up to 36: name some "
      "of them");
}

// From 90 mm f/5.6 on 23.5 x 15.6 mm at .6 m: m = 1 / (.6 / .09 - 1), 133.17 mm wide. On 36 x 24 mm, matched
// by width, k = 36 / 23.5: with the same entrance pupil, 90 / 5.6 mm, N_w = k x 5.6 (1 + m); by the rule
// f/(5.6 k), and the depth of field is (1 + k m) / (1 + m) of the other's (derived; equivalence.h). 1e-5: the
// six digits of the table.
TEST_F(Sweep, FormatsShareWhatTheyAreToldTo) {
  write("wood.toml", glowing_card());
  const Finished finished = sweep({"--vary", "format=36x24", "--vary", "same=pupil,rule", "--match", "width",
                                   "-o", "a.png", "--csv", "a.csv"});
  ASSERT_EQ(finished.status, 0) << finished.err;
  const std::string table = read("a.csv"), pupil = "36 x 24 mm, same pupil",
                    rule = "36 x 24 mm, by the crop rule";
  const double k = 36 / 23.5, m = 1 / (.6 / .09 - 1);
  EXPECT_EQ(std::count(table.begin(), table.end(), '\n'), 3);
  for (const std::string& picture : {pupil, rule})
    EXPECT_NEAR(field(table, picture, "lens.frame_width_mm") / (23.5 / m), 1, 1e-5);
  EXPECT_NEAR(field(table, pupil, "lens.focal_length_mm") / field(table, pupil, "f_number") / (90 / 5.6), 1,
              1e-5);
  EXPECT_NEAR(field(table, pupil, "lens.working_f_number") / (k * 5.6 * (1 + m)), 1, 1e-5);
  EXPECT_NEAR(field(table, rule, "f_number") / (5.6 * k), 1, 1e-5);
  EXPECT_NEAR(field(table, rule, "depth.total_mm") / field(table, pupil, "depth.total_mm"),
              (1 + k * m) / (1 + m), 2e-5);
}

// Thirty-six pictures are a sheet; more are refused before the first is rendered.
TEST_F(Sweep, TooManyPictures) {
  std::string text = glowing_card();
  for (int i = 0; i < 37; ++i)
    text += fmt::format("[[variant]]\nname = \"v{}\"\nchange = {{ \"camera.f_number\" = 8 }}\n", i);
  write("wood.toml", text);
  expect_refusal({"sweep", "wood.toml", "--vary", "variant=all"},
                 "--vary variant=all: these are 37 pictures; a sheet holds up to 36: name some of them");
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
