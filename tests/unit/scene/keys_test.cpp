#include "engine/scene/keys.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <set>

#include "tests/unit/scene/scene_text.h"

namespace undercap {
namespace {

// The path of a row's key in small_scene.
std::string key_of(const KeyRow& row) {
  if (row.table.empty()) return std::string(row.name);
  if (row.table == "source")
    return fmt::format("source.{}.{}",
                       for_kind(row, "torch")   ? "torch"
                       : for_kind(row, "panel") ? "sheet"
                                                : "burst",
                       row.name);
  if (row.table == "prop") return fmt::format("prop.card.{}", row.name);
  if (row.table == "prop.material") return fmt::format("prop.card.material.surface.{}", row.name);
  if (row.table == "prop.scatter") return fmt::format("prop.card.scatter.{}", row.name);
  if (row.table == "meter")
    return fmt::format("meter.{}.{}", row.only_kind == "spot" ? "middle" : "at the foot", row.name);
  return fmt::format("{}.{}", row.table, row.name);
}

// A scene with a source of each kind, in which a key can be told from its default.
SceneFile scene_for(const KeyRow& row) {
  SceneFile file = SceneFile::from_text(small_scene + R"(
[[source]]
name = "sheet"
kind = "panel"
position_m = [0.2, -0.1, 0.2]
aim = [0, 0, 0.02]
size_mm = [60, 40]
flux_lm = 300

[[source]]
name = "burst"
kind = "flash"
position_m = [0.2, -0.1, 0.2]
aim = [0, 0, 0.02]
size_mm = [60, 40]
guide_number_m = 10
)",
                                        "wood.toml");
  if (row.table == "sky" && row.name == "type") file.set("sky.model", "general", "test");
  if (row.name == "thickness_mm") file.set("prop.card.material.surface.of", "tracing_film", "test");
  if (row.table == "prop.scatter" || row.name == "within" || row.name == "without")
    file.set("prop.card.scatter", "{ count = 2, radius_m = 0.5 }", "test");
  if (row.table == "sky.grey_card")
    file.set("sky.grey_card", "{ f_number = 4, shutter_s = 2, iso = 100 }", "test");
  return file;
}

bool can_be_set(const KeyRow& row) {
  return row.served && row.type != ValueType::name && row.table != "variant" && row.name != "undercap";
}

TEST(Keys, EachIsThereOnce) {
  std::set<std::pair<std::string_view, std::string_view>> seen;
  for (const KeyRow& row : key_rows()) {
    EXPECT_TRUE(seen.emplace(row.table, row.name).second) << row.table << "." << row.name;
    EXPECT_FALSE(row.meaning.empty()) << row.name;
    EXPECT_LE(row.low, row.high) << row.name;
  }
}

TEST(Keys, KindsHaveNoKeyOfTheCommonOnes) {
  for (const Kind& kind : kinds())
    for (const KeyRow& row : of_kind(kind))
      EXPECT_FALSE(find_row(rows_of("prop"), row.name)) << kind.name << " " << row.name;
}

// The table says the defaults and scene.h has them as numbers: writing a default changes nothing.
TEST(Keys, DefaultsAreThoseOfTheScene) {
  int compared = 0;
  for (const KeyRow& row : key_rows()) {
    if (!can_be_set(row) || row.fallback.empty() || key_of(row) == "prop.card.at_m") continue;
    SceneFile file = scene_for(row);
    const std::string before = scene_text(file.scene());
    file.set(key_of(row), row.fallback, "test");
    EXPECT_EQ(scene_text(file.scene()), before) << key_of(row);
    ++compared;
  }
  EXPECT_GT(compared, 50);
}

// A value other than the default that each served key takes.
std::string other_value(const KeyRow& row) {
  using enum ValueType;
  if (row.table == "prop" && row.name == "kind") return "\"box\"";
  if (row.name == "on" && row.table == "prop") return "\"ball\"";
  if (row.name == "scatter") return "{ count = 3, radius_m = 0.5 }";
  if (row.name == "per_m2") return "9";
  if (row.name == "lamp") return "\"torch\"";
  if (row.name == "focus_distance_m") return "0.7";
  if (row.name == "field_deg") return "100";
  if (row.name == "gel_mired") return "50";
  if (row.table == "prop.material" && row.name == "of") return "\"black_card\"";
  if (row.name == "thickness_mm") return "0.3";
  if (row.name == "grey_card") return "{ f_number = 8, shutter_s = 1, iso = 400 }";
  switch (row.type) {
    case boolean:
      return row.fallback == "true" ? "false" : "true";
    case integer:
      return "9";
    case pair:
      return row.unit == "mm" ? "[30, 20]" : "[0.25, 0.75]";
    case point:
      return "[0.5, -0.25, 0.125]";
    case direction:
      return "[0, -2, 0]";
    case ground_point:
      return "[1, 2, 3]";
    case colour:
      return "[0.05, 0.06, 0.07]";
    case ValueType::text:
      return "\"words\"";
    case choice:
      return fmt::format("\"{}\"", words(row.choices).back());
    case address_or_word:
      return "\"card\"";
    case target:
      return "\"crate\"";
    case addresses:
      return "[\"card/surface\"]";
    case ValueType::list:
      return "[[0, 0], [1, 0], [1, 1]]";
    case moment:
      return "2026-05-01T10:00:00Z";
    default:
      break;
  }
  if (row.unit == "mm" || row.unit == "K") return fmt::format("{}", std::min(row.high, row.low * 2 + 51));
  return fmt::format("{}", row.low + (row.high - row.low) * 0.3);
}

// No served key is read and dropped: each changes the scene, and only its own line of it.
TEST(Keys, EachServedKeyArrivesInTheScene) {
  for (const KeyRow& row : key_rows()) {
    if (!can_be_set(row) || (row.table == "source" && row.name == "kind") ||
        (row.table == "meter" && row.name == "kind"))
      continue;
    SceneFile file = scene_for(row);
    const std::string before = scene_text(file.scene());
    file.set(key_of(row), other_value(row), "test");
    if (row.name == "azimuth_deg") file.set("sun.elevation_deg", "1", "test");
    if (row.name == "lamp") file.set("taken.lamp_distance_m", "0.4", "test");
    if (row.name == "elevation_deg") file.set("sun.azimuth_deg", "1", "test");
    EXPECT_NE(scene_text(file.scene()), before) << key_of(row) << " = " << other_value(row);
  }
}

TEST(Keys, WordsStandInTheOrderOfTheirEnumerators) {
  const auto scene_with = [](const std::string& key, const std::string& value) {
    SceneFile file = SceneFile::from_text("undercap = 1\n", "wood.toml");
    file.set(key, value, "test");
    return file.scene();
  };
  EXPECT_EQ(scene_with("sky.model", "overcast").sky.model, Sky::Model::overcast);
  EXPECT_EQ(scene_with("sky.model", "uniform").sky.model, Sky::Model::uniform);
  EXPECT_EQ(scene_with("sky.model", "general").sky.model, Sky::Model::general);
  EXPECT_EQ(scene_with("sky.model", "off").sky.model, Sky::Model::off);
  EXPECT_EQ(scene_with("canopy.leaf", "green").canopy.leaf, Canopy::Leaf::green);
  EXPECT_EQ(scene_with("canopy.leaf", "yellow_green").canopy.leaf, Canopy::Leaf::yellow_green);
  EXPECT_EQ(scene_with("canopy.leaf", "yellow").canopy.leaf, Canopy::Leaf::yellow);
  EXPECT_EQ(scene_with("canopy.leaf", "orange").canopy.leaf, Canopy::Leaf::orange);
  EXPECT_EQ(scene_with("canopy.leaf", "brown").canopy.leaf, Canopy::Leaf::brown);
  EXPECT_EQ(scene_with("canopy.leaf", "none").canopy.leaf, Canopy::Leaf::none);
  EXPECT_EQ(scene_with("sun.availability", "turbidity").sun.availability, Sun::Availability::turbidity);
  EXPECT_EQ(scene_with("sun.availability", "ies1984").sun.availability, Sun::Availability::ies1984);
  EXPECT_EQ(scene_with("camera.coc_rule", "d1500").camera.coc_rule, Camera::CocRule::d1500);
  EXPECT_EQ(scene_with("camera.coc_rule", "d1442").camera.coc_rule, Camera::CocRule::d1442);
  EXPECT_EQ(scene_with("camera.coc_rule", "two_pixels").camera.coc_rule, Camera::CocRule::two_pixels);
  EXPECT_EQ(scene_with("camera.support", "tripod").camera.support, Camera::Support::tripod);
  EXPECT_EQ(scene_with("camera.support", "hand").camera.support, Camera::Support::hand);
  EXPECT_EQ(scene_with("camera.support", "bag").camera.support, Camera::Support::bag);
  EXPECT_EQ(scene_with("exposure.tone", "srgb").exposure.tone, Exposure::Tone::srgb);
  EXPECT_EQ(scene_with("exposure.tone", "reinhard").exposure.tone, Exposure::Tone::reinhard);
  EXPECT_EQ(scene_with("ground.kind", "litter").ground.kind, Ground::Kind::litter);
  EXPECT_EQ(scene_with("ground.kind", "moss").ground.kind, Ground::Kind::moss);
  EXPECT_EQ(scene_with("ground.kind", "soil").ground.kind, Ground::Kind::soil);
  EXPECT_EQ(scene_with("ground.kind", "sand").ground.kind, Ground::Kind::sand);
  EXPECT_EQ(scene_with("ground.kind", "none").ground.kind, Ground::Kind::none);
}

TEST(Keys, SaysWhatIsAllowed) {
  EXPECT_EQ(allowed_text(*find_row(rows_of("camera"), "f_number")), "a number from 0.7 to 64");
  EXPECT_EQ(allowed_text(*find_row(rows_of("source"), "beam_deg")), "a number above 0 up to 150 deg");
  EXPECT_EQ(allowed_text(*find_row(rows_of("exposure"), "shutter_s")),
            "\"meter\" or a number from 1/32000 to 3600 s");
  EXPECT_EQ(allowed_text(*find_row(rows_of("sky"), "model")),
            "\"overcast\", \"uniform\", \"general\" or \"off\"");
}

TEST(Keys, NearestWordIsNear) {
  EXPECT_EQ(nearest_word("f_numbr", {"f_number", "focus"}), "f_number");
  EXPECT_EQ(nearest_word("ios", {"iso", "tone"}), "iso");  // two neighbours swapped
  EXPECT_EQ(nearest_word("iox", {"iso", "tone"}), "");     // two changes in three letters is a guess
  EXPECT_EQ(nearest_word("zebra", {"f_number", "focus"}), "");
}

}  // namespace
}  // namespace undercap
