// The words of the command line: what may be given, and what a wrong one is told.
#include "app/cli/command_line.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <filesystem>

#include "engine/core/errors.h"
#include "engine/scene/keys.h"

namespace undercap {
namespace {

constexpr std::string_view command_names[] = {"render", "measure", "place", "sweep",  "lesson",
                                              "stack",  "pocket",  "check", "scenes", "window"};

// A number within a range, told in one sentence. Never by the locale: a point is a point.
CLI::Validator number_from(double low, double high, std::string unit, bool whole = false) {
  return CLI::Validator(
      [=](const std::string& text) {
        double value = 0;
        const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
        const bool good = read.ec == std::errc{} && read.ptr == text.data() + text.size() && value >= low &&
                          value <= high && (!whole || value == std::floor(value));
        return good ? std::string()
                    : fmt::format("'{}'; allowed: a {}number from {} to {}{}", text, whole ? "whole " : "",
                                  low, high, unit);
      },
      "");
}

Overlay::Kind overlay_of(const std::string& word) {
  constexpr std::pair<std::string_view, Overlay::Kind> names[] = {
      {"clipping", Overlay::Kind::clipping},
      {"stops", Overlay::Kind::stops},
      {"sharp-zone", Overlay::Kind::sharp_zone},
      {"focus-plane", Overlay::Kind::focus_plane}};
  for (const auto& [name, kind] : names)
    if (name == word) return kind;
  throw CLI::ValidationError("--overlay",
                             fmt::format("'{}'; allowed: clipping, stops, sharp-zone, focus-plane", word));
}

void add_scene_options(CLI::App& command, SharedOptions& options) {
  command
      .add_option("scene", options.scene,
                  "a scene file, or the name of a bundled scene ('undercap scenes' lists them)")
      ->required()
      ->type_name("");
  command
      .add_option("--set", options.sets,
                  "change one value of the scene: --set camera.f_number=8; again and again")
      ->allow_extra_args(false)
      ->type_name("KEY=VALUE");
  command.add_flag("--quiet", options.quiet, "say nothing but what is wrong");
  command.add_flag("--verbose", options.verbose, "say more: triangles, times");
}

void add_variant_options(CLI::App& command, SharedOptions& options) {
  command.add_option("--variant", options.variant, "apply a variant of the scene")->type_name("NAME");
  command.add_flag("--json", options.json, "print JSON on standard output");
}

void add_sampling_options(CLI::App& command, SharedOptions& options, const char* output,
                          const char* quality) {
  command.add_option("-o,--output", options.outputs, output)->allow_extra_args(false)->type_name("FILE");
  command
      .add_option_function<std::string>(
          "--quality",
          [&options](const std::string& word) {
            constexpr std::pair<std::string_view, Quality> names[] = {
                {"draft", Quality::draft}, {"good", Quality::good}, {"fine", Quality::fine}};
            const auto* found = std::find_if(std::begin(names), std::end(names),
                                             [&](const auto& name) { return name.first == word; });
            if (found == std::end(names))
              throw CLI::ValidationError("--quality", fmt::format("'{}'; allowed: draft, good, fine", word));
            options.quality = found->second;
          },
          quality)
      ->type_name("WORD");
  command.add_option("--noise", options.noise_pct, "or stop at this standard error, per cent")
      ->check(number_from(0.05, 100, " %"))
      ->type_name("PCT");
  command.add_option("--seconds", options.seconds, "or stop after this many seconds of sampling")
      ->check(number_from(0.05, 1e6, " s"))
      ->type_name("S");
  command.add_option("--seed", options.seed, "seed of the samples, in place of render.seed")
      ->check(number_from(0, 2147483647, "", true))
      ->type_name("N");
  command
      .add_option("--device", options.device,
                  "a number, 'software', or a part of the renderer's name; first choice: a graphics card")
      ->type_name("D");
  command
      .add_option("--shader-dir", options.shader_dir,
                  "read the shaders from this folder, to try changes without building")
      ->type_name("FOLDER");
  command.add_flag("--force", options.force, "replace existing files");
}

void add_sheet_options(CLI::App& command, SharedOptions& options) {
  command
      .add_option("--paper", options.paper, "a4 (without it), letter, or slide: 16 by 9 with large letters")
      ->check(CLI::IsMember({"a4", "letter", "slide"}))
      ->type_name("WORD");
  command.add_flag("--quiz", options.quiz,
                   "the pictures without words in another order, and the answers as a second page");
}

void add_place_options(CLI::App& command, PlaceOptions& options) {
  const auto number = [&](const char* name, auto& to, double low, double high, const std::string& unit,
                          const char* type, const char* help) {
    command.add_option(name, to, help)->check(number_from(low, high, unit))->type_name(type);
  };
  command
      .add_option("--source", options.source,
                  "the lamp to place; without it the first of the scene, or else a pocket torch")
      ->type_name("NAME");
  command
      .add_option("--card", options.card,
                  "place a card instead: a card of the scene, or white, silver, black (A5)")
      ->type_name("NAME");
  command.add_option("--target", options.target, "what to light: prop/part or prop; without it the subject")
      ->type_name("ADDRESS");
  number("--rise", options.rise_stops, 0.05, 8, " stops", "STOPS",
         "how much brighter the target is to be; without it 1");
  number("--sides", options.sides_stops, 0.05, 8, " stops", "STOPS",
         "in place of --rise: how far the subject's lit side is to stand above its shadow side");
  number("--spill", options.spill_stops, 0.005, 8, " stops", "STOPS",
         "the most that backdrop and foreground may rise; without it 0.2");
  command
      .add_option("--over", options.over, "places to try: shell around the target (without it), plane, box")
      ->check(CLI::IsMember({"shell", "plane", "box"}))
      ->type_name("WORD");
  number("--near", options.near_m, 0.02, 5, " m", "M",
         "with shell: the nearest distance from the target, m; without it 0.07, more for a large panel");
  number("--far", options.far_m, 0.05, 5, " m", "M",
         "the farthest distance, or half a side, m; without it 0.6, more for a large panel");
  number("--height", options.height_m, -1, 3, " m", "M",
         "with plane: its height above the target, m; without it 0.1");
  command.add_flag("--hand", options.hand,
                   "held by a hand beside the camera: within its reach, the arm out of the picture");
  number("--nearest", options.nearest_cm, 0, 300, " cm", "CM",
         "least distance from the target, cm; without it 5");
  number("--off-axis", options.off_axis_cm, 0, 100, " cm", "CM",
         "least distance from the lens axis, cm; without it 3");
  number("--least-angle", options.least_angle_deg, 0, 180, " degrees", "DEG",
         "least angle from the lens axis, so that form is kept; without it 25");
  number("--least-power", options.least_power_pct, 0.001, 100, " %", "PCT",
         "the least power that the lamp can be set to; without it 10");
  command
      .add_option("--aim", options.aim,
                  "where the lamp looks: target (without it), or scene: where the scene aims it")
      ->check(CLI::IsMember({"target", "scene"}))
      ->type_name("WORD");
  command
      .add_option("--sort", options.sort,
                  "what counts first: evenness (without it), power, spill, softness, angle, distance")
      ->check(CLI::IsMember({"evenness", "power", "spill", "softness", "angle", "distance"}))
      ->type_name("WORD");
  command
      .add_option("--offers", options.offers, "how many places to offer and render, 1 to 11; without it 3")
      ->check(number_from(1, 11, "", true))
      ->type_name("N");
  command.add_flag("--unbeaten", options.all_unbeaten,
                   "list every place that nothing beats in power, spill and evenness together");
  command.add_option("--map", options.map, "also write the map on plan and elevation, .pdf, .svg or .png")
      ->type_name("FILE");
}

// The first argument that the program makes nothing of, as a sentence.
std::string about_extra(const CLI::App& command, const std::string& extra) {
  if (extra.starts_with('-')) {
    std::vector<std::string> names;
    for (const CLI::Option* option : command.get_options())
      for (const std::string& name : option->get_lnames()) names.push_back("--" + name);
    const std::string nearest = nearest_word(extra.substr(0, extra.find('=')), {names.begin(), names.end()});
    return fmt::format("unknown option '{}'; {}", extra,
                       nearest.empty()
                           ? fmt::format("'undercap {} --help' lists the options", command.get_name())
                           : fmt::format("did you mean '{}'?", nearest));
  }
  return fmt::format("'{}' is one argument too many; names with blanks need quotes", extra);
}

// Whether the first argument is a scene, which alone means: open it in the window.
bool names_scene(const std::string& word) {
  std::error_code none;
  return word.ends_with(".toml") || std::filesystem::is_regular_file(word, none) ||
         std::filesystem::is_regular_file(std::filesystem::path(bundled_scene_folder()) / (word + ".toml"),
                                          none);
}

bool has_display() { return std::getenv("DISPLAY") || std::getenv("WAYLAND_DISPLAY"); }

// The command that the first argument is meant to be.
void refuse_unknown_command(const std::string& word) {
  if (word.starts_with('-') ||
      std::find(std::begin(command_names), std::end(command_names), word) != std::end(command_names))
    return;
  const std::string nearest = nearest_word(word, {std::begin(command_names), std::end(command_names)});
  throw Refusal(fmt::format("there is no command '{}'; {}commands: {}", word,
                            nearest.empty() ? "" : fmt::format("did you mean '{}'? ", nearest),
                            fmt::join(command_names, ", ")));
}

}  // namespace

CommandLine::CommandLine()
    : app_(std::make_unique<CLI::App>(
          "Undercap: a rehearsal bench for close-up photographs of the woodland floor.")) {
  app_->name("undercap");
  app_->set_version_flag("--version", "undercap " UNDERCAP_VERSION, "print the version");
  app_->get_help_ptr()->description("print this; 'undercap render --help' says what render takes");
  app_->require_subcommand(1);
  CLI::App* render = app_->add_subcommand(
      "render", "Render a scene: a picture as the camera would show it (.png), or cd/m2 by light (.exr).");
  CLI::App* measure = app_->add_subcommand(
      "measure",
      "Print the readings of a scene: stops, depth, exposure, light, each with its standard error.");
  CLI::App* sweep = app_->add_subcommand(
      "sweep",
      "Render a scene under one or two things varied side by side: a sheet with the readings that matter.");
  CLI::App* lesson = app_->add_subcommand(
      "lesson", "A ready comparison to teach with, on one page: question, pictures, numbers, why.");
  CLI::App* stack = app_->add_subcommand("stack",
                                         "Plan a focus stack of the subject, render and merge it: a sheet "
                                         "with the merge beside the single frames "
                                         "that one would take instead.");
  CLI::App* place = app_->add_subcommand("place",
                                         "Find where to hold a lamp: places that raise the target as wished, "
                                         "without spill, out of the picture.");
  CLI::App* pocket = app_->add_subcommand(
      "pocket", "Write the card to take along: drawings, light and time, what to check, on two sides of A5.");
  CLI::App* check = app_->add_subcommand("check", "Say everything that is wrong with a scene file.");
  CLI::App* scenes =
      app_->add_subcommand("scenes", "List or copy the bundled scenes; list what a set can be built from.");
  CLI::App* window = app_->add_subcommand(
      "window", "Open a scene to work on, the last one again or the demo; 'undercap SCENE' does the same.");
  window
      ->add_option("scene", options.scene,
                   "a scene file, or the name of a bundled scene ('undercap scenes' lists them)")
      ->type_name("");
  window->add_option("--variant", options.variant, "apply a variant of the scene")->type_name("NAME");
  window->add_option("--size", options.size, "size of the window; without it 1280x800")->type_name("WxH");
  window
      ->add_option("--watch", options.watch,
                   "keep what the window shows in this file, as JSON, for automation")
      ->type_name("FILE");
  window
      ->add_option("--shader-dir", options.shader_dir,
                   "read the shaders from this folder, to try changes without building")
      ->type_name("FOLDER");
  add_scene_options(*render, options);
  add_variant_options(*render, options);
  render
      ->add_option("--size", options.size, "size of the picture in pixels; without it 960 on the longer side")
      ->type_name("WxH");
  add_sampling_options(*render, options,
                       "file to write, .png or .exr; again for another; without it SCENE.png here",
                       "draft, good (without it) or fine: 16, 64 or 256 samples a pixel");
  render->add_flag("--filtered", options.filtered,
                   "smooth the noise of a .png for viewing; an .exr and every number stay raw");
  render
      ->add_option_function<std::string>(
          "--overlay", [this](const std::string& word) { options.overlay = overlay_of(word); },
          "draw over a .png, with a legend: clipping, stops, sharp-zone, focus-plane")
      ->type_name("WORD");
  add_scene_options(*measure, options);
  add_variant_options(*measure, options);
  add_sampling_options(*measure, options,
                       "file to write the readings to, .json; the table is printed all the same",
                       "draft, good (without it) or fine: a finer one takes longer and has smaller errors");
  add_scene_options(*sweep, options);
  sweep
      ->add_option(
          "--vary", options.vary,
          "what to compare; once, or twice for a grid: variant=all, variant=NAME,NAME ('base' is the "
          "scene itself), KEY=VALUE,VALUE, KEY=FROM..TO[/STEP] in thirds of a stop, lens=35,90 (mm), "
          "format=36x24,17.3x13, same=f_number,pupil,best,rule, axis_height_cm=4,10, hour=9,12:30, "
          "weather=overcast,rain,haze,sun, distance_cm.SOURCE=15,30")
      ->required()
      ->allow_extra_args(false)
      ->type_name("WHAT=LIST");
  sweep
      ->add_option(
          "--same", options.same,
          "what formats have in common besides their field: f_number (without it), pupil, best (each has "
          "its own best f-number), rule (the crop rule of thumb)")
      ->type_name("WORD");
  sweep->add_option("--match", options.match, "formats are matched by: diagonal (without it), width, height")
      ->type_name("WORD");
  sweep
      ->add_option("--hold", options.hold,
                   "what stays while that varies, with commas: framing (the camera moves), viewpoint, "
                   "brightness (each is metered), depth (the f-number follows)")
      ->type_name("LIST");
  sweep
      ->add_option("--report", options.report,
                   "separation: how the subject stands out from its backdrop, under each picture")
      ->check(CLI::IsMember({"separation"}))
      ->type_name("WORD");
  sweep
      ->add_option("--box", options.box,
                   "the part that is shown at full size below each picture: its middle as X,Y in 0..1 of the "
                   "frame, or none; without it about what is in focus, and none for more than 12 pictures")
      ->type_name("X,Y");
  add_sheet_options(*sweep, options);
  sweep->add_flag("--json", options.json, "print the readings of every picture as JSON on standard output");
  sweep->add_option("--csv", options.csv, "also write the readings as a table, .csv")->type_name("FILE");
  sweep
      ->add_option("--size", options.size,
                   "size of each picture in pixels; without it 480 on the longer side, less for many (160 from 25 pictures on)")
      ->type_name("WxH");
  add_sampling_options(*sweep, options,
                       "sheet to write, .png or .pdf; again for another; without it SCENE-sheet.png here",
                       "draft, good (without it) or fine: 16, 64 or 256 samples a pixel");
  sweep->add_flag("--filtered", options.filtered,
                  "smooth the noise of the pictures for viewing; every number stays raw");
  lesson->add_option("lesson", options.lesson, "its name; without one the lessons are listed")
      ->type_name("NAME");
  add_sampling_options(*lesson, options,
                       "page to write, .pdf or .png; again for another; without it lesson-NAME.pdf here",
                       "draft, good (without it) or fine: 16, 64 or 256 samples a pixel");
  add_sheet_options(*lesson, options);
  lesson
      ->add_option("--variants", options.variants_file,
                   "write the scene with the lesson's pictures as variants, .toml, for the window")
      ->type_name("FILE");
  lesson->add_option("--size", options.size, "size of each picture in pixels")->type_name("WxH");
  lesson->add_option("--csv", options.csv, "also write the readings as a table, .csv")->type_name("FILE");
  lesson->add_flag("--filtered", options.filtered,
                   "smooth the noise of the pictures for viewing; every number stays raw");
  lesson->add_flag("--json", options.json, "print the readings of every picture as JSON on standard output");
  lesson->add_flag("--quiet", options.quiet, "say nothing but what is wrong");
  lesson->add_flag("--verbose", options.verbose, "say more: triangles, times");
  add_scene_options(*stack, options);
  add_variant_options(*stack, options);
  add_sampling_options(*stack, options,
                       "sheet to write, .png or .pdf; again for another; without it SCENE-stack.png here",
                       "draft, good (without it) or fine: 16, 64 or 256 samples a pixel");
  stack->add_flag("--plan", options.plan_only, "only say where the frames go; nothing is rendered");
  stack->add_flag("--filtered", options.filtered,
                  "smooth the noise of every frame for viewing before they are merged");
  stack->add_flag("--rail", options.rail, "move the camera forward in place of the focus ring");
  stack
      ->add_option("--size", options.size,
                   "size of each picture in pixels; without it 480 on the longer side")
      ->type_name("WxH");
  stack->add_option("--merged", options.merged, "also write the merged picture alone, .png")
      ->type_name("FILE");
  stack->add_option("--plot", options.plot, "also write the blur along the lens axis, .pdf, .svg or .png")
      ->type_name("FILE");
  stack
      ->add_option("--frames", options.frames_folder,
                   "also write every frame in full into this folder: frame-01.png and so on")
      ->type_name("FOLDER");
  add_scene_options(*place, options);
  add_variant_options(*place, options);
  add_place_options(*place, options.place);
  add_sampling_options(*place, options,
                       "sheet to write, .png or .pdf; again for another; without it SCENE-light.png here",
                       "draft, good (without it) or fine: 16, 64 or 256 samples a pixel");
  place->add_flag("--filtered", options.filtered,
                  "smooth the noise of the pictures for viewing; every number stays raw");
  place->add_option("--csv", options.csv, "also write every place of the map as a table, .csv")
      ->type_name("FILE");
  place
      ->add_option("--size", options.size,
                   "size of each picture in pixels; without it 480 on the longer side")
      ->type_name("WxH");
  add_scene_options(*pocket, options);
  add_variant_options(*pocket, options);
  add_sampling_options(*pocket, options,
                       "card to write, .pdf or .png; again for another; without it SCENE-card.pdf here",
                       "draft, good (without it) or fine: 16, 64 or 256 samples a pixel");
  pocket->add_flag("--filtered", options.filtered,
                   "smooth the noise of the pictures for viewing; every number stays raw");
  pocket
      ->add_option("--corrected", options.corrected,
                   "afterwards: write the scene as its light really was, by its [taken], to this .toml; the "
                   "card is of that")
      ->type_name("FILE");
  pocket
      ->add_option("--size", options.size,
                   "size of each picture in pixels; without it 360 on the longer side")
      ->type_name("WxH");
  add_scene_options(*check, options);
  add_variant_options(*check, options);
  scenes->add_option("--copy", scenes_options.copy, "copy a bundled scene to NAME.toml here")
      ->type_name("NAME");
  scenes->add_option("--kind", scenes_options.kind, "write a prop of this kind as KIND.obj and KIND.mtl here")
      ->type_name("KIND");
  scenes
      ->add_option("--set", scenes_options.sets,
                   "with --kind, one of its keys: --set cap_diameter_mm=60; again and again")
      ->allow_extra_args(false)
      ->type_name("KEY=VALUE");
  scenes->add_option("-o,--output", scenes_options.output, "where to copy or write it")->type_name("FILE");
  scenes->add_flag("--kinds", scenes_options.kinds, "list the kinds of props with their keys and parts");
  scenes->add_flag("--materials", scenes_options.materials,
                   "list the materials that a part may be 'of', and how well each is known");
  scenes->add_flag("--json", scenes_options.json, "print JSON");
  scenes->add_flag("--force", scenes_options.force, "replace an existing file");
  for (CLI::App* command : {window, render, measure, place, sweep, lesson, stack, pocket, check, scenes})
    command->get_help_ptr()->description("print this");
  app_->footer(
      "To begin:\n"
      "  undercap                                        the window, with the demo or the last scene\n"
      "  undercap NAME                                   the window, with a scene\n"
      "  undercap scenes                                 what there is to look at\n"
      "  undercap scenes --copy NAME                     a copy to change, NAME.toml\n"
      "  undercap render NAME.toml                       the picture, NAME.png\n"
      "  undercap measure NAME.toml                      the numbers\n"
      "  undercap measure NAME.toml --set camera.f_number=11\n"
      "  undercap place NAME.toml --rise 1 --spill 0.2   where to hold a lamp\n"
      "  undercap sweep NAME.toml --vary variant=all     the variants on one sheet\n"
      "  undercap sweep NAME.toml --vary camera.f_number=4,8,16 --vary format=36x24,17.3x13\n"
      "  undercap lesson                                 ready comparisons to teach with\n"
      "  undercap stack NAME.toml                        a focus stack: plan, frames, merge\n"
      "  undercap pocket NAME.toml                       the card to take along, NAME-card.pdf");
}

CommandLine::~CommandLine() = default;

std::optional<int> CommandLine::parse(int argc, char** argv) {
  if (argc < 2 && !has_display()) {
    std::fputs(app_->help().c_str(), stderr);
    return exit_refused;
  }
  std::vector<std::string> words(argv + 1, argv + argc);
  if (words.empty() || (names_scene(words[0]) && std::find(std::begin(command_names), std::end(command_names),
                                                           words[0]) == std::end(command_names)))
    words.insert(words.begin(), "window");
  refuse_unknown_command(words[0]);
  try {
    // CLI11 takes them from the back.
    std::reverse(words.begin(), words.end());
    app_->parse(words);
    return std::nullopt;
  } catch (const CLI::Success& help_or_version) {
    return app_->exit(help_or_version);
  } catch (const CLI::ParseError& error) {
    const auto used = app_->get_subcommands();
    if (used.empty()) throw Refusal(about_extra(*app_, argc > 1 ? argv[1] : ""));
    const CLI::App& command = *used.front();
    // A misspelt option leaves its value over as well; the option is what to speak of.
    std::vector<std::string> extra = command.remaining();
    std::stable_partition(extra.begin(), extra.end(),
                          [](const std::string& word) { return word.starts_with('-'); });
    if (!extra.empty()) throw Refusal(about_extra(command, extra.front()));
    if (dynamic_cast<const CLI::RequiredError*>(&error) && !options.scene.empty())
      throw Refusal("sweep needs --vary, for example --vary variant=all");
    if (dynamic_cast<const CLI::RequiredError*>(&error))
      throw Refusal(fmt::format("{} needs a scene: a file, or a name that 'undercap scenes' lists",
                                command.get_name()));
    throw Refusal(error.what());
  }
}

std::string CommandLine::command() const { return app_->get_subcommands().front()->get_name(); }

}  // namespace undercap
