// Edits to a scene's text: one value or one line, every other byte as it was.
#include <gtest/gtest.h>

#include "tests/unit/scene/scene_text.h"

namespace undercap {
namespace {

std::string edited(const std::string& text, const std::string& key, const std::string& value) {
  SceneFile file = SceneFile::from_text(text, "wood.toml");
  file.set(key, value, "--set");
  return file.text();
}

TEST(Edit, ReplacesTheValueAndNothingElse) {
  const std::string text =
      "undercap = 1 # one\n# lens\n[camera]\n\tf_number=5.6   # open\nfocal_length_mm = 90\n";
  EXPECT_EQ(edited(text, "camera.f_number", "11"),
            "undercap = 1 # one\n# lens\n[camera]\n\tf_number=11   # open\nfocal_length_mm = 90\n");
  EXPECT_EQ(edited(text, "camera.f_number", " 11 # words"),
            "undercap = 1 # one\n# lens\n[camera]\n\tf_number=11   # open\nfocal_length_mm = 90\n");
}

struct Layout {
  const char* name;
  const char* before;
  const char* key;
  const char* value;
  const char* after;
};

const Layout layouts[] = {
    {"a line behind the last of its table",
     "undercap = 1\n[camera]\n  f_number = 8 # x\n\n# next\n[sky]\ncct_k = 6000\n", "camera.roll_deg", "5",
     "undercap = 1\n[camera]\n  f_number = 8 # x\n  roll_deg = 5\n\n# next\n[sky]\ncct_k = 6000\n"},
    {"an empty table", "undercap = 1\n[camera] # lens\n[sky]\n", "camera.roll_deg", "5",
     "undercap = 1\n[camera] # lens\nroll_deg = 5\n[sky]\n"},
    {"a table not written yet", "undercap = 1\n[sky]\ncct_k = 6000 # c\n", "camera.roll_deg", "5",
     "undercap = 1\n[sky]\ncct_k = 6000 # c\n\n[camera]\nroll_deg = 5\n"},
    {"a key of the top", "undercap = 1\n\n[sky]\ncct_k = 6000\n", "title", "\"a\"",
     "undercap = 1\ntitle = \"a\"\n\n[sky]\ncct_k = 6000\n"},
    {"dotted keys", "undercap = 1\ncamera.f_number = 8\n# sky\n[sky]\n", "camera.roll_deg", "5",
     "undercap = 1\ncamera.f_number = 8\ncamera.roll_deg = 5\n# sky\n[sky]\n"},
    {"a dotted key's value", "undercap = 1\ncamera . f_number  =  8 # x\n", "camera.f_number", "9",
     "undercap = 1\ncamera . f_number  =  9 # x\n"},
    {"an inline table", "undercap = 1\ncamera = { f_number = 8 } # x\n", "camera.roll_deg", "5",
     "undercap = 1\ncamera = { f_number = 8, roll_deg = 5 } # x\n"},
    {"a value in an inline table", "undercap = 1\ncamera = {roll_deg=1,f_number=8}\n", "camera.f_number", "9",
     "undercap = 1\ncamera = {roll_deg=1,f_number=9}\n"},
    {"an empty inline table", "undercap = 1\ncamera = {}\n", "camera.roll_deg", "5",
     "undercap = 1\ncamera = { roll_deg = 5 }\n"},
    {"a value over several lines",
     "undercap = 1\n[camera]\nposition_m = [0, # x\n  -0.5,\n  0.1]\nf_number = 8\n", "camera.position_m",
     "[1, 2, 3]", "undercap = 1\n[camera]\nposition_m = [1, 2, 3]\nf_number = 8\n"},
    {"no line end at the end", "undercap = 1\n[camera]\nf_number = 8", "camera.roll_deg", "5",
     "undercap = 1\n[camera]\nf_number = 8\nroll_deg = 5"},
    {"lines that end in CR LF", "undercap = 1\r\n[camera]\r\nf_number = 8\r\n", "camera.roll_deg", "5",
     "undercap = 1\r\n[camera]\r\nf_number = 8\r\nroll_deg = 5\r\n"},
    {"a new table with CR LF", "undercap = 1\r\n", "camera.roll_deg", "5",
     "undercap = 1\r\n\r\n[camera]\r\nroll_deg = 5\r\n"},
    {"quoted keys", "undercap = 1\n[\"camera\"]\n'f_number' = 8\n", "camera.f_number", "9",
     "undercap = 1\n[\"camera\"]\n'f_number' = 9\n"},
};

TEST(Edit, EachLayoutOfATable) {
  for (const Layout& layout : layouts)
    EXPECT_EQ(edited(layout.before, layout.key, layout.value), layout.after) << layout.name;
}

const char* const two_props = R"(undercap = 1
[[prop]]          # first
name = "ball"
kind = "sphere"
[prop.material.surface]
roughness = 0.5

# the second
[[prop]]
name = "rock"
kind = "mesh"
file = "a.obj"
material.moss.roughness = 0.9

[[source]]
name = "the torch"
kind = "torch"
position_m = [0, 0, 1]
aim = "ball"
flux_lm = 100 # on the box
)";

TEST(Edit, BlocksOfListsByName) {
  const auto expect_line = [](const std::string& key, const std::string& value, const std::string& old_line,
                              const std::string& line) {
    std::string expected = two_props;
    const std::size_t at = expected.find(old_line);
    ASSERT_NE(at, expected.npos) << old_line;
    expected.replace(at, old_line.size(), line);
    EXPECT_EQ(edited(two_props, key, value), expected) << key;
  };
  expect_line("source.the torch.flux_lm", "50", "flux_lm = 100 # on", "flux_lm = 50 # on");
  expect_line("source.the torch.power_pct", "50", "# on the box\n", "# on the box\npower_pct = 50\n");
  expect_line("source.\"the torch\".power_pct", "50", "# on the box\n", "# on the box\npower_pct = 50\n");
  expect_line("prop.ball.diameter_mm", "50", "kind = \"sphere\"\n", "kind = \"sphere\"\ndiameter_mm = 50\n");
  expect_line("prop.ball.material.surface.reflectance", "0.5", "roughness = 0.5\n",
              "roughness = 0.5\nreflectance = 0.5\n");
  expect_line("prop.rock.material.moss.reflectance", "0.5", "roughness = 0.9\n",
              "roughness = 0.9\nmaterial.moss.reflectance = 0.5\n");
  expect_line("prop.rock.material.mat.001.reflectance", "0.5", "roughness = 0.9\n",
              "roughness = 0.9\nmaterial.\"mat.001\".reflectance = 0.5\n");
  expect_line("prop.rock.turn_deg", "5", "roughness = 0.9\n", "roughness = 0.9\nturn_deg = 5\n");
}

TEST(Edit, AMaterialNotWrittenYetFollowsItsProp) {
  const std::string text =
      "undercap = 1\n[[prop]]\nname = \"a\"\nkind = \"sphere\"\n\n[[prop]]\nname = \"b\"\nkind = "
      "\"mesh\"\nfile = \"b.obj\"\n"
      "[prop.material.one]\nroughness = 0.5\n";
  EXPECT_EQ(edited(text, "prop.a.material.surface.roughness", "0.5"),
            "undercap = 1\n[[prop]]\nname = \"a\"\nkind = \"sphere\"\n\n[prop.material.surface]\nroughness = "
            "0.5\n\n[[prop]]\nname = \"b\"\n"
            "kind = \"mesh\"\nfile = \"b.obj\"\n[prop.material.one]\nroughness = 0.5\n");
  EXPECT_EQ(edited(text, "prop.b.material.two.roughness", "0.5"),
            text + "\n[prop.material.two]\nroughness = 0.5\n");
}

TEST(Edit, ListsOfInlineTables) {
  const std::string text =
      "undercap = 1\nsource = [\n  { name = \"a\", kind = \"torch\", flux_lm = 1, position_m = [0, 0, 1], "
      "aim = [0, 0, 0] },\n"
      "  { name = \"b\", kind = \"torch\", flux_lm = 1, position_m = [0, 0, 1], aim = [0, 0, 0] },\n]\n"
      "prop = [{ name = \"p\", kind = \"sphere\" }]\n";
  std::string expected = text;
  expected.replace(expected.rfind("flux_lm = 1"), 11, "flux_lm = 7");
  EXPECT_EQ(edited(text, "source.b.flux_lm", "7"), expected);
  expected = text;
  expected.replace(expected.find("[0, 0, 0] }"), 11, "[0, 0, 0], duv = 0.01 }");
  EXPECT_EQ(edited(text, "source.a.duv", "0.01"), expected);
  expected = text;
  expected.replace(expected.find("\"sphere\" }"), 10, "\"sphere\", material.surface.roughness = 0.5 }");
  EXPECT_EQ(edited(text, "prop.p.material.surface.roughness", "0.5"), expected);
  EXPECT_EQ(scene_of(edited(text, "prop.p.material.surface.roughness", "0.5"))
                .props[0]
                .materials.at("surface")
                .roughness,
            0.5);
}

TEST(Edit, EditThenLoadHoldsTheValue) {
  SceneFile file = SceneFile::from_text(small_scene, "wood.toml");
  file.set("camera.f_number", "11", "--set");
  file.set("camera.focal_length_mm", "105", "--set");
  file.set("source.torch.power_pct", "25", "--set");
  file.set("prop.card.material.surface.reflectance", "[0.5, 0.4, 0.3]", "--set");
  file.set("prop.card.size_mm", "[80, 60]", "--set");
  file.set("meter.at the foot.normal", "[0, -1, 0]", "--set");
  file.set("sky.model", "uniform", "--set");
  file.set("camera.look_at", "ball/surface", "--set");
  file.set("note", "say \"hello\"", "--set");
  const Scene scene = file.scene();
  EXPECT_EQ(scene.camera.f_number, 11);
  EXPECT_EQ(scene.camera.focal_length_mm, 105);
  EXPECT_EQ(scene.sources[0].power_pct, 25);
  EXPECT_EQ(scene.props[1].materials.at("surface").reflectance, glm::vec3(0.5f, 0.4f, 0.3f));
  EXPECT_EQ((std::get<std::array<double, 2>>(scene.props[1].values.at("size_mm"))),
            (std::array<double, 2>{80, 60}));
  EXPECT_EQ(scene.meters[0].normal, glm::dvec3(0, -1, 0));
  EXPECT_EQ(scene.sky.model, Sky::Model::uniform);
  EXPECT_EQ(std::get<Address>(*scene.camera.look_at).text(), "ball/surface");
  EXPECT_EQ(scene.note, "say \"hello\"");
  EXPECT_TRUE(file.notes().empty());
}

TEST(Edit, TheOthersOfAnExclusiveGroupGo) {
  SceneFile file = SceneFile::from_text(
      "undercap = 1\n[camera]\nmagnification = 0.2  # as drawn\nf_number = 8\n", "wood.toml");
  file.set("camera.focus_distance_m", "0.7", "--set");
  EXPECT_EQ(file.text(), "undercap = 1\n[camera]\nf_number = 8\nfocus_distance_m = 0.7\n");
  ASSERT_EQ(file.notes().size(), 1u);
  EXPECT_EQ(
      file.notes()[0],
      "--set camera.focus_distance_m=0.7 took out camera.magnification = 0.2: only one of the two may stand");
  EXPECT_EQ(refusal_of(file), "");

  SceneFile inline_file =
      SceneFile::from_text("undercap = 1\ncamera = { focus = [0, 0, 0], f_number = 8 }\n", "wood.toml");
  inline_file.set("camera.magnification", "0.3", "--set");
  EXPECT_EQ(inline_file.text(), "undercap = 1\ncamera = { f_number = 8, magnification = 0.3 }\n");

  SceneFile torch = SceneFile::from_text(two_props, "wood.toml");
  torch.set("source.the torch.beam_distance_m", "40", "--set");
  EXPECT_EQ(torch.text().find("flux_lm"), std::string::npos);
  EXPECT_EQ(torch.notes().size(), 1u);
}

TEST(Edit, FaultsOfAnEditOpenWithIt) {
  SceneFile file = SceneFile::from_text("undercap = 1\n[camera]\nblades = 2\n", "wood.toml");
  file.set("camera.f_number", "99", "--set");
  file.set("title", "two lines up", "--set");
  // The file's own fault keeps the line that it has in the file, though an added line moved it.
  EXPECT_EQ(refusal_of(file),
            "--set camera.f_number=99: camera.f_number is 99; allowed: a number from 0.7 to 64\n"
            "wood.toml:3:10: camera.blades is 2; allowed: 0 (a circle) or a whole number from 3 to 20");
}

TEST(Edit, RefusesWithAdvice) {
  SceneFile file = SceneFile::from_text(small_scene, "wood.toml");
  const struct {
    const char *key, *value, *said;
  } cases[] = {
      {"camera.f_numbr", "8",
       "--set camera.f_numbr=8: unknown key 'camera.f_numbr'; did you mean 'camera.f_number'?"},
      {"f_number", "8", "--set f_number=8: unknown key 'f_number'; it belongs to 'camera'"},
      {"camera", "8", "--set camera=8: 'camera' is a table, not a key; write camera.KEY"},
      {"camera.", "8", "--set camera.=8: unknown key 'camera.'; allowed in camera: format_mm, "},
      {"", "8", "--set =8: '' is not a key; write it like camera.f_number"},
      {"source.power_pct", "8",
       "--set source.power_pct=8: 'source.power_pct' is not complete; write source.NAME.KEY"},
      {"source.lamp.power_pct", "8",
       "--set source.lamp.power_pct=8: 'source.lamp.power_pct': there is no source named \"lamp\"; this "
       "scene has: torch, second"},
      {"source.torch.name", "\"x\"",
       "--set source.torch.name=\"x\": 'source.torch.name' can only be changed in the scene file itself"},
      {"source.torch.guide_number_m", "8",
       "--set source.torch.guide_number_m=8: 'source.torch.guide_number_m' belongs to kind \"flash\" and "
       "this "
       "is \"torch\""},
      {"sky.grey_card.ev", "8",
       "--set sky.grey_card.ev=8: unknown key 'sky.grey_card.ev'; allowed in sky.grey_card: f_number, "
       "shutter_s, iso"},
      {"prop.ball.normal", "[0, 0, 1]",
       "--set prop.ball.normal=[0, 0, 1]: 'prop.ball.normal' belongs to kind \"plane\" and this is "
       "\"sphere\""},
      {"prop.ball.material.cap.roughness", "1",
       "--set prop.ball.material.cap.roughness=1: 'prop.ball.material.cap.roughness': a sphere has no part "
       "\"cap\"; its parts: surface"},
      {"camera.f_number", "wide",
       "--set camera.f_number=wide: 'wide' is not a value; allowed: a number from 0.7 to 64"},
      {"camera.f_number", "8\ntitle = 3",
       "--set camera.f_number=8\\x0atitle = 3: '8\\x0atitle = 3' is not a value; allowed: a number"},
      {"camera.f_number", "", "--set camera.f_number=: '' is not a value; allowed: a number from 0.7 to 64"},
      {"camera.look_at", "[0, 0",
       "--set camera.look_at=[0, 0: '[0, 0' is not a value; allowed: an address such as"},
  };
  for (const auto& one : cases) {
    const std::string said = refusal_of_set(file, one.key, one.value);
    EXPECT_EQ(said.substr(0, std::string(one.said).size()), one.said);
  }
  EXPECT_EQ(file.text(), small_scene);
  EXPECT_TRUE(file.notes().empty());
}

TEST(Edit, ATableThatIsNoneIsLeftAlone) {
  SceneFile file = SceneFile::from_text("undercap = 1\ncamera = 3\n", "wood.toml");
  EXPECT_EQ(refusal_of_set(file, "camera.f_number", "8"),
            "--set camera.f_number=8: camera is not a table in the file");
  SceneFile list = SceneFile::from_text("undercap = 1\n[[camera]]\n", "wood.toml");
  EXPECT_EQ(refusal_of_set(list, "camera.f_number", "8"),
            "--set camera.f_number=8: camera is not a table in the file");
}

TEST(Edit, BrokenAndNewerTextsAreRefusedAtTheirPlace) {
  SceneFile broken = SceneFile::from_text("undercap = 1\n[camera\n", "wood.toml");
  EXPECT_EQ(refusal_of_set(broken, "camera.f_number", "8").substr(0, 14), "wood.toml:2:8:");
  SceneFile newer = SceneFile::from_text("undercap = 2\n", "wood.toml");
  EXPECT_EQ(refusal_of_set(newer, "camera.f_number", "8").substr(0, 43),
            "wood.toml:1:12: made by a newer Undercap: t");
}

TEST(Edit, ManyEditsInARowKeepTheTextGood) {
  SceneFile file = SceneFile::from_text(small_scene, "wood.toml");
  for (int i = 0; i < 40; ++i) {
    file.set("camera.f_number", std::to_string(2 + i), "--set");
    file.set(i % 2 ? "camera.magnification" : "camera.focus_distance_m", "0.5", "--set");
    file.set("source.second.power_pct", std::to_string(i), "--set");
  }
  const Scene scene = file.scene();
  EXPECT_EQ(scene.camera.f_number, 41);
  EXPECT_EQ(scene.sources[1].power_pct, 39);
  std::string expected = small_scene + "\n[camera]\nf_number = 41\nmagnification = 0.5\n";
  expected.insert(expected.find("intensity_cd = 50\n") + 18, "power_pct = 39\n");
  EXPECT_EQ(file.text(), expected);
}

}  // namespace
}  // namespace undercap
