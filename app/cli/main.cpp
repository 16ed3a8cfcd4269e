// The program: parses the command line and calls session.
#include <cstdio>
#include <exception>
#include <new>

#include "app/cli/command_line.h"
#include "engine/core/errors.h"

namespace {

int run(int argc, char** argv) {
  using namespace undercap;
  CommandLine line;
  if (const auto status = line.parse(argc, argv)) return *status;
  watch_interrupts();
  const std::string command = line.command();
  if (command == "render") return run_render(line.options);
  if (command == "measure") return run_measure(line.options);
  if (command == "place") return run_place_search(line.options);
  if (command == "sweep") return run_sweep_sheet(line.options);
  if (command == "stack") return run_stack(line.options);
  if (command == "pocket") return run_pocket(line.options);
  if (command == "lesson") return run_lesson(line.options);
  if (command == "window") return run_window(line.options);
  if (command == "check") return run_check(line.options);
  return run_scenes(line.scenes_options);
}

}  // namespace

int main(int argc, char** argv) {
  try {
    const int status = run(argc, argv);
    if (std::fflush(stdout) != 0)
      throw undercap::Trouble("standard output cannot be written: is the disk full?");
    return status;
  } catch (const undercap::Refusal& refusal) {
    for (const undercap::Fault& fault : refusal.faults())
      std::fprintf(stderr, "undercap: %s\n", fault.text().c_str());
    return undercap::exit_refused;
  } catch (const std::bad_alloc&) {
    std::fprintf(stderr, "undercap: memory is short; use a smaller picture or fewer triangles\n");
  } catch (const std::exception& trouble) {
    std::fprintf(stderr, "undercap: %s\n", trouble.what());
  }
  return undercap::exit_trouble;
}
