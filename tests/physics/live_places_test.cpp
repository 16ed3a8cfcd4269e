// The map of places of a window (engine/session/live_places.h): the fields are those of Placement, and it is
// made anew when it must be and only then.
#include "engine/session/live_places.h"

#include <chrono>
#include <cmath>
#include <stdexcept>

#include "engine/session/edited_scene.h"
#include "engine/session/place.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

using Clock = std::chrono::steady_clock;

const std::string lit_set = R"(undercap = 1
[ground]
size_m = 2
relief_mm = 0
[sky]
model = "uniform"
horizontal_lx = 200
[exposure]
shutter_s = 0.5
[camera]
position_m = [0.0, -0.4, 0.1]
look_at = [0.0, 0.0, 0.04]
focus = "ball"
barrel_mm = 0
format_mm = [6, 24]
[subject]
parts = ["ball"]
[[prop]]
name = "ball"
kind = "sphere"
at_m = [0.0, 0.0, 0.05]
diameter_mm = 60
material.surface = { reflectance = 0.6, roughness = 1 }
[[prop]]
name = "card"
kind = "card"
at_m = [0.0, 0.08, 0.09]
size_mm = [50, 100]
)" + two_torches;

class LiveMap : public testing::Test {
 protected:
  LiveMap()
      : edited(EditedScene::from_text(lit_set, test_folder() + "/places.toml")),
        live(test_shaders()),
        places(test_shaders()) {
    live.set_size(16, 16);
    live.open(edited.scene());
    settle();
  }
  void work() {
    live.work(0.01);
    places.work(live, asked, 0.01);
  }
  // The survey is the last one, which makes a map anew.
  bool whole() const {
    const Survey* survey = live.readings().survey();
    return live.readings().current() && survey && survey->passes >= LiveReadings::whole_passes;
  }
  // Until survey and map are both of the world as it is.
  void settle() {
    const auto give_up = Clock::now() + std::chrono::seconds(120);
    while (!(live.ready() && !live.building() && whole() && places.current())) {
      if (Clock::now() > give_up) FAIL() << "no map: " << places.fault();
      work();
    }
  }
  const PlaceMap& map() const {
    if (!places.map()) throw std::runtime_error("there is no map");
    return *places.map();
  }
  void set(const std::string& key, const std::string& value) {
    live.edit(edited.scene(), edited.set(key, value, key), false);
  }
  // Whether an edit makes a new map; the old one is there until then.
  bool renews(const std::string& key, const std::string& value) {
    const std::uint64_t before = places.number();
    set(key, value);
    work();
    EXPECT_TRUE(places.map());
    settle();
    return places.number() != before;
  }

  EditedScene edited;
  Live live;
  LivePlaces places;
  PlacesAsked asked{.source = "left"};
};

// In slices of rows, over many frames: the same numbers as all places at once, since no place's answer hangs
// on which others are asked. Every bit.
TEST_F(LiveMap, HasTheFieldsOfPlacement) {
  const World& world = live.world();
  const Source left = source_of(world.scene, "left");
  Source full = left;
  full.power_pct = 100;
  const CarriedLamp carried = carried_lamp(world.scene, full);
  const ProbeLamp lamp{carried.lamp, 0, carried.group.colour, 0};
  const Placement& placement = *places.placement();
  for (const bool level : {true, false}) {
    const std::vector<PlaceFields> whole = placement.fields(
        live.tracer(), lamp, carried.group.power,
        slice_places(world, placement.target_middle(), {.level = level, .through_m = left.position_m}),
        LivePlaces::lamp_samples);
    const MapSlice& slice = level ? map().plan : map().elevation;
    ASSERT_EQ(slice.field.value.size(), whole.size());
    std::size_t known = 0;
    for (std::size_t i = 0; i < whole.size(); ++i) {
      if (whole[i].power_pct > 0 && std::isfinite(whole[i].power_pct)) {
        EXPECT_EQ(slice.field.value[i], whole[i].power_pct);
        ++known;
      } else {
        EXPECT_TRUE(std::isnan(slice.field.value[i]));
      }
    }
    EXPECT_GT(known, whole.size() / 4);
    // A place that is asked for alone.
    const auto one = places.at(live, whole[100].position_m);
    ASSERT_TRUE(one.has_value());
    EXPECT_EQ(one->power_pct, whole[100].power_pct);
    EXPECT_EQ(one->limits, whole[100].limits);
    EXPECT_EQ(one->backdrop_stops, whole[100].backdrop_stops);
  }
}

// The level slice lies at the lamp's height, the upright one as far to the camera's right as the lamp. The
// camera looks along y.
TEST_F(LiveMap, SlicesGoThroughTheLamp) {
  EXPECT_NEAR(map().plan.at_m, 0.2, 1e-12);
  EXPECT_NEAR(map().elevation.at_m, -0.2, 1e-12);
  EXPECT_TRUE(renews("source.left.position_m", "[-0.2, -0.2, 0.25]"));
  EXPECT_NEAR(map().plan.at_m, 0.25, 1e-12);
  EXPECT_NEAR(map().elevation.at_m, -0.2, 1e-12);
  EXPECT_TRUE(renews("source.left.position_m", "[-0.1, -0.2, 0.25]"));
  EXPECT_NEAR(map().elevation.at_m, -0.1, 1e-12);
  // Along the camera's axis it moves within both slices.
  EXPECT_FALSE(renews("source.left.position_m", "[-0.1, -0.25, 0.25]"));
}

TEST_F(LiveMap, IsStaleWhenItMustBe) {
  // Not by the lamp's own power, its switch or where it aims: the map is of a lamp that is carried about.
  EXPECT_FALSE(renews("source.left.power_pct", "30"));
  EXPECT_FALSE(renews("source.left.on", "false"));
  EXPECT_FALSE(renews("source.left.aim", "[0, 0, 0.1]"));
  EXPECT_TRUE(renews("source.left.beam_deg", "40"));
  EXPECT_TRUE(renews("source.left.flux_lm", "60"));
  EXPECT_TRUE(renews("source.right.power_pct", "50"));
  EXPECT_TRUE(renews("source.right.position_m", "[0.2, -0.2, 0.1]"));
  EXPECT_TRUE(renews("sky.horizontal_lx", "300"));
  EXPECT_TRUE(renews("camera.position_m", "[0, -0.42, 0.1]"));
  EXPECT_TRUE(renews("prop.card.at_m", "[0.0, 0.12, 0.09]"));
}

// Power at unit light is (2^s - 1) L / l: three times as much for 2 stops as for 1 (placement.h), at every
// place.
TEST_F(LiveMap, FollowsWhatIsAsked) {
  const std::vector<double> one = map().plan.field.value;
  asked.rise_stops = 2;
  work();
  settle();
  const std::vector<double> two = map().plan.field.value;
  for (std::size_t i = 0; i < one.size(); ++i)
    if (!std::isnan(one[i])) {
      EXPECT_NEAR(two[i] / one[i], 3, 1e-9);
    }
  asked.target = Address::parse("card");
  const std::uint64_t before = places.number();
  work();
  settle();
  EXPECT_GT(places.number(), before);
  EXPECT_GT(places.question().target_m.y, 0.05);
  asked.source = "right";
  work();
  settle();
  EXPECT_NEAR(map().plan.at_m, 0.1, 1e-12);
}

TEST_F(LiveMap, SaysWhyThereIsNone) {
  asked.target = Address::parse("nothing");
  for (int i = 0; i < 3; ++i) work();
  EXPECT_NE(places.fault().find("'nothing' has no surface"), std::string::npos);
  EXPECT_FALSE(places.map());
  EXPECT_FALSE(places.at(live, {0.1, -0.1, 0.1}));
  asked.target.reset();
  work();
  settle();
  EXPECT_TRUE(places.fault().empty());
}

}  // namespace
}  // namespace undercap
