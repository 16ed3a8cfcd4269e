// The bundled scenes and the kinds of props.
#include <nlohmann/json.hpp>

#include "tests/unit/cli/set_up.h"

namespace undercap {
namespace {

TEST_F(Cli, BundledScenesAreListedCopiedAndSound) {
  const Finished list = run({"scenes", "--json"});
  ASSERT_EQ(list.status, 0) << list.err;
  const auto scenes = nlohmann::json::parse(list.out);
  ASSERT_GE(scenes.size(), 1U);
  for (const auto& scene : scenes) {
    const std::string name = scene.at("name");
    EXPECT_FALSE(scene.at("title").get<std::string>().empty()) << name;
    const Finished checked = run({"check", name});
    EXPECT_EQ(checked.status, 0) << checked.err;
    EXPECT_GE(scene.at("variants").size(), 1U)
        << name;  // loading has held their changes against the key table
  }
  const std::string first = scenes[0].at("name");
  const Finished copied = run({"scenes", "--copy", first});
  EXPECT_EQ(copied.status, 0) << copied.err;
  EXPECT_EQ(copied.out, first + ".toml\n");
  EXPECT_EQ(read(first + ".toml"), read(std::string(UNDERCAP_SOURCE_DIR) + "/scenes/" + first + ".toml"));
  expect_refusal({"scenes", "--copy", first},
                 first + ".toml: exists already; name another file or add --force to replace it");
  EXPECT_EQ(run({"scenes", "--copy", first, "-o", "mine.toml"}).status, 0);
  EXPECT_EQ(read("mine.toml"), read(first + ".toml"));
}

TEST_F(Cli, KindsAreListed) {
  const auto kinds = nlohmann::json::parse(run({"scenes", "--kinds", "--json"}).out);
  EXPECT_EQ(kinds.at("card").at("keys").at("size_mm").at("default"), "[200, 300]");
  EXPECT_EQ(kinds.at("mushroom").at("parts"),
            nlohmann::json({"cap", "gills", "stem", "flesh", "pores", "ring", "cup", "warts"}));
  const std::string table = run({"scenes", "--kinds"}).out;
  for (std::size_t from = 0, to; (to = table.find('\n', from)) != std::string::npos; from = to + 1)
    EXPECT_LE(to - from, 100U) << table.substr(from, to - from);
}

TEST_F(Cli, MaterialsAreListedWithTheirOrigin) {
  const auto all = nlohmann::json::parse(run({"scenes", "--materials", "--json"}).out);
  EXPECT_EQ(all.at("soil_dry").at("origin"), "measured");
  EXPECT_EQ(all.at("leaf_green").at("origin"), "computed");
  EXPECT_EQ(all.at("brown_cap").at("origin"), "guess");
  EXPECT_EQ(all.at("tracing_film").at("thickness_mm"), 0.1);
  const std::string table = run({"scenes", "--materials"}).out;
  for (const auto& [name, row] : all.items())
    EXPECT_NE(("\n" + table).find("\n" + name + " "), std::string::npos) << name;
  for (std::size_t from = 0, to; (to = table.find('\n', from)) != std::string::npos; from = to + 1)
    EXPECT_LE(to - from, 100U) << table.substr(from, to - from);
}

TEST_F(Cli, AKindIsWrittenAsObj) {
  const std::vector<std::string> crate{"scenes", "--kind",   "box", "--set", "size_mm=[100, 60, 40]",
                                       "-o",     "crate.obj"};
  const Finished written = run(crate);
  EXPECT_EQ(written.status, 0) << written.err;
  EXPECT_EQ(written.out, "crate.obj and crate.mtl: 12 triangles, 1 part\n");
  EXPECT_NE(read("crate.obj").find("mtllib crate.mtl"), std::string::npos);
  EXPECT_EQ(read("crate.mtl").find("newmtl surface"), 0U);
  expect_refusal(crate, "crate.obj: exists already; name another file or add --force to replace it");
  expect_refusal({"scenes", "--kind", "disc", "-o", "disc.stl"},
                 "-o 'disc.stl': the ending says the format; allowed: .obj");
  expect_refusal({"scenes", "--kind", "disc", "--set", "diameter_mm"},
                 "--set diameter_mm: write it as KEY=VALUE, for example seed=2");
  const Finished wrong = run({"scenes", "--kind", "bux"});
  EXPECT_EQ(wrong.status, 1);
  EXPECT_NE(wrong.err.find("--kind bux: there is no such kind; did you mean 'box'? allowed: plane"),
            std::string::npos)
      << wrong.err;
}

}  // namespace
}  // namespace undercap
