// What the commands share: options, opening a scene, progress, interruption.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "engine/gl/context.h"
#include "engine/gl/shader_library.h"
#include "engine/image/picture.h"
#include "engine/report/page.h"
#include "engine/report/typeface.h"
#include "engine/scene/load.h"
#include "engine/session/session.h"
#include "engine/session/sweep_page.h"

namespace undercap {

inline constexpr int exit_done = 0, exit_refused = 1, exit_trouble = 2, exit_interrupted = 130;

// place alone; what is not given is a default of PlaceRequest.
struct PlaceOptions {
  std::string source, card, target, over = "shell", sort = "evenness", aim = "target", map;
  double rise_stops = 1, spill_stops = 0.2;
  std::optional<double> sides_stops, near_m, far_m, height_m, nearest_cm, off_axis_cm, least_angle_deg,
      least_power_pct;
  int offers = 3;
  bool hand = false, all_unbeaten = false;
};

struct SharedOptions {
  std::string scene;
  std::vector<std::string> outputs;
  std::vector<std::string> sets;  // key=value
  std::string variant;
  Quality quality = Quality::good;
  std::optional<double> noise_pct, seconds;
  std::string size;  // WxH
  std::optional<int> seed;
  std::string device;
  std::string shader_dir;
  bool json = false, quiet = false, verbose = false, force = false;
  bool filtered = false;                        // render and sweep
  Overlay::Kind overlay = Overlay::Kind::none;  // render alone
  std::vector<std::string> vary;                // sweep alone, as is what follows
  std::string same, match, csv;
  std::string hold, paper, box, report;
  std::string lesson, variants_file;  // lesson alone
  bool quiz = false;
  std::string watch;                        // window alone
  std::string merged, plot, frames_folder;  // stack alone, as are the next two
  bool rail = false, plan_only = false;
  std::string corrected;  // pocket alone
  PlaceOptions place;
};

// The scene file with the variant and the settings applied; notes go to stderr.
SceneFile open_scene(const SharedOptions& options);

// A picture size from "WxH", or from the longer side and the format's shape.
struct Size {
  int width, height;
};
Size picture_size(const SharedOptions& options, const Scene& scene, int longer_side);

// Refuses outputs that cannot be written, before the long work starts.
void check_outputs(const SharedOptions& options, const std::vector<std::string>& outputs);

// The ending of a file name in small letters; a device or a pipe without one (/dev/stdout) takes 'special'.
std::string ending_of(const std::string& output, const std::string& special);

// The ending of an output, which says its format: refused when it is none of those allowed, of which the
// first serves a device or a pipe. 'option' opens the message.
std::string format_of(const std::string& option, const std::string& output,
                      const std::vector<std::string>& allowed);

// A page as .pdf, or as .png with the scene's text in it.
// Pages of .pdf, or of .png; the second of those is FILE-answers.png.
void write_pages(const SharedOptions& options, const std::string& output, std::span<const Page> pages,
                 std::span<const Picture8> pictures, const Typeface& typeface, const std::string& scene_text);
// The file that the second page of a .png goes to.
std::string answers_file(const std::string& output);
void write_page(const SharedOptions& options, const std::string& output, const Page& page,
                std::span<const Picture8> pictures, const Typeface& typeface, const std::string& scene_text);
// What such a .png, or a picture beside it, says of itself.
std::vector<PictureText> sheet_texts(const std::string& scene_text);

ShaderLibrary shader_library(const SharedOptions& options);
StopRule stop_rule(const SharedOptions& options);

// A line on stderr, unless --quiet.
void tell(const SharedOptions& options, const std::string& line);

// Prints the opening of a line, and a text beside it that wraps at column 100 under its own beginning.
void print_hanging(const std::string& opening, const std::string& text);

// Set once by SIGINT or SIGTERM; a second signal ends the program at once.
bool interrupted();
void watch_interrupts();

// A bar with time left on a terminal, nothing in a pipe; stops the work when interrupted.
class ProgressBar {
 public:
  ProgressBar(const SharedOptions& options, std::string label);
  ~ProgressBar();
  Progress callback();

 private:
  bool show(double done);
  std::string label_;
  bool visible_;
  bool drawn_ = false;
  double start_s_, last_s_ = 0;
};

// Where the bundled scenes are: beside an installed program, or in the source tree.
std::string bundled_scene_folder();

int run_render(const SharedOptions& options);
int run_measure(const SharedOptions& options);
// A sweep and the pages that it makes: 'sweep' and 'lesson'.
struct SweepTask {
  std::string label;  // of the progress bar
  std::vector<std::string> outputs;
  SweepWish wish{};
  std::optional<SweepRows> rows{};
  SweepPageWish page{};  // title, question, remarks; the rest is filled in
};
// The scene as 'open' gives it, with each variant.
int make_sweep(const SharedOptions& options, const SweepTask& task, const OpenVariant& open);
SheetPaper sheet_paper(const SharedOptions& options);

int run_sweep_sheet(const SharedOptions& options);
int run_stack(const SharedOptions& options);
// A sheet with a title and first lines of its own.
int make_stack(const SharedOptions& options, const std::string& title, const std::vector<std::string>& lines);
int run_lesson(const SharedOptions& options);
int run_place_search(const SharedOptions& options);
int run_pocket(const SharedOptions& options);
int run_check(const SharedOptions& options);
int run_window(const SharedOptions& options);

struct ScenesOptions {
  std::string copy;  // name of a bundled scene
  std::string output;
  std::string kind;               // to be written as OBJ
  std::vector<std::string> sets;  // key=value, of that kind
  bool kinds = false, materials = false, json = false, force = false;
};
int run_scenes(const ScenesOptions& options);

// The table, or the JSON of the contract, on stdout.
void print_readings(const SharedOptions& options, const std::string& renderer, const World& world,
                    const std::vector<Reading>& readings);
// The same of every picture of a sweep, with what it varies and keeps.
std::string sweep_json(const std::string& renderer, const std::vector<std::string>& changed,
                       const std::string& kept, const std::vector<Headline>& headlines);
std::string readings_json(const std::string& renderer, const World& world,
                          const std::vector<Reading>& readings);

}  // namespace undercap
