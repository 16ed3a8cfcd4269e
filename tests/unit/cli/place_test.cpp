// Where to hold a lamp, asked from outside: answers, tables, sheets, and what is refused.
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "engine/image/png.h"
#include "tests/unit/cli/set_up.h"

namespace undercap {
namespace {

using Names = std::vector<std::string>;
using nlohmann::json;

// A card of 2 cm that faces the camera, under an even sky, and a torch.
std::string card_and_torch() {
  return "undercap = 1\n"
         "[ground]\n"
         "kind = \"none\"\n"
         "[sky]\n"
         "model = \"uniform\"\n"
         "horizontal_lx = 100\n"
         "[camera]\n"
         "barrel_mm = 0\n"
         "position_m = [0, -0.5, 0]\n"
         "look_at = [0, 0, 0]\n"
         "f_number = 16\n"
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
         "flux_lm = 100\n"
         "beam_deg = 120\n";
}

class Place : public Cli {
 protected:
  Place() { write("wood.toml", card_and_torch()); }
  Finished place(std::vector<std::string> arguments) const {
    std::vector<std::string> whole{"place", "wood.toml"};
    whole.insert(whole.end(), arguments.begin(), arguments.end());
    for (const char* last :
         {"--size", "96x64", "--quality", "draft", "--offers", "1", "--device", "software"})
      whole.emplace_back(last);
    return run(std::move(whole));
  }
  void refused(std::vector<std::string> arguments, const std::string& message) const {
    arguments.insert(arguments.begin(), {"place", "wood.toml"});
    expect_refusal(arguments, message);
  }
};

TEST_F(Place, Help) {
  const Finished help = run({"place", "--help"});
  EXPECT_EQ(help.status, 0);
  EXPECT_EQ(help.err, "");
  for (const char* option : {"--source", "--target", "--rise", "--spill", "--hand", "--offers", "--csv"})
    EXPECT_NE(help.out.find(option), std::string::npos) << option;
}

TEST_F(Place, AnswersInWordsWithATableAndASheet) {
  const Finished done = place({"--csv", "a.csv", "-o", "a.png", "-o", "a.pdf"});
  ASSERT_EQ(done.status, 0) << done.err;
  EXPECT_TRUE(done.out.starts_with("A  ")) << done.out;
  EXPECT_NE(done.out.find("rise predicted +1.00, rendered +"), std::string::npos) << done.out;
  EXPECT_EQ(done.out.find("\nB  "), std::string::npos);
  EXPECT_EQ(names(), (Names{"a.csv", "a.pdf", "a.png", "wood.toml"}));
  EXPECT_TRUE(decode_png(read("a.png")).is_srgb);
  EXPECT_TRUE(read("a.pdf").starts_with("%PDF-1."));
  const std::string table = read("a.csv");
  EXPECT_TRUE(table.starts_with("x_m,y_m,z_m,clock,distance_cm,")) << table.substr(0, 200);
  EXPECT_TRUE(table.substr(0, table.find('\n')).ends_with(",hidden,limits"));
  EXPECT_EQ(std::count(table.begin(), table.end(), '\n'), 4096 + 1);
  EXPECT_TRUE(table.ends_with("\n"));
}

TEST_F(Place, AnswersInJson) {
  const Finished done = place({"--json", "--quiet"});
  ASSERT_EQ(done.status, 0) << done.err;
  EXPECT_EQ(done.err, "");
  EXPECT_EQ(names(), (Names{"wood-light.png", "wood.toml"}));
  const json answer = json::parse(done.out);
  EXPECT_EQ(answer.at("source"), "torch");
  EXPECT_EQ(answer.at("places_tried"), 4096);
  EXPECT_TRUE(answer.at("relax_first").is_null());
  ASSERT_EQ(answer.at("offers").size(), 1u);
  const json& offer = answer["offers"][0];
  EXPECT_EQ(offer.at("predicted_rise_stops"), 1);
  EXPECT_NEAR(offer.at("rendered_rise_stops").get<double>(), 1,
              4 * offer.at("rendered_rise_se_stops").get<double>() + .02);
  EXPECT_GT(offer.at("power_pct").get<double>(), 0);
  EXPECT_LE(offer.at("power_pct").get<double>(), 100);
}

// A thousandth of a lumen does not do it. That is an answer, and what would do is said; a table is written
// all the same, a sheet of nothing is not.
TEST_F(Place, AnImpossibleWishIsAnswered) {
  const std::vector<std::string> faint{"--set", "source.torch.flux_lm=0.001"};
  const Finished done = place({faint[0], faint[1], "--csv", "a.csv"});
  ASSERT_EQ(done.status, 0) << done.err;
  EXPECT_TRUE(done.out.starts_with("No place does it: ")) << done.out;
  EXPECT_NE(done.out.find("more power than the lamp has"), std::string::npos) << done.out;
  EXPECT_NE(done.out.find("\nRelax first:\n  - bring a lamp "), std::string::npos) << done.out;
  EXPECT_NE(done.out.find(" stops stronger\n"), std::string::npos) << done.out;
  EXPECT_NE(done.out.find("then this would do: "), std::string::npos) << done.out;
  EXPECT_EQ(names(), (Names{"a.csv", "wood.toml"}));
}

TEST_F(Place, WithoutALampAPocketTorchIsTried) {
  const std::string all = card_and_torch();
  write("wood.toml", all.substr(0, all.find("[[source]]")));
  const Finished done = place({"--json"});
  ASSERT_EQ(done.status, 0) << done.err;
  EXPECT_NE(done.err.find("note: the scene has no lamp; a pocket torch is tried: 400 lm, 60 degrees, 25 mm"),
            std::string::npos)
      << done.err;
  EXPECT_EQ(json::parse(done.out).at("source"), "torch");
}

TEST_F(Place, RefusesWords) {
  expect_refusal({"place"}, "place needs a scene: a file, or a name that 'undercap scenes' lists");
  refused({"--target", "card/"}, "--target 'card/'; allowed: prop, prop/part or prop.2/part");
  refused({"--near", "0.5", "--far", "0.4"}, "--near 0.5 is not below --far 0.4");
  refused({"--noise", "1"}, "place takes its samples by --quality: leave --noise and --seconds out");
  refused({"-o", "a.exr"}, "-o 'a.exr': the ending says the format; allowed: .png, .pdf");
  refused({"--csv", "a.txt"}, "--csv 'a.txt': the ending says the format; allowed: .csv");
  const auto one_line = [&](std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), {"place", "wood.toml"});
    const Names before = names();
    const Finished done = run(arguments);
    EXPECT_EQ(done.status, 1) << arguments.back();
    EXPECT_EQ(done.out, "");
    EXPECT_TRUE(done.err.starts_with("undercap: ")) << done.err;
    EXPECT_NE(done.err.find(arguments[2]), std::string::npos) << done.err;
    EXPECT_EQ(std::count(done.err.begin(), done.err.end(), '\n'), 1) << done.err;
    EXPECT_EQ(names(), before);
  };
  one_line({"--rise", "0"});
  one_line({"--rise", "much"});
  one_line({"--spill", "-1"});
  one_line({"--over", "moon"});
  one_line({"--sort", "beauty"});
  one_line({"--aim", "sky"});
  one_line({"--offers", "12"});
  one_line({"--offers", "1.5"});
  one_line({"--least-angle", "181"});
  one_line({"--wher", "1"});
}

TEST_F(Place, RefusesWhatIsNotThere) {
  const auto sorry = [&](const std::vector<std::string>& arguments, const std::string& message) {
    const Names before = names();
    const Finished done = place(arguments);
    EXPECT_EQ(done.status, 1);
    EXPECT_EQ(done.out, "");
    EXPECT_NE(done.err.find("undercap: " + message + "\n"), std::string::npos) << done.err;
    EXPECT_EQ(names(), before);
  };
  sorry({"--source", "lamp"}, "there is no source 'lamp'; the scene's sources: torch");
  sorry({"--target", "cap"}, "the target 'cap' has no surface in this scene; there are: card/surface");
  sorry({"--set", "camera.look_at=[0, -1, 0]", "--set", "camera.focus_distance_m=1"},
        "the camera sees nothing of the target; choose another target, or move the camera");
  sorry({"--set", "sky.model=off"},
        "the target gets no light without the lamp, so that no lamp raises it by stops; turn sky or sun on");
}

TEST_F(Place, NothingThatExistsIsReplaced) {
  for (const char* name : {"a.png", "a.csv", "wood-light.png"}) write(name, "old");
  const auto kept = [&](const std::vector<std::string>& arguments, const std::string& name) {
    const Names before = names();
    const Finished done = place(arguments);
    EXPECT_EQ(done.status, 1) << name;
    EXPECT_NE(done.err.find(name + ": exists already; name another file or add --force to replace it"),
              std::string::npos)
        << done.err;
    EXPECT_EQ(read(name), "old");
    EXPECT_EQ(names(), before);
  };
  kept({"-o", "b.png", "--csv", "a.csv"}, "a.csv");
  kept({"-o", "b.png", "-o", "a.png"}, "a.png");
  kept({}, "wood-light.png");
}

}  // namespace
}  // namespace undercap
