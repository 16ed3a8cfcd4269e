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
  EXPECT_EQ(kinds.at("mushroom").at("parts"), nlohmann::json({"cap", "gills", "stem"}));
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

}  // namespace
}  // namespace undercap
