// Films and surveys that grow in slices against those that are made in one go: not nearly, but bit for bit.
#include "engine/render/live_film.h"

#include <fmt/format.h>

#include <cmath>

#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr int width = 40, height = 44;  // no multiple of a slice
constexpr std::uint32_t seed = 3;

// Sky, torch and a second torch: three light groups.
const std::string lit_set = R"([ground]
size_m = 2
relief_mm = 0
[sky]
horizontal_lx = 800
[camera]
position_m = [0.0, -0.5, 0.1]
barrel_mm = 0
format_mm = [12, 24]
[subject]
parts = ["ball"]
[[prop]]
name = "ball"
kind = "sphere"
at_m = [0.0, 0.0, 0.05]
material.surface = { reflectance = 0.6, roughness = 0.5 }
)" + two_torches + R"(cct_k = 3000
)";

const View whole_view{.width = width, .height = height};

void take_pass(Tracer& tracer, Film& film, unsigned pass, SampleId part = {}) {
  part.index = pass / 2;
  part.half = pass % 2;
  part.seed = seed;
  tracer.sample(whole_view, film, part);
}

Film film_of(Tracer& tracer, unsigned passes) {
  Film film = tracer.make_film(whole_view);
  for (unsigned pass = 0; pass < passes; ++pass) take_pass(tracer, film, pass);
  return film;
}

// A pace at which the next slice that is hardly given any time has so many rows.
SlicePace pace_of(int rows) {
  SlicePace pace;
  while (pace.rows(1e-9, width, 1) < rows) pace.took(1e-5, width, rows * 10001);
  return pace;
}

// One slice.
void take_slice(LiveFilm& film, Tracer& tracer, int rows, unsigned most_samples = 1000) {
  SlicePace pace = pace_of(rows);
  film.advance(tracer, pace, 1e-9, most_samples);
}

std::vector<std::uint32_t> codes_of(const Developer& developer, const World& world, const Film& film,
                                    const Mix& mix, const FilmCounts& counts) {
  const Buffer codes = developer.codes(world, whole_view, film, film_weights(mix, counts),
                                       {.shutter = Duration(0.02), .iso = 200});
  std::vector<std::uint32_t> words(whole_view.pixels());
  codes.read(std::as_writable_bytes(std::span(words)));
  return words;
}

TEST(LiveFilm, SlicesMakeTheFilmOfOneGo) {
  const World world = world_of(lit_set);
  Tracer tracer(test_shaders(), world);
  ASSERT_EQ(tracer.groups(), 3);
  LiveFilm live(tracer, width, height, seed);
  const int step = tracer.slice_rows(), sizes[] = {step, 3 * step, 2 * step, 100 * step, 5 * step};
  int slices = 0;
  while (live.samples() < 6) take_slice(live, tracer, sizes[slices++ % 5]);
  EXPECT_GT(slices, 12);
  EXPECT_EQ(live.film().read(), film_of(tracer, 6).read());
  for (const GroupCount& count : live.counts()) EXPECT_EQ(count, (GroupCount{6, 0}));
  // It ends at the samples that are asked for.
  take_slice(live, tracer, step, 6);
  EXPECT_EQ(live.counts().front(), (GroupCount{6, 0}));
}

// The kernel itself takes any rows, for all groups or one.
TEST(LiveFilm, SlicesOfAnyRows) {
  const World world = world_of(lit_set);
  Tracer tracer(test_shaders(), world);
  const std::vector<float> whole = film_of(tracer, 2).read();
  for (const int rows : {1, 5, 7, 13}) {
    Film film = tracer.make_film(whole_view);
    for (unsigned pass = 0; pass < 2; ++pass)
      for (int group = 0; group < 3; ++group)
        for (int row = 0; row < height; row += rows)
          take_pass(tracer, film, pass, {.only_group = group, .first_row = row, .rows = rows});
    EXPECT_EQ(film.read(), whole) << rows;
  }
}

// Groups that begin anew in the middle of a pass, one and then another, catch up with the others.
TEST(LiveFilm, GroupsCatchUp) {
  const World world = world_of(lit_set);
  Tracer tracer(test_shaders(), world);
  const int step = tracer.slice_rows();
  const std::vector<float> whole = film_of(tracer, 8).read();
  for (int first = 0; first < 3; ++first) {
    LiveFilm live(tracer, width, height, seed);
    for (int slice = 0; slice < 15; ++slice) take_slice(live, tracer, step);
    live.restart_group(first);
    EXPECT_EQ(live.samples(), 0u);
    for (int slice = 0; slice < 8; ++slice) take_slice(live, tracer, 2 * step);
    live.restart_group((first + 1) % 3);
    int slices = 0;
    while (live.samples() < 8) take_slice(live, tracer, (1 + slices++ % 3) * step);
    while (live.counts()[0] != GroupCount{8, 0} || live.counts()[1] != GroupCount{8, 0} ||
           live.counts()[2] != GroupCount{8, 0}) {
      ASSERT_LT(slices++, 1000) << "a group is ahead, and the others do not come up to it";
      ASSERT_LE(live.counts()[0].passes, 8);
      take_slice(live, tracer, step);
    }
    EXPECT_EQ(live.film().read(), whole) << first;
  }
}

TEST(LiveFilm, BeginsAnew) {
  const World world = world_of(lit_set);
  Tracer tracer(test_shaders(), world);
  LiveFilm live(tracer, width, height, seed);
  for (int slice = 0; slice < 9; ++slice) take_slice(live, tracer, tracer.slice_rows());
  live.restart();
  EXPECT_EQ(live.samples(), 0u);
  while (live.samples() < 2) take_slice(live, tracer, tracer.slice_rows());
  EXPECT_EQ(live.film().read(), film_of(tracer, 2).read());
}

// In the middle of a pass, rows that it has reached are the picture with that pass, and the others the one
// without it, whichever half the pass goes into; for each group by its own count.
TEST(LiveFilm, MeansInTheMiddleOfAPass) {
  const World world = world_of(lit_set);
  Tracer tracer(test_shaders(), world);
  const Developer developer(test_shaders());
  std::vector<Film> films;
  for (unsigned passes = 0; passes < 7; ++passes) films.push_back(film_of(tracer, passes));
  LiveFilm live(tracer, width, height, seed);
  const auto expect_means = [&] {
    for (std::size_t group = 0; group < 3; ++group) {
      Mix mix(3, glm::dvec3(0));
      mix[group] = mix_of(world)[group];
      const GroupCount count = live.counts()[group];
      const auto at = [&](int passes) {
        return codes_of(developer, world, films[static_cast<std::size_t>(passes)], mix,
                        FilmCounts(3, GroupCount{passes, 0}));
      };
      const auto shown = codes_of(developer, world, live.film(), mix, live.counts()),
                 with = at(count.passes + 1), without = at(count.passes);
      const std::size_t reached = static_cast<std::size_t>(count.rows * width);
      for (std::size_t i = 0; i < shown.size(); ++i)
        ASSERT_EQ(shown[i], i < reached ? with[i] : without[i])
            << fmt::format("group {}, {} passes and {} rows, pixel {}", group, count.passes, count.rows, i);
      // Another pass is another picture, or this would show nothing.
      if (count.rows > 0 && count.passes > 0) {
        EXPECT_NE(with, without);
      }
    }
  };
  for (int slice = 0; slice < 20; ++slice) {
    take_slice(live, tracer, tracer.slice_rows());
    if (slice % 3 == 1) expect_means();
  }
  live.restart_group(1);
  for (int slice = 0; slice < 13; ++slice) {
    take_slice(live, tracer, tracer.slice_rows());
    if (slice % 4 == 2) expect_means();
  }
}

bool same(const RegionSums& a, const RegionSums& b) {
  if (a.groups() != b.groups() || a.samples() != b.samples()) return false;
  for (unsigned batch = 0; batch < batch_count; ++batch) {
    if (a.count_of(batch) != b.count_of(batch)) return false;
    for (std::size_t g = 0; g < a.groups(); ++g)
      if (a.luminance_of(batch, g) != b.luminance_of(batch, g) ||
          a.weighted_of(batch, g) != b.weighted_of(batch, g))
        return false;
  }
  return true;
}

TEST(SurveyRun, SlicesMakeTheSurveyOfOneGo) {
  const World world = world_of(lit_set);
  Tracer tracer(test_shaders(), world);
  for (const bool white : {false, true}) {
    const Survey whole = take_survey(
        tracer, world, 2, white, [](double) { return true; }, 20);
    SurveyRun run(tracer, world, white, 20);
    Film other = tracer.make_film(whole_view);
    int slices = 0, rounds = 0;
    while (run.survey().passes < 2) {
      if (run.advance(tracer, (1 + slices++ % 2) * tracer.slice_rows())) ++rounds;
      // The tracer does other things in between.
      if (slices % 7 == 0) take_pass(tracer, other, 0);
    }
    EXPECT_EQ(rounds, 2);
    EXPECT_GT(slices, 100);
    const Survey& sliced = run.survey();
    EXPECT_TRUE(same(sliced.whole, whole.whole));
    EXPECT_TRUE(same(sliced.subject, whole.subject));
    EXPECT_TRUE(same(sliced.backdrop, whole.backdrop));
    ASSERT_EQ(sliced.part.size(), whole.part.size());
    for (std::size_t i = 0; i < whole.part.size(); ++i) EXPECT_TRUE(same(sliced.part[i], whole.part[i]));
    EXPECT_EQ(sliced.subject_depth_m, whole.subject_depth_m);
    EXPECT_EQ(sliced.cell, whole.cell);
    EXPECT_GT(whole.subject.samples(), 0);
  }
}

}  // namespace
}  // namespace undercap
