#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "app/cli/common.h"
#include "engine/core/errors.h"

namespace undercap {

int run_check(const SharedOptions& options) {
  try {
    const Scene scene = open_scene(options).scene();
    const World world = build_world(scene);
    if (options.json) {
      fmt::print(
          "{}\n",
          nlohmann::ordered_json{{"undercap", UNDERCAP_VERSION}, {"faults", nlohmann::json::array()}}.dump(
              2));
    } else if (!options.quiet) {
      const auto counted = [](std::size_t count, const char* what) {
        return fmt::format("{} {}{}", count, what, count == 1 ? "" : "s");
      };
      fmt::print("{}: no fault; {}, {}, {}, {}, {}\n", scene.file, counted(scene.props.size(), "prop"),
                 counted(scene.sources.size(), "source"), counted(scene.meters.size(), "meter"),
                 counted(scene.variants.size(), "variant"), counted(world.triangle.size(), "triangle"));
      for (const std::string& note : world.notes) fmt::print("note: {}\n", note);
    }
    return exit_done;
  } catch (const Refusal& refusal) {
    if (!options.json) throw;
    nlohmann::ordered_json faults = nlohmann::json::array();
    for (const Fault& fault : refusal.faults())
      faults.push_back({{"file", fault.place.file},
                        {"line", fault.place.line},
                        {"column", fault.place.column},
                        {"message", fault.message}});
    fmt::print("{}\n", nlohmann::ordered_json{{"undercap", UNDERCAP_VERSION}, {"faults", faults}}.dump(2));
    return exit_refused;
  }
}

}  // namespace undercap
