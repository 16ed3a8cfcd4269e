// Input that nobody means to give: wrong files, huge ones, ones that lead elsewhere. One clear message,
// status 1, nothing written, and an answer in bounded time and memory.
#include <fmt/format.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <fstream>

#include "tests/unit/cli/set_up.h"

namespace undercap {
namespace {

std::string mesh_scene(const std::string& file) {
  return "undercap = 1\n[ground]\nkind = \"none\"\n[[prop]]\nname = \"rock\"\nkind = \"mesh\"\nfile = \"" +
         file + "\"\n";
}

const std::string triangle = "v 0 0 0\nv 1 0 0\nv 0 1 0\nusemtl skin\nf 1 2 3\n";

std::string with_camera(const std::string& line) {
  return replaced(glowing_card(), "[camera]", "[camera]\n" + line);
}

class HardInput : public Cli {
 protected:
  // A file of one line repeated, without holding it in memory.
  void write_large(const std::string& name, const std::string& line, std::size_t bytes) const {
    std::string block;
    while (block.size() < 1'000'000) block += line;
    std::ofstream stream(folder / name, std::ios::binary);
    for (std::size_t written = 0; written < bytes; written += block.size()) stream << block;
  }
  std::string real(const std::string& name) const {
    return (std::filesystem::canonical(folder) / name).string();
  }
  // Refused as expect_refusal() has it, in less than so much memory.
  void expect_small_refusal(const std::vector<std::string>& arguments, rlim_t most_bytes,
                            const std::string& message) const {
    ChildOptions options;
    options.prepare = [most_bytes] {
      const rlimit limit{most_bytes, most_bytes};
      ::setrlimit(RLIMIT_AS, &limit);
    };
    const Finished finished = run(arguments, options);
    EXPECT_EQ(finished.status, 1);
    EXPECT_EQ(finished.out, "");
    EXPECT_EQ(finished.err, "undercap: " + message + "\n");
  }
};

TEST_F(HardInput, SyntaxIsToldInPlainWords) {
  expect_check(with_camera("f_number = 1,8"),
               "wood.toml:8:13: '1,8': a decimal number is written with a point: 1.8");
  expect_check(with_camera("focal_length_mm = 90 mm"),
               "wood.toml:8:22: '90 mm': the unit stands in the key's name; write the number alone: 90");
  expect_check(with_camera("f_number = 8\nf_number = 11"),
               "wood.toml:9:12: 'f_number' stands there a second time; keep one of the two");
  expect_check(glowing_card() + "[[prop]]\nname = \"card\"\nkind = \"box\"\n",
               "wood.toml:17:8: another prop is named \"card\" (line 10); choose another name");
  write("wood.toml", glowing_card());
  expect_refusal(
      {"check", "wood.toml", "--set", "camera.f_number=1,8"},
      "--set camera.f_number=1,8: '1,8' is not a value; allowed: a number from 0.7 to 64 (write the number "
      "alone, without quotes: 1.8)");
  expect_refusal({"check", "wood.toml", "--set", "=8"},
                 "--set =8: '' is not a key; write it like camera.f_number");
  expect_refusal({"check", "wood.toml", "--set", "camera=8"},
                 "--set camera=8: 'camera' is a table, not a key; write camera.KEY");
  expect_refusal({"check", "wood.toml", "--set", "prop.card.name=\"x\""},
                 "--set prop.card.name=\"x\": 'prop.card.name' can only be changed in the scene file itself");
}

TEST_F(HardInput, WrongSortsOfFiles) {
  expect_check(std::string("\xff\xfeu\0", 4), "wood.toml:1:1: this is UTF-16; save the file as UTF-8");
  expect_check(std::string("undercap = 1\n\0", 14),
               "wood.toml:2:1: a zero byte, which no text holds; is this the right file, saved as UTF-8?");
  expect_check("\x89PNG\r\n", "wood.toml:1:1: the byte 0x89 is not UTF-8; save the file as UTF-8");
  ASSERT_EQ(::mkfifo((folder / "pipe.toml").c_str(), 0600), 0);
  expect_refusal({"check", "pipe.toml"},
                 "pipe.toml: is a pipe into which nobody writes; start its writer first");
  expect_refusal({"check", "/dev/zero"},
                 "/dev/zero: is larger than the limit of 4 MB; is it the right file?");
  expect_refusal({"check", "/dev/null"},
                 "/dev/null:1:1: the file says nothing; a scene begins with the line 'undercap = 1'");
  std::filesystem::create_symlink("loop.toml", folder / "loop.toml");
  expect_refusal({"check", "./loop.toml"}, "./loop.toml: cannot be read: Too many levels of symbolic links");
  const std::string long_name(300, 'x');
  expect_refusal({"check", "./" + long_name}, "./" + long_name + ": cannot be read: File name too long");
  write("bad\xff.toml", "undercap = 2\n");
  expect_refusal(
      {"check", "bad\xff.toml"},
      "bad\\xff.toml:1:12: made by a newer Undercap: the format is 2 and this version reads 1; install a "
      "newer version");
  // The same in JSON, which holds nothing but UTF-8.
  const Finished json = run({"check", "bad\xff.toml", "--json"});
  EXPECT_EQ(json.status, 1);
  EXPECT_NE(json.out.find("bad\\\\xff.toml"), std::string::npos) << json.out << json.err;
}

// 200 MB of each. Anything more than the text itself and a little would pass the limit on the address space.
TEST_F(HardInput, HugeFilesAreRefusedInLittleMemory) {
  write_large("wood.toml", "# a comment of some length, again and again\n", 200'000'000);
  expect_small_refusal({"check", "wood.toml"}, 500'000'000,
                       "wood.toml: is larger than the limit of 4 MB; is it the right file?");
  write("wood.toml", mesh_scene("rock.obj"));
  write_large("rock.obj", "# a comment of some length, again and again\n", 200'000'000);
  expect_small_refusal({"check", "wood.toml"}, 1'000'000'000,
                       real("rock.obj") + ": holds no face: a mesh needs at least one line 'f a b c'");
  // 9 bytes a line make 22 million triangles.
  write_large("rock.obj", "f -1 -1 -1\n", 0);
  std::ofstream(folder / "rock.obj", std::ios::binary) << "v 0 0 0\n";
  std::string block;
  while (block.size() < 1'000'000) block += "f 1 1 1\n";
  {
    std::ofstream stream(folder / "rock.obj", std::ios::binary | std::ios::app);
    for (int i = 0; i < 200; ++i) stream << block;
  }
  expect_small_refusal({"check", "wood.toml"}, 1'000'000'000,
                       real("rock.obj") +
                           ":8000002: more than 8000000 triangles, which is the limit: thin the mesh "
                           "out");
}

TEST_F(HardInput, TooManyOfAThing) {
  std::string props = "undercap = 1\n";
  for (int i = 0; i < 5000; ++i) props += fmt::format("[[prop]]\nname = \"p{}\"\nkind = \"sphere\"\n", i);
  expect_check(props, "wood.toml:12290:1: more than 4096 blocks [[prop]], which is the limit; take some out");
  expect_check("undercap = 1\na = " + std::string(100'000, '[') + "\n",
               "wood.toml:2:261: values are nested too deeply; a scene needs no such list");
  // 16 files of 4096 materials: one part more than a world may have.
  std::string rock = "v 0 0 0\nv 1 0 0\nv 0 1 0\n", rocks = "undercap = 1\n";
  for (int i = 0; i < 4096; ++i) rock += fmt::format("usemtl m{}\nf 1 2 3\n", i);
  for (int i = 0; i < 16; ++i)
    rocks += fmt::format("[[prop]]\nname = \"p{}\"\nkind = \"mesh\"\nfile = \"rock.obj\"\n", i);
  write("rock.obj", rock);
  expect_check(rocks, "the scene has more than 65535 parts, which is the limit; use fewer props");
  expect_check(glowing_card() + "[[prop]]\nname = \"moss\"\nkind = \"bonnet\"\ncount = 1000000000\n",
               "wood.toml:19:9: prop.moss.count is 1000000000; allowed: a whole number from 1 to 40");
  write("wood.toml", glowing_card());
  expect_refusal(
      {"render", "wood.toml", "--size", "65536x65536"},
      "--size 65536x65536: a picture of 65536 x 65536 pixels is outside the allowed range: 1 to 65536 "
      "pixels on a side and at most 268 million in all");
  for (const char* size : {"0x0", "1e9x1e9", "99999999999999x32", "4294967328x32", "32x", "x32", "+32x32"})
    expect_refusal(
        {"render", "wood.toml", "--size", size},
        fmt::format("--size {}: write WxH in pixels, 16 or more each, for example --size 960x640", size));
  expect_refusal({"render", "wood.toml", "--seed", "-1"},
                 "--seed: '-1'; allowed: a whole number from 0 to 2147483647");
  expect_refusal({"render", "wood.toml", "--seed", "4294967296"},
                 "--seed: '4294967296'; allowed: a whole number from 0 to 2147483647");
  expect_refusal({"render", "wood.toml", "--noise", "1,5"},
                 "--noise: '1,5'; allowed: a number from 0.05 to 100 %");
  expect_refusal({"render", "wood.toml", "--seconds", "1e9"},
                 "--seconds: '1e9'; allowed: a number from 0.05 to 1000000 s");
}

TEST_F(HardInput, PathsThatLeadElsewhere) {
  write("rock.obj", triangle);
  expect_check(
      mesh_scene("../rock.obj"),
      "wood.toml:7:8: prop.rock.file is \"../rock.obj\", which leaves the scene file's folder; put the file "
      "into that folder and name it there");
  expect_check(
      mesh_scene("/etc/passwd"),
      "wood.toml:7:8: prop.rock.file is \"/etc/passwd\", an absolute path; allowed: a path relative to the "
      "scene file's folder");
  std::filesystem::create_symlink("/etc/passwd", folder / "link.obj");
  expect_check(
      mesh_scene("link.obj"),
      "wood.toml:7:8: prop.rock.file is \"link.obj\", a link that leads out of the scene file's folder; put "
      "the file itself there");
  std::filesystem::create_directory_symlink("/etc", folder / "etc");
  expect_check(
      mesh_scene("etc/passwd"),
      "wood.toml:7:8: prop.rock.file is \"etc/passwd\", a link that leads out of the scene file's folder; "
      "put the file itself there");
  write("wood.toml", mesh_scene("rock.obj"));
  std::filesystem::create_symlink("/etc/passwd", folder / "link.mtl");
  const auto expect_obj = [&](const std::string& head, const std::string& message) {
    write("rock.obj", head + triangle);
    expect_refusal({"check", "wood.toml"}, real(message));
  };
  expect_obj("mtllib link.mtl\n",
             "rock.obj:1: mtllib link.mtl: a link that leads out of the OBJ file's folder; put the file "
             "itself there");
  expect_obj("mtllib ../x.mtl\n",
             "rock.obj:1: '../x.mtl': the path of an MTL file must be relative and stay inside the file's "
             "own folder");
  write("near.mtl", "newmtl skin\nmap_Kd -bm 1 /etc/wood.png\n");
  expect_obj(
      "mtllib near.mtl\n",
      "near.mtl:2: '/etc/wood.png': a picture's path must be relative and stay inside the file's own folder");
  std::filesystem::create_directory(folder / "folder.obj");
  expect_check(mesh_scene("folder.obj"), real("folder.obj") + ": is a folder, a file is needed");
  ASSERT_EQ(::mkfifo((folder / "pipe.obj").c_str(), 0600), 0);
  expect_check(mesh_scene("pipe.obj"),
               real("pipe.obj") + ": is a pipe into which nobody writes; start its writer first");
}

// Addresses into an imported file are known only when it is read.
TEST_F(HardInput, AddressesOfMaterialsThatAFileDoesNotHave) {
  write("rock.obj", triangle);
  const auto expect_address = [&](const std::string& lines, const std::string& place, const std::string& key,
                                  const std::string& address) {
    expect_check(mesh_scene("rock.obj") + lines,
                 fmt::format("{}: {}: '{}': the file of 'rock' has no material \"{}\"; its parts: skin",
                             place, key, address, address.substr(address.find('/') + 1)));
  };
  expect_address("[subject]\nparts = [\"rock/bark\"]\n", "wood.toml:9:9", "subject.parts", "rock/bark");
  expect_address("[subject]\nbackdrop = [\"rock/bark\"]\n", "wood.toml:9:12", "subject.backdrop",
                 "rock/bark");
  expect_address("[exposure]\nmeter_on = \"rock/bark\"\n", "wood.toml:9:12", "exposure.meter_on",
                 "rock/bark");
  expect_address("[camera]\nlook_at = \"rock/bark\"\n", "wood.toml:9:11", "camera.look_at", "rock/bark");
  expect_address("[camera]\nfocus = \"rock/bark\"\n", "wood.toml:9:9", "camera.focus", "rock/bark");
  expect_address(
      "[[source]]\nname = \"torch\"\nkind = \"torch\"\nposition_m = [0, 0, 1]\naim = \"rock/bark\"\nflux_lm "
      "= 1\n",
      "wood.toml:12:7", "source.torch.aim", "rock/bark");
  write("wood.toml", mesh_scene("rock.obj"));
  expect_refusal(
      {"check", "wood.toml", "--set", "subject.parts=[\"rock/bark\"]"},
      "--set subject.parts=[\"rock/bark\"]: subject.parts: 'rock/bark': the file of 'rock' has no material "
      "\"bark\"; its parts: skin");
}

// Addresses that cannot be what they are asked for.
TEST_F(HardInput, AddressesInCirclesAndOutOfSight) {
  const std::string hidden = "[[prop]]\nname = \"ball\"\nkind = \"sphere\"\nvisible = false\n";
  expect_check(
      with_camera("look_at = \"ball\"") + hidden,
      "wood.toml:8:11: camera.look_at: 'ball' cannot be used: 'ball' is hidden (visible = false); choose "
      "another address or a point");
  const std::string torch =
      "[[source]]\nname = \"a\"\nkind = \"torch\"\nposition_m = [0, -1, 1]\nflux_lm = 9\naim = ";
  expect_check(glowing_card() + torch + "\"source:a\"\n",
               "wood.toml:21:7: source.a.aim is the source itself; aim at a part or a point");
  expect_check(
      glowing_card() + hidden + torch + "\"ball\"\n",
      "wood.toml:25:7: source.a.aim: 'ball' cannot be used: 'ball' is hidden (visible = false); choose "
      "another address or a point");
  // Two that aim at one another are odd and good.
  write("wood.toml",
        glowing_card() + torch + "\"source:b\"\n" +
            "[[source]]\nname = \"b\"\nkind = \"torch\"\nposition_m = [1, -1, 1]\nflux_lm = 9\naim = "
            "\"source:a\"\n");
  EXPECT_EQ(run({"check", "wood.toml"}).status, 0);
  // Behind the camera nothing comes into focus.
  const Finished behind =
      run({"check", "wood.toml", "--set", "camera.look_at=[0, -5, 0]", "--set", "camera.focus=\"card\""});
  EXPECT_EQ(behind.status, 1);
  EXPECT_EQ(
      behind.err.find("undercap: --set camera.focus=\"card\": camera.focus: what is to be in focus lies "),
      0U)
      << behind.err;
}

// Odd and physical: told, not refused.
TEST_F(HardInput, ASourceInsideAPropIsNoted) {
  write("wood.toml",
        glowing_card() +
            "[[prop]]\nname = \"ball\"\nkind = \"sphere\"\nat_m = [0, -0.2, 0]\ndiameter_mm = 60\n"
            "[[source]]\nname = \"in\"\nkind = \"torch\"\nposition_m = [0.01, -0.2, 0]\naim = [0, 1, "
            "0]\nflux_lm = 9\n"
            "[[source]]\nname = \"out\"\nkind = \"torch\"\nposition_m = [0.04, -0.2, 0]\naim = "
            "\"ball\"\nflux_lm = 9\n");
  const Finished finished = run({"check", "wood.toml"});
  EXPECT_EQ(finished.status, 0) << finished.err;
  EXPECT_NE(finished.out.find(
                "\nnote: source 'in' stands inside 'ball'; its light gets out only where that lets it\n"),
            std::string::npos)
      << finished.out;
  EXPECT_EQ(finished.out.find("'out'"), std::string::npos) << finished.out;
}

TEST_F(HardInput, OutputsInWrongPlaces) {
  write("scene.json", glowing_card());
  expect_refusal({"measure", "scene.json", "-o", "scene.json", "--force"},
                 "-o scene.json: that is the scene itself; give the output another name");
  std::filesystem::create_symlink("scene.json", folder / "other.json");
  expect_refusal({"measure", "scene.json", "-o", "./other.json", "--force"},
                 "-o ./other.json: that is the scene itself; give the output another name");
  EXPECT_EQ(read("scene.json"), glowing_card());
  std::filesystem::create_directory(folder / "out.png");
  expect_refusal({"render", "scene.json", "-o", "out.png", "--force"},
                 "out.png: is a folder; name a file to write");
  expect_refusal({"render", "scene.json", "-o", "a.png", "-o", "./a.png"},
                 "-o ./a.png: the same file twice; give each output a name of its own");
  expect_refusal({"render", "scene.json", "-o", "gone/a.png"},
                 "gone/a.png: the folder 'gone' does not exist; make it first");
  const std::string long_name = std::string(300, 'x') + ".png";
  expect_refusal({"render", "scene.json", "-o", long_name},
                 long_name + ": its folder cannot be written: File name too long");
  if (std::filesystem::is_directory("/proc/self"))
    expect_refusal({"render", "scene.json", "-o", "/proc/self/a.png"},
                   "/proc/self/a.png: its folder cannot be written: No such file or directory");
  expect_refusal({"scenes", "--copy", "umber_parasol", "-o", "out.png"},
                 "out.png: is a folder; name a file to write");
  std::filesystem::permissions(folder / "out.png", std::filesystem::perms::owner_read);
  if (::geteuid() != 0)  // root may write anywhere
    expect_refusal({"render", "scene.json", "-o", "out.png/a.png"},
                   "out.png/a.png: its folder cannot be written: Permission denied");
  std::filesystem::permissions(folder / "out.png", std::filesystem::perms::owner_all);
}

}  // namespace
}  // namespace undercap
