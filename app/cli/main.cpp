// The program: parses the command line and calls session.
#include <CLI/CLI.hpp>
#include <cstdio>
#include <exception>
#include <new>

#include "app/cli/common.h"
#include "engine/core/errors.h"

namespace {

int run(int argc, char** argv) {
  using namespace undercap;
  CLI::App app{"Undercap: a rehearsal bench for close-up photographs of the woodland floor."};
  app.set_version_flag("--version", "undercap " UNDERCAP_VERSION);
  app.require_subcommand(1);
  SharedOptions options;
  ScenesOptions scenes_options;
  CLI::App* render = app.add_subcommand("render", "render a scene to PNG (developed) and EXR (linear, by light group)");
  CLI::App* measure = app.add_subcommand("measure", "print the readings of a scene, with their standard errors");
  CLI::App* check = app.add_subcommand("check", "say everything that is wrong with a scene file");
  CLI::App* scenes = app.add_subcommand("scenes", "list or copy the bundled scenes; list the kinds of props");
  add_shared_options(*render, options, true);
  add_shared_options(*measure, options, true);
  add_shared_options(*check, options, false);
  scenes->add_option("--copy", scenes_options.copy, "copy a bundled scene to the current folder");
  scenes->add_option("-o,--output", scenes_options.output, "where to copy it");
  scenes->add_flag("--kinds", scenes_options.kinds, "list the kinds of props with their keys and parts");
  scenes->add_flag("--json", scenes_options.json, "print JSON");
  scenes->add_flag("--force", scenes_options.force, "replace an existing file");
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? exit_done : exit_refused;
  }
  watch_interrupts();
  if (render->parsed()) return run_render(options);
  if (measure->parsed()) return run_measure(options);
  if (check->parsed()) return run_check(options);
  return run_scenes(scenes_options);
}

}  // namespace

int main(int argc, char** argv) {
  try {
    const int status = run(argc, argv);
    if (std::fflush(stdout) != 0) throw undercap::Trouble("standard output cannot be written: is the disk full?");
    return status;
  } catch (const undercap::Refusal& refusal) {
    for (const undercap::Fault& fault : refusal.faults()) std::fprintf(stderr, "undercap: %s\n", fault.text().c_str());
    return undercap::exit_refused;
  } catch (const std::bad_alloc&) {
    std::fprintf(stderr, "undercap: memory is short; use a smaller picture or fewer triangles\n");
  } catch (const std::exception& trouble) {
    std::fprintf(stderr, "undercap: %s\n", trouble.what());
  }
  return undercap::exit_trouble;
}
