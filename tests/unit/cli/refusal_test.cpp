// Bad input: one clear message, the right exit status, nothing on standard output, no file left behind.
#include "tests/unit/cli/set_up.h"

namespace undercap {
namespace {

TEST_F(Cli, TruncatedEmptyAndUnreadableFiles) {
  expect_check(glowing_card().substr(0, glowing_card().find("position_m") + 4),
               "wood.toml:8:5: 'posi' is no line of a scene; write KEY = VALUE, [table] or # comment");
  expect_check("", "wood.toml:1:1: the file says nothing; a scene begins with the line 'undercap = 1'");
  std::filesystem::create_directory(folder / "dir.toml");
  expect_refusal({"check", "dir.toml"}, "dir.toml: is a folder, a file is needed");
  // Readable by nobody, root included: address 0 of a process is not mapped. A bare root folder has no /proc.
  const bool has_proc = std::filesystem::exists("/proc/self/mem");
  expect_refusal({"check", "/proc/self/mem"},
                 std::string("/proc/self/mem: cannot be read: ") +
                     (has_proc ? "Input/output error" : "No such file or directory"));
  expect_refusal({"render", "gone.toml"},
                 "gone.toml: no such file, and no bundled scene of this name; 'undercap scenes' lists those");
  expect_refusal({"render", "./gone.toml"}, "./gone.toml: cannot be read: No such file or directory");
  expect_check(replaced(glowing_card(), "title = \"A card\"", "title = \"\xff\""),
               "wood.toml:2:10: the byte 0xFF is not UTF-8; save the file as UTF-8");
}

TEST_F(Cli, WrongValuesInAScene) {
  const std::string card = glowing_card();
  const auto camera = [&](const std::string& line) {
    return replaced(card, "[camera]", "[camera]\n" + line);
  };
  expect_check(camera("f_number = \"eight\""),
               "wood.toml:8:12: camera.f_number is \"eight\"; allowed: a number from 0.7 to 64");
  expect_check(camera("f_number = nan"),
               "wood.toml:8:12: camera.f_number is nan; allowed: a number from 0.7 to 64");
  expect_check(camera("focal_length_mm = inf"),
               "wood.toml:8:19: camera.focal_length_mm is inf; allowed: a number from 4 to 1200 mm");
  expect_check(
      camera("focus = \"card\"\nmagnification = 0.5"),
      "wood.toml:9:1: camera.magnification and camera.focus (line 8) exclude each other; keep one of them");
  expect_check(camera("f_nubmer = 8"),
               "wood.toml:8:1: unknown key 'camera.f_nubmer'; did you mean 'camera.f_number'?");
  expect_check(camera("look_at = \"crad\""),
               "wood.toml:8:11: camera.look_at is \"crad\": there is no prop \"crad\"; did you mean "
               "\"card\"? props: card");
  expect_check(replaced(card, "undercap = 1", "undercap = 2"),
               "wood.toml:1:12: made by a newer Undercap: the format is 2 and this version reads 1; install "
               "a newer version");
  expect_check(card +
                   "[[source]]\nname = \"torch\"\nkind = \"torch\"\nposition_m = [0, -1, 1]\naim = "
                   "\"card\"\nflux_lm = -5\n",
               "wood.toml:21:11: source.torch.flux_lm is -5; allowed: a number from 0 to 10000000 lm");
}

TEST_F(Cli, FaultsThatOnlyGeometryShows) {
  const std::string card = glowing_card();
  const auto camera = [&](const std::string& line) {
    return replaced(card, "[camera]", "[camera]\n" + line);
  };
  const std::string hidden = replaced(card, "name = \"card\"", "name = \"card\"\nvisible = false");
  expect_check(replaced(hidden, "[camera]", "[camera]\nfocus = \"card\""),
               "wood.toml:8:9: camera.focus: 'card' cannot be used: 'card' is hidden (visible = false); "
               "choose another address or a point");
  // A 90 mm thin lens makes scale 10 at a = f (1 + 1/m) = 99 mm from its pupil (Gaussian lens, P = 1).
  expect_check(
      camera("focus = [0, -0.55, 0]"),
      "wood.toml:8:9: camera.focus: what is to be in focus lies 50.0 mm in front of the entrance pupil along "
      "the axis; a 90 mm "
      "lens focuses from 99.0 mm (10 times life size) outwards; move the camera or focus on something else");
  expect_check(camera("focus_distance_m = 0.3"),
               "wood.toml:8:20: camera.focus_distance_m is 0.3; allowed: at least 0.36 m, which is 4 focal "
               "lengths and the separation of "
               "the principal planes (scale 1); for a larger scale set camera.magnification");
  write("wood.toml", card);
  expect_refusal({"render", "wood.toml", "--set", "prop.card.visible=false", "--set", "camera.focus=\"card\"",
                  "-o", "wood.png"},
                 "--set camera.focus=\"card\": camera.focus: 'card' cannot be used: 'card' is hidden "
                 "(visible = false); choose another "
                 "address or a point");
}

TEST_F(Cli, ObjFaultsNameTheObjsLine) {
  write("flake.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\n\nf 1 2 7\n");
  write("wood.toml", "undercap = 1\n[[prop]]\nname = \"flake\"\nkind = \"mesh\"\nfile = \"flake.obj\"\n");
  const Finished finished = run({"check", "wood.toml"});
  EXPECT_EQ(finished.status, 1);
  EXPECT_EQ(finished.out, "");
  EXPECT_EQ(finished.err, "undercap: " + (std::filesystem::canonical(folder) / "flake.obj").string() +
                              ":5: index 7 in corner '7' is out of range: the file has 3 positions (v)\n");
  write("flake.obj", "mtllib flake.mtl\nv 0 0 0\nv 1 0 0\nv 0 1 0\nusemtl skin\nf 1 2 3\n");
  write("flake.mtl", "newmtl skin\nKd .5 .5 .5\n");
  expect_check(read("wood.toml") + "[prop.material.surface]\nreflectance = 0.5\n",
               "wood.toml:2:1: prop.flake.material.surface: the file has no such material; its parts: skin");
  EXPECT_EQ(run({"check", "wood.toml", "--set", "prop.flake.file=\"none.obj\""}).status, 1);
}

TEST_F(Cli, CheckListsAllFaultsOfAFile) {
  std::string text = replaced(glowing_card(), "position_m = [0, -0.6, 0]", "f_number = 0\nblades = 2");
  text = replaced(text, "kind = \"card\"", "kind = \"crad\"");
  write("wood.toml", text);
  const Finished finished = run({"check", "wood.toml"});
  EXPECT_EQ(finished.status, 1);
  EXPECT_EQ(finished.out, "");
  EXPECT_NE(finished.err.find("undercap: wood.toml:8:12: camera.f_number is 0;"), std::string::npos)
      << finished.err;
  EXPECT_NE(finished.err.find("\nundercap: wood.toml:9:10: camera.blades is 2;"), std::string::npos)
      << finished.err;
  EXPECT_NE(
      finished.err.find("\nundercap: wood.toml:12:8: prop.card.kind is \"crad\"; did you mean \"card\"?"),
      std::string::npos)
      << finished.err;
}

TEST_F(Cli, BadOutputs) {
  write("wood.toml", glowing_card());
  write("there.png", "mine");
  expect_refusal({"render", "wood.toml", "-o", "there.png"},
                 "there.png: exists already; name another file or add --force to replace it");
  EXPECT_EQ(read("there.png"), "mine");
  expect_refusal({"render", "wood.toml", "-o", "gone/x.png"},
                 "gone/x.png: the folder 'gone' does not exist; make it first");
  expect_refusal({"render", "wood.toml", "-o", "x.jpg"},
                 "-o 'x.jpg': the ending says the format; allowed: .png, .exr");
  expect_refusal({"render", "wood.toml", "-o", "x"},
                 "-o 'x': the ending says the format; allowed: .png, .exr");
  expect_refusal({"render", "wood.toml", "-o", ""}, "-o '': the ending says the format; allowed: .png, .exr");
  expect_refusal({"measure", "wood.toml", "-o", "x.txt"},
                 "-o 'x.txt': the ending says the format; allowed: .json");
  expect_refusal({"render", "wood.toml", "-o", "x.png", "-o", "x.png"},
                 "-o x.png: the same file twice; give each output a name of its own");
}

TEST_F(Cli, FullDisks) {
  write("wood.toml", glowing_card());
  const Finished picture = draft({"wood.toml", "-o", "/dev/full", "--quiet"});
  EXPECT_EQ(picture.status, 2);
  EXPECT_EQ(picture.out, "");
  EXPECT_EQ(picture.err, "undercap: /dev/full: cannot be written: No space left on device\n");
  const Finished words =
      run({"check", "wood.toml"}, {.folder = {}, .environment = {}, .out_file = "/dev/full", .watch = {}});
  EXPECT_EQ(words.status, 2);
  EXPECT_EQ(words.err, "undercap: standard output cannot be written: is the disk full?\n");
}

TEST_F(Cli, BadArguments) {
  write("wood.toml", glowing_card());
  expect_refusal({"check", "wood.toml", "--variant", "dusk"},
                 "wood.toml: there is no variant 'dusk'; this scene has: none");
  expect_refusal({"check", "wood.toml", "--set", "camera.f_number"},
                 "--set camera.f_number: write key=value, for example --set camera.f_number=8");
  expect_refusal({"check", "wood.toml", "--set", "camera.f_number=wide"},
                 "--set camera.f_number=wide: 'wide' is not a value; allowed: a number from 0.7 to 64");
  expect_refusal({"check", "wood.toml", "--set", "camera.f_number=99"},
                 "--set camera.f_number=99: camera.f_number is 99; allowed: a number from 0.7 to 64");
  for (const char* size : {"32", "32x", "32x32x32", "15x32", "-32x32", "32 x 32,"})
    expect_refusal(
        {"render", "wood.toml", "--size", size},
        std::string("--size ") + size + ": write WxH in pixels, 16 or more each, for example --size 960x640");
  expect_refusal({"render", "wood.toml", "--size", "70000x32"},
                 "--size 70000x32: a picture of 70000 x 32 pixels is outside the allowed range: 1 to 65536 "
                 "pixels on a side and at most "
                 "268 million in all");
  const Finished device = run({"render", "wood.toml", "--device", "no such device"});
  EXPECT_EQ(device.status, 1);
  EXPECT_EQ(device.out, "");
  EXPECT_EQ(device.err.find("undercap: --device no such device: no such device with OpenGL 4.5; there are:"),
            0U)
      << device.err;
}

}  // namespace
}  // namespace undercap
