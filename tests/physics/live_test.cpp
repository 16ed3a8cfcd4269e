// A scene that is edited while it is shown (engine/session/live.h): in the end nothing tells it from one that
// was opened as it is now, and its picture is that of 'undercap render'.
#include "engine/session/live.h"

#include <chrono>
#include <stdexcept>
#include <thread>

#include "engine/core/errors.h"
#include "engine/session/edited_scene.h"
#include "engine/session/session.h"
#include "engine/world/update.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

using Clock = std::chrono::steady_clock;

// Narrow, so that a survey has few cells; with a barrel, which moves with the camera.
const std::string lit_set = R"(undercap = 1
[ground]
size_m = 2
relief_mm = 3
[sky]
horizontal_lx = 800
[camera]
position_m = [0.0, -0.4, 0.1]
look_at = [0.0, 0.0, 0.04]
focus = "ball"
format_mm = [4, 24]
[subject]
parts = ["ball"]
[[prop]]
name = "ball"
kind = "sphere"
at_m = [0.0, 0.0, 0.05]
material.surface = { reflectance = 0.6, roughness = 0.5 }
[[prop]]
name = "card"
kind = "card"
at_m = [0.03, 0.06, 0.05]
size_mm = [50, 100]
)" + two_torches + R"([[meter]]
name = "beside the ball"
kind = "incident"
position_m = [0.08, -0.05, 0.02]
)";

constexpr int width = 16, height = 96;

EditedScene edited_set() {
  test_shaders();
  return EditedScene::from_text(lit_set, test_folder() + "/live.toml");
}

void work_for(Live& live, double seconds) {
  const auto end = Clock::now() + std::chrono::duration<double>(seconds);
  while (Clock::now() < end) live.work(0.01);
}

// Until nothing is built and nothing will be, and the picture has samples at full size. A build waits for 0.7
// s after the camera has moved.
void settle(Live& live, std::chrono::milliseconds pause = {}) {
  const auto give_up = Clock::now() + std::chrono::seconds(120);
  auto quiet = Clock::now();
  for (auto now = quiet; now < give_up; now = Clock::now()) {
    // What is built when it begins to work is taken by then.
    const bool built = live.ready() && !live.building();
    live.work(0.02);
    if (!built || live.building()) quiet = Clock::now();
    if (live.exposed() && live.picture().at_full_size() && live.picture().samples() >= 4 &&
        now - quiet > pause)
      return;
  }
  FAIL() << "it does not settle";
}
constexpr std::chrono::milliseconds after_camera{750};

const LiveFilm& film_of(const Live& live) {
  const LiveFilm* film = live.picture().full_film();
  if (!film) throw std::runtime_error("there is no film");
  return *film;
}

// The film that these counts say, from a tracer that has seen nothing but this world.
std::vector<float> film_of(Tracer& tracer, const View& view, const FilmCounts& counts, std::uint32_t seed) {
  Film film = tracer.make_film(view);
  for (std::size_t group = 0; group < counts.size(); ++group)
    for (int pass = 0; pass <= counts[group].passes; ++pass) {
      const int rows = pass < counts[group].passes ? view.height : counts[group].rows;
      if (rows == 0) continue;
      tracer.sample(view, film,
                    {.index = static_cast<std::uint32_t>(pass / 2),
                     .half = static_cast<std::uint32_t>(pass % 2),
                     .seed = seed,
                     .only_group = static_cast<int>(group),
                     .rows = rows});
    }
  return film.read();
}

void expect_as_opened(Live& live, const Scene& scene, std::chrono::milliseconds pause = {}) {
  settle(live, pause);
  ASSERT_FALSE(live.take_fault().has_value());
  const World opened = build_world(scene);
  EXPECT_TRUE(same_geometry(live.world(), opened));
  EXPECT_EQ(live.world().notes, opened.notes);
  ASSERT_EQ(live.world().groups.size(), opened.groups.size());
  for (std::size_t g = 0; g < opened.groups.size(); ++g) {
    EXPECT_EQ(live.world().groups[g].name, opened.groups[g].name);
    EXPECT_EQ(live.world().groups[g].weight(), opened.groups[g].weight()) << opened.groups[g].name;
  }
  // The film that grew through the edits.
  Tracer tracer(test_shaders(), opened);
  const LiveFilm& film = film_of(live);
  EXPECT_EQ(film.film().read(),
            film_of(tracer, film.view(), film.counts(), static_cast<std::uint32_t>(scene.seed)));
}

class LiveEdits : public testing::Test {
 protected:
  LiveEdits() : edited(edited_set()), live(test_shaders()) {
    live.set_size(width, height);
    live.open(edited.scene());
    while (!live.ready()) live.work(0.01);
    work_for(live, 0.3);
  }
  // An edit, and another at once or after a slice of work.
  void edit(const std::string& key, const std::string& value, bool dragging = false) {
    const SceneChange change = edited.set(key, value, key);
    live.edit(edited.scene(), change, dragging);
  }
  void set(const std::string& key, const std::string& value, bool dragging = false) {
    edit(key, value, dragging);
    live.work(0.01);
  }
  EditedScene edited;
  Live live;
};

TEST_F(LiveEdits, OfTheMix) {
  set("source.left.power_pct", "30");
  set("source.right.cct_k", "3000");
  set("exposure.iso", "800");
  set("source.left.on", "false");
  set("sky.horizontal_lx", "300");
  set("source.left.on", "true");
  expect_as_opened(live, edited.scene());
}

TEST_F(LiveEdits, OfLamps) {
  set("source.left.position_m", "[-0.1, -0.2, 0.2]");
  work_for(live, 0.2);
  set("source.right.beam_deg", "30");
  set("source.left.diffuser", "0.5");
  set("source.right.aim", "\"card\"");
  expect_as_opened(live, edited.scene());
}

// Nothing that stands in the set moves or is made finer with these, so nothing is built.
TEST_F(LiveEdits, OfTheLens) {
  set("camera.f_number", "4");
  work_for(live, 0.1);
  set("camera.blades", "5");
  set("camera.blade_turn_deg", "20");
  work_for(live, 0.8);
  EXPECT_FALSE(live.building());
  expect_as_opened(live, edited.scene());
}

TEST_F(LiveEdits, OfTheCamera) {
  set("camera.f_number", "4");
  work_for(live, 0.1);
  set("camera.position_m", "[0.05, -0.42, 0.12]");
  set("camera.focus", "\"card\"");
  set("camera.focal_length_mm", "105");
  expect_as_opened(live, edited.scene(), after_camera);
}

TEST_F(LiveEdits, OfTheDay) {
  set("sky.model", "\"uniform\"");
  work_for(live, 0.1);
  // Another light group comes, and another with the leaves.
  set("sun.on", "true");
  set("canopy.leaf_area_index", "1.5");
  set("render.seed", "7");
  expect_as_opened(live, edited.scene());
}

// While a set is built all else goes on, and then holds in the new one too.
TEST_F(LiveEdits, WhileASetIsBuilt) {
  set("prop.card.visible", "false");
  set("ground.reflectance", "0.3");
  edit("prop.ball.diameter_mm", "44");
  edit("source.left.position_m", "[-0.15, -0.1, 0.15]");
  edit("camera.f_number", "5.6");
  edit("source.right.power_pct", "60");
  edit("sky.model", "\"uniform\"");
  expect_as_opened(live, edited.scene());
}

// A set that has been built is only taken with the next slice of work: what is edited in between holds in it
// too.
TEST_F(LiveEdits, BetweenABuildAndItsTaking) {
  edit("prop.ball.diameter_mm", "44");
  std::this_thread::sleep_for(std::chrono::milliseconds(500));
  edit("source.left.position_m", "[-0.15, -0.1, 0.15]");
  edit("camera.f_number", "5.6");
  edit("source.right.power_pct", "60");
  expect_as_opened(live, edited.scene());
}

TEST_F(LiveEdits, OfADraggedLamp) {
  edited.begin_gesture("Move left");
  for (int i = 1; i <= 12; ++i) {
    const std::string place = "[" + std::to_string(-0.2 + 0.01 * i) + ", -0.2, 0.2]";
    if (i % 3 == 0)
      set("source.left.position_m", place, true);
    else
      edit("source.left.position_m", place, true);
  }
  // Two at once: the second waits for a sample of the first.
  edit("source.left.position_m", "[0.05, -0.25, 0.2]", true);
  edit("source.left.position_m", "[0.05, -0.25, 0.1]", true);
  edited.end_gesture();
  live.released();
  expect_as_opened(live, edited.scene());
}

TEST_F(LiveEdits, OfADraggedCamera) {
  edited.begin_gesture("Move camera");
  for (int i = 1; i <= 6; ++i)
    set("camera.position_m", "[" + std::to_string(0.01 * i) + ", -0.4, 0.1]", true);
  edited.end_gesture();
  live.released();
  expect_as_opened(live, edited.scene(), after_camera);
}

TEST_F(LiveEdits, UndoneAreAsBefore) {
  set("source.left.position_m", "[-0.1, -0.2, 0.2]");
  set("prop.card.turn_deg", "30");
  set("camera.f_number", "4");
  work_for(live, 0.3);
  while (const auto change = edited.undo()) live.edit(edited.scene(), *change, false);
  ASSERT_EQ(edited.text(), lit_set);
  expect_as_opened(live, edited.scene(), after_camera);
}

// What geometry refuses leaves all as it was, also for the build that waits for the camera to rest.
TEST_F(LiveEdits, RefusedByGeometry) {
  set("camera.position_m", "[0.03, -0.4, 0.1]");
  const Scene before = edited.scene();
  const SceneChange change = edited.set("camera.focus", "[0.0, -0.5, 0.1]", "Focus behind the camera");
  EXPECT_THROW(live.edit(edited.scene(), change, false), Refusal);
  edited.undo();
  expect_as_opened(live, before, after_camera);
}

// The raw picture of the window, after edits, against 'undercap render' and 'undercap measure' of the scene
// as it is then: the same exposure, the same light of every group, the same codes, the same readings.
TEST_F(LiveEdits, AreWhatTheCommandsSay) {
  live.set_filtered(false);
  set("source.left.position_m", "[-0.1, -0.2, 0.2]");
  set("source.right.power_pct", "40");
  set("camera.barrel_mm", "0");
  set("exposure.iso", "400");
  settle(live, after_camera);
  for (const auto end = Clock::now() + std::chrono::seconds(120); !live.readings().done();) {
    live.work(0.02);
    ASSERT_LT(Clock::now(), end);
  }
  // A picture that begins anew, and a moment at which what is shown is whole samples in both halves.
  constexpr int wide = 24;
  live.set_size(wide, height);
  while (!live.picture().full_film()) live.work(1e-3);
  unsigned samples = 0;
  for (const auto end = Clock::now() + std::chrono::seconds(120); samples == 0 && Clock::now() < end;) {
    const FilmCounts counts = film_of(live).counts();
    const auto whole = [&](const GroupCount& count) {
      return count.rows == 0 && count.passes % 2 == 0 && count == counts.front();
    };
    const unsigned before = live.picture().shown().width == wide ? live.picture().shown().samples : 0;
    live.work(1e-4);
    if (live.picture().shown().width == wide && live.picture().shown().samples > before &&
        std::all_of(counts.begin(), counts.end(), whole))
      samples = static_cast<unsigned>(counts.front().passes);
  }
  ASSERT_GT(samples, 0u);
  EXPECT_EQ(live.picture().shown().samples, samples);
  EXPECT_FALSE(live.picture().shown().filtered);

  const auto go_on = [](double) { return true; };
  Session session(test_shaders(), edited.scene());
  ASSERT_TRUE(session.survey(Quality::good, {}, go_on));
  const Development& shown = live.development();
  const Development& rendered = session.exposure().development;
  EXPECT_EQ(shown.shutter, rendered.shutter);
  EXPECT_EQ(shown.iso, rendered.iso);
  EXPECT_EQ(shown.gains, rendered.gains);
  const PictureResult picture =
      session.picture({.width = wide, .height = height, .samples = samples, .keep_groups = true}, go_on);
  // The films of both are the same; so are the codes that one film gives.
  Tracer tracer(test_shaders(), session.world());
  const View view{.width = wide, .height = height};
  const FilmCounts counts = even_counts(session.world().groups.size(), samples);
  const Film film(view, film_of(tracer, view, counts, static_cast<std::uint32_t>(edited.scene().seed)));
  const auto means = group_means(film.read(), view.pixels(), tracer.groups(), samples);
  EXPECT_EQ(means, picture.groups);
  const Developer developer(test_shaders());
  const Picture8 codes = developer.develop(session.world(), view, film, samples, rendered);
  const std::vector<std::uint32_t> words = live.picture().codes();
  ASSERT_EQ(words.size(), view.pixels());
  for (std::size_t i = 0; i < words.size(); ++i)
    ASSERT_EQ(words[i] & 0xffffffu, static_cast<std::uint32_t>(codes.rgb[3 * i] | codes.rgb[3 * i + 1] << 8 |
                                                               codes.rgb[3 * i + 2] << 16))
        << i;
  const auto &told = live.readings().readings(), measured = session.readings(Quality::good, {}, go_on);
  ASSERT_EQ(told.size(), measured.size());
  ASSERT_GT(told.size(), 30u);
  for (std::size_t i = 0; i < told.size(); ++i) {
    EXPECT_EQ(told[i].name, measured[i].name);
    // How the subject stands out takes a film of its own, which the window does not take.
    if (told[i].name.starts_with("backdrop.")) {
      EXPECT_TRUE(std::holds_alternative<std::monostate>(told[i].value) || told[i].value == measured[i].value)
          << told[i].name;
      continue;
    }
    if (!told[i].name.starts_with("meter.")) {
      EXPECT_EQ(told[i].value, measured[i].value) << told[i].name;
      EXPECT_EQ(told[i].se, measured[i].se) << told[i].name;
      continue;
    }
    // 'measure' takes a meter's samples in stages, each summed by itself: to the rounding of single
    // precision.
    const double one = std::get<double>(told[i].value), other = std::get<double>(measured[i].value);
    EXPECT_NEAR(one, other, 1e-6 * other) << told[i].name;
    EXPECT_NEAR(told[i].se.value(), measured[i].se.value(), 1e-3 * measured[i].se.value()) << told[i].name;
    EXPECT_GT(other, 0) << told[i].name;
  }
}

}  // namespace
}  // namespace undercap
