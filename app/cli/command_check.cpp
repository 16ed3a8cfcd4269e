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
      fmt::print("{}\n", nlohmann::ordered_json{{"undercap", UNDERCAP_VERSION}, {"faults", nlohmann::json::array()}}.dump(2));
    } else if (!options.quiet) {
      fmt::print("{}: no fault; {} props, {} sources, {} meters, {} variants, {} triangles\n", scene.file, scene.props.size(),
                 scene.sources.size(), scene.meters.size(), scene.variants.size(), world.triangle.size());
      for (const std::string& note : world.notes) fmt::print("note: {}\n", note);
    }
    return exit_done;
  } catch (const Refusal& refusal) {
    if (!options.json) throw;
    nlohmann::ordered_json faults = nlohmann::json::array();
    for (const Fault& fault : refusal.faults())
      faults.push_back({{"file", fault.place.file}, {"line", fault.place.line}, {"column", fault.place.column}, {"message", fault.message}});
    fmt::print("{}\n", nlohmann::ordered_json{{"undercap", UNDERCAP_VERSION}, {"faults", faults}}.dump(2));
    return exit_refused;
  }
}

}  // namespace undercap
