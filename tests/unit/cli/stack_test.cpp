// Stacks as files: the plan in words and as JSON, what is refused, what is left.
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "engine/image/png.h"
#include "tests/unit/cli/set_up.h"

namespace undercap {
namespace {

using Names = std::vector<std::string>;

// Two glowing cards side by side, one 10 mm before the plane in focus and one 20 mm behind it: 90 mm at m =
// .18, whose frame is sharp over 8 mm.
std::string two_cards(const std::string& more = {}) {
  std::string text =
      "undercap = 1\n[ground]\nkind = \"none\"\n[sky]\nmodel = \"off\"\n[exposure]\nshutter_s = 0.05\n" +
      more + "[camera]\nposition_m = [0, -0.6, 0]\nlook_at = [0, 0, 0]\nbarrel_mm = 0\n";
  for (const auto& [name, x, y] : {std::tuple{"front", -.035, -.01}, {"back", .035, .02}})
    text += fmt::format(
        "[[prop]]\nname = \"{}\"\nkind = \"card\"\nat_m = [{}, {}, 0]\nsize_mm = [50, 50]\n"
        "material.surface = {{ emission_cd_m2 = 100 }}\n",
        name, x, y);
  return text;
}
const std::string both = "[subject]\nparts = [\"front\", \"back\"]\n";

class Stack : public Cli {
 protected:
  Finished stack(std::vector<std::string> arguments, ChildOptions options = {}) const {
    std::vector<std::string> whole{"stack", "wood.toml"};
    whole.insert(whole.end(), arguments.begin(), arguments.end());
    for (const char* last : {"--quality", "draft", "--device", "software"}) whole.emplace_back(last);
    return run(std::move(whole), std::move(options));
  }
  nlohmann::json plan(std::vector<std::string> arguments) const {
    arguments.insert(arguments.end(), {"--plan", "--json"});
    const Finished finished = stack(std::move(arguments));
    EXPECT_EQ(finished.status, 0) << finished.err;
    return nlohmann::json::parse(finished.out);
  }
};

// Frames go from near to far over both cards, and each next one begins where 'overlap' of the last one's
// sharp zone is left, in vergence 1/D, in which a zone is even about its focus; the last may overlap more.
// The numbers are printed with all their digits.
TEST_F(Stack, ThePlanOverlapsAsTheSceneSays) {
  std::size_t before = 0;
  for (const double overlap : {.1, .3, .5}) {
    write("wood.toml", two_cards(both + fmt::format("[stack]\noverlap = {}\n", overlap)));
    const nlohmann::json root = plan({"--set", "camera.f_number=4"}), &frames = root["frames"];
    ASSERT_GE(frames.size(), 4u);
    EXPECT_GT(frames.size(), before);
    before = frames.size();
    EXPECT_LT(frames.front()["near_mm"].get<double>(), -9);
    EXPECT_GT(frames.back()["far_mm"].get<double>(), 19);
    for (std::size_t k = 0; k < frames.size(); ++k) {
      const auto distance = [&](std::size_t i, const char* name) {
        const nlohmann::json& frame = frames[i];
        return frame[name].get<double>() + frame["pupil_distance_mm"].get<double>() -
               frame["plane_mm"].get<double>();
      };
      EXPECT_EQ(frames[k]["rail_mm"], 0);
      EXPECT_LT(distance(k, "near_mm"), distance(k, "plane_mm"));
      EXPECT_LT(distance(k, "plane_mm"), distance(k, "far_mm"));
      if (k + 1 == frames.size()) break;
      EXPECT_LT(frames[k]["plane_mm"], frames[k + 1]["plane_mm"]);
      EXPECT_GT(frames[k]["magnification"], frames[k + 1]["magnification"]);
      const double near = 1 / distance(k, "near_mm"), far = 1 / distance(k, "far_mm");
      const double shared = (1 / distance(k + 1, "near_mm") - far) / (near - far);
      if (k + 2 == frames.size())
        EXPECT_GE(shared, overlap - 1e-6) << k;
      else
        EXPECT_NEAR(shared, overlap, 1e-6) << k;
    }
    // One exposure a frame and two seconds between.
    const auto count = static_cast<double>(frames.size());
    EXPECT_NEAR(root["seconds"].get<double>(), count * .05 + (count - 1) * 2, 1e-9);
  }
  EXPECT_EQ(names(), Names{"wood.toml"});
}

// On a rail the camera goes forward in equal steps and the scale stays.
TEST_F(Stack, TheRailKeepsTheScale) {
  write("wood.toml", two_cards(both));
  const nlohmann::json frames = plan({"--rail"})["frames"];
  ASSERT_GE(frames.size(), 4u);
  const double step = frames[1]["rail_mm"].get<double>() - frames[0]["rail_mm"].get<double>();
  EXPECT_GT(step, 0);
  for (std::size_t k = 1; k < frames.size(); ++k) {
    EXPECT_NEAR(frames[k]["rail_mm"].get<double>() - frames[k - 1]["rail_mm"].get<double>(), step, 1e-9);
    EXPECT_NEAR(frames[k]["magnification"].get<double>(), frames[0]["magnification"].get<double>(), 1e-12);
    EXPECT_NEAR(frames[k]["pupil_distance_mm"].get<double>(), 600, 1e-9);
  }
}

TEST_F(Stack, WritesWhatItSaysAndRepeatsIt) {
  write("wood.toml", two_cards(both));
  std::filesystem::create_directory(folder / "frames");
  const auto made = [&](const std::string& name) {
    return stack({"--size", "48x32", "-o", name + ".png", "-o", name + ".pdf", "--merged", name + "-m.png",
                  "--plot", name + ".svg", "--frames", "frames", "--force"});
  };
  const Finished first = made("a");
  ASSERT_EQ(first.status, 0) << first.err;
  EXPECT_NE(first.out.find("frame   plane in focus"), std::string::npos) << first.out;
  Names frames;
  for (const auto& entry : std::filesystem::directory_iterator(folder / "frames"))
    frames.push_back("frames/" + entry.path().filename().string());
  std::sort(frames.begin(), frames.end());
  ASSERT_GE(frames.size(), 4u);
  EXPECT_EQ(frames.front(), "frames/frame-01.png");
  EXPECT_NE(first.err.find(fmt::format("{} frames took ", frames.size())), std::string::npos) << first.err;
  EXPECT_EQ(names(), (Names{"a-m.png", "a.pdf", "a.png", "a.svg", "frames", "wood.toml"}));
  Names all{"a.png", "a.pdf", "a-m.png", "a.svg"};
  all.insert(all.end(), frames.begin(), frames.end());
  for (const std::string& name : all)
    EXPECT_NE(first.err.find("wrote " + name + "\n"), std::string::npos) << name << '\n' << first.err;
  for (const std::string& name : frames) {
    EXPECT_EQ(decode_png(read(name)).picture.width, 48) << name;
    EXPECT_EQ(decode_png(read(name)).picture.height, 32) << name;
  }
  const DecodedPng merged = decode_png(read("a-m.png"));
  EXPECT_EQ(merged.picture.width, 48);
  EXPECT_TRUE(std::any_of(merged.texts.begin(), merged.texts.end(), [&](const auto& text) {
    return text.first == "Scene" && text.second == two_cards(both);
  }));
  EXPECT_TRUE(read("a.pdf").starts_with("%PDF-1."));
  EXPECT_NE(read("a.svg").find("<svg"), std::string::npos);
  ASSERT_EQ(made("b").status, 0);
  for (const char* ending : {".png", ".pdf", "-m.png", ".svg"})
    EXPECT_EQ(read(std::string("a") + ending), read(std::string("b") + ending)) << ending;
}

TEST_F(Stack, WithoutAnOutputTheSheetHasTheScenesName) {
  write("wood.toml", two_cards(both));
  const Finished finished = stack({"--size", "24x16", "--quiet", "--filtered"});
  EXPECT_EQ(finished.status, 0);
  EXPECT_EQ(finished.err, "");
  EXPECT_EQ(names(), (Names{"wood-stack.png", "wood.toml"}));
}

// What is known before the subject is looked at is refused before.
TEST_F(Stack, Refusals) {
  write("wood.toml", two_cards(both));
  expect_refusal({"stack"}, "stack needs a scene: a file, or a name that 'undercap scenes' lists");
  expect_refusal({"stack", "wood.toml", "--plot", "x.txt"},
                 "--plot 'x.txt': the ending says the format; allowed: .pdf, .svg, .png");
  expect_refusal({"stack", "wood.toml", "-o", "x.exr"},
                 "-o 'x.exr': the ending says the format; allowed: .png, .pdf");
  expect_refusal({"stack", "wood.toml", "--merged", "x.pdf"},
                 "--merged 'x.pdf': the ending says the format; allowed: .png");
  expect_refusal({"stack", "wood.toml", "--noise", "2"},
                 "stack takes its samples by --quality: leave --noise and --seconds out");
  expect_refusal({"stack", "wood.toml", "--plan", "--plot", "x.svg"},
                 "--plan renders and writes nothing: leave it out, or -o, --merged, --plot and --frames");
  write("wood-stack.png", "old");
  const Finished refused = stack({});
  EXPECT_EQ(refused.status, 1);
  EXPECT_NE(refused.err.find("--force"), std::string::npos) << refused.err;
  EXPECT_EQ(read("wood-stack.png"), "old");
}

// What only the plan or the picture tells is refused then, with nothing written.
TEST_F(Stack, RefusesWhatOnlyThePlanTells) {
  write("wood.toml", two_cards(both));
  const auto expect_refused = [&](std::vector<std::string> arguments, const std::string& message) {
    const Finished finished = stack(std::move(arguments));
    EXPECT_EQ(finished.status, 1);
    EXPECT_NE(finished.err.find(message), std::string::npos) << finished.err;
    EXPECT_EQ(names(), Names{"wood.toml"});
  };
  expect_refused({"--frames", "nofolder"},
                 "undercap: --frames nofolder: there is no such folder; make it first\n");
  expect_refused({"--set", "camera.circle_of_confusion_mm=0.001"}, "frames; up to 64 are rendered");
  // Behind the camera.
  write("wood.toml",
        two_cards("[subject]\nparts = [\"lost\"]\n") +
            "[[prop]]\nname = \"lost\"\nkind = \"card\"\nat_m = [0, -2, 0]\nsize_mm = [50, 50]\n");
  expect_refused({"--plan"}, "undercap: the subject is not seen, so there is nothing to stack");
}

}  // namespace
}  // namespace undercap
