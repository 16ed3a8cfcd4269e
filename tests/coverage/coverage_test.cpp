// Do the intervals hold? The same small scene with 400 seeds (200 of them with --noise), each reading against
// its truth: a closed form where there is one, else a run of 64 times as many samples or more, whose own
// error is at most an eighth of one run's (Sobol points gain more than the root) and moves a coverage by a
// tenth of a per cent.
//
// Batches are smaller here than a user's (a cell is 1/10 of the frame, a meter's batch 8 x 8 samples), so
// that they are further from the normal law: what holds here holds there.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>
#include <map>
#include <memory>

#include "engine/core/errors.h"
#include "engine/measure/readings.h"
#include "engine/measure/stages.h"
#include "engine/render/picture_job.h"
#include "tests/coverage/tally.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

// A ball, out of focus at its rim, on a floor, under a sky and a torch; meters in the open and in the ball's
// shade, a spot on its rim.
const std::string scene_text = R"([ground]
kind = "none"
[sky]
horizontal_lx = 800
[camera]
position_m = [0.0, -0.3, 0.12]
look_at = [0.0, 0.0, 0.03]
f_number = 2.0
barrel_mm = 0
[exposure]
shutter_s = 0.02
white_balance_k = 5500
[subject]
parts = ["ball"]
backdrop = ["floor"]
[[prop]]
name = "floor"
kind = "plane"
at_m = [0.0, 0.0, 0.0]
size_m = [1.0, 1.0]
material.surface = { reflectance = 0.3 }
[[prop]]
name = "ball"
kind = "sphere"
at_m = [0.0, 0.0, 0.03]
diameter_mm = 60
material.surface = { reflectance = 0.5, roughness = 0.6 }
[[source]]
name = "torch"
kind = "torch"
position_m = [0.4, 0.0, 1.0]
aim = [0.4, 0.0, 0.0]
intensity_cd = 600
beam_deg = 120
diameter_mm = 100
[[meter]]
name = "open"
kind = "incident"
position_m = [0.4, 0.0, 0.6]
normal = [0, 0, 1]
[[meter]]
name = "shade"
kind = "incident"
position_m = [-0.025, 0.01, 0.005]
normal = [0, 0, 1]
[[meter]]
name = "rim"
kind = "spot"
at = [0.42, 0.5]
diameter_pct = 10
)";

constexpr int cells_high = 10, side = 8;
const View picture_view{.width = 32, .height = 16};

struct Mode {
  std::string name;
  Goal survey, meter;
  PictureRequest picture;
};
// The noises are such that runs end at different stages; the table says how many where.
const Mode fixed{"fixed", {1, 1, {}}, {1, 1, {}}, {.samples = 32}};
const Mode adaptive{"adaptive", {1, 16, 1.08}, {1, 64, 0.8}, {.noise_pct = 0.22}};

struct Answer {
  std::vector<Reading> readings;
  std::vector<TileSums> tiles;
  std::vector<unsigned> passes;  // of the survey, of the meters; samples of the tiles
};

Answer answer_of(Tracer& tracer, const World& world, const Mode& mode) {
  const auto go_on = [](double) { return true; };
  Survey survey = start_survey(world, false, cells_high);
  extend_survey_to(tracer, world, survey, mode.survey, go_on);
  std::vector<MeterSums> meters;
  for (const Meter& meter : world.scene.meters)
    meters.push_back({meter, take_meter_to(
                                 tracer, world, meter, mode.meter, [] { return true; }, side)});
  const Survey white = take_survey(tracer, world, survey.passes, true, go_on, cells_high);
  const ExposureChoice exposure = choose_exposure(world, survey, white);
  Answer run;
  run.readings = all_readings({world, survey, exposure, meters, nullptr, &white});
  run.passes.push_back(survey.passes);
  for (const MeterSums& meter : meters)
    run.passes.push_back(static_cast<unsigned>(meter.sums.samples()) / (batch_count * side * side));
  Film film = tracer.make_film(picture_view);
  run.tiles = sample_band(tracer, world, mix_of(world), picture_view, film, mode.picture, 0, go_on).tiles;
  for (const TileSums& tile : run.tiles) run.passes.push_back(tile.samples);
  return run;
}

struct Wanted {
  const char *family, *reading;
  std::optional<double> closed_form = {};
};

// The torch is Lambertian, its disc (R = 0.05 m) 0.4 m above the open meter: E = I0 / (R^2 + d^2), and
// nothing but it and the sky stands over that meter.
constexpr double torch_lx = 600 / (0.05 * 0.05 + 0.4 * 0.4);
const Wanted wanted[] = {
    {"luminance", "part.ball/surface.luminance_cd_m2"},
    {"luminance", "part.floor/surface.luminance_cd_m2"},
    {"luminance", "part.ball/surface.stops"},
    {"rise", "rise.torch.ball/surface_stops"},
    {"rise", "spill.torch_stops"},
    {"contrast", "contrast.subject_backdrop_stops"},
    {"incident", "meter.open.illuminance_lx", 800 + torch_lx},
    {"incident", "meter.open.sky_lx", 800},
    {"incident", "meter.open.torch_lx", torch_lx},
    {"incident", "meter.shade.illuminance_lx"},
    {"incident", "meter.shade.torch_lx"},
    {"spot", "meter.rim.luminance_cd_m2"},
    {"figure", "depth.needed_mm"},
    {"sides", "light.lit_side_lx"},
    {"sides", "light.shadow_side_lx"},
    {"sides", "light.sides_stops"},
};

const Reading& reading_of(const Answer& run, const std::string& name) {
  for (const Reading& reading : run.readings)
    if (reading.name == name) return reading;
  UNDERCAP_CHECK(false, "a reading that is wanted exists");
  return run.readings.front();
}

struct Truth {
  std::vector<double> reading, tile;
};

Truth truth_of(Tracer& tracer, World world) {
  world.scene.seed = 1'000'000;
  const Mode large{"large", {256, 256, {}}, {128, 128, {}}, {.samples = 1024}};
  const Answer run = answer_of(tracer, world, large);
  Truth truth;
  for (const Wanted& w : wanted)
    truth.reading.push_back(w.closed_form ? *w.closed_form
                                          : std::get<double>(reading_of(run, w.reading).value));
  for (const TileSums& tile : run.tiles) truth.tile.push_back(tile.luminance());
  return truth;
}

// One world, one tracer and one truth for both modes.
class Coverage : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    world_ = std::make_unique<World>(world_of(scene_text));
    tracer_ = std::make_unique<Tracer>(test_shaders(), *world_);
    truth_ = truth_of(*tracer_, *world_);
  }
  static void TearDownTestSuite() {
    tracer_.reset();
    world_.reset();
  }

  static void hold(const Mode& mode, int seeds) {
    Tally tally(mode.name, seeds);
    std::vector<std::map<unsigned, int>> stopped_at(6);  // how many runs ended at how many passes
    for (int seed = 1; seed <= seeds; ++seed) {
      world_->scene.seed = seed;
      const Answer run = answer_of(*tracer_, *world_, mode);
      for (std::size_t i = 0; i < std::size(wanted); ++i) {
        const Wanted& w = wanted[i];
        const Reading& reading = reading_of(run, w.reading);
        const double* value = std::get_if<double>(&reading.value);
        ASSERT_TRUE(value && reading.se) << w.reading << ": " << reading.note;
        const std::string_view family = w.family;
        const int freedom = family == "figure" || family == "sides" ? eighths - 1 : whole_freedom;
        tally.add(w.family, w.reading, *value, *reading.se, student_t_95(freedom), truth_.reading[i],
                  reading.note.find("(?)") != std::string::npos);
      }
      for (std::size_t i = 0; i < run.passes.size(); ++i) ++stopped_at[i][run.passes[i]];
      for (std::size_t t = 0; t < run.tiles.size(); ++t) {
        // 256 pixels: the normal law.
        tally.add("picture", fmt::format("tile {}", t), run.tiles[t].luminance(),
                  run.tiles[t].standard_error(), 1.96, truth_.tile[t], false);
      }
    }
    fmt::print("{}: runs by where they ended (survey, meters, tiles): {}\n", mode.name,
               fmt::join(stopped_at, ", "));
    tally.print();
    tally.check();
  }

 private:
  static inline std::unique_ptr<World> world_;
  static inline std::unique_ptr<Tracer> tracer_;
  static inline Truth truth_;
};

// 400 seeds know a coverage of 93 % to 1.3 %, and 91 % is what a family must hold; 200 know it to 1.8 %. Runs
// with --noise take three times as long.
TEST_F(Coverage, Fixed) { hold(fixed, 400); }
TEST_F(Coverage, Adaptive) { hold(adaptive, 200); }

}  // namespace
}  // namespace undercap
