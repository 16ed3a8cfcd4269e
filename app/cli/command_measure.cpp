#include <fmt/format.h>

#include "app/cli/common.h"
#include "engine/core/errors.h"
#include "engine/core/files.h"

namespace undercap {

int run_measure(const SharedOptions& options) {
  const SceneFile file = open_scene(options);
  const Scene scene = file.scene();
  for (const std::string& output : options.outputs) format_of("-o", output, {".json"});
  check_outputs(options, options.outputs);
  const HeadlessContext context(options.device);
  const ShaderLibrary shaders = shader_library(options);
  Session session(shaders, scene, options.quality);
  tell(options, fmt::format("{}: measuring on {}", scene.file, context.renderer()));
  ProgressBar bar(options, "measuring");
  if (!session.survey(options.quality, stop_rule(options), bar.callback())) return exit_interrupted;
  const std::vector<Reading> readings = session.readings(options.quality, stop_rule(options), bar.callback());
  if (interrupted()) return exit_interrupted;
  for (const std::string& note : session.notes()) tell(options, "note: " + note);
  for (const std::string& output : options.outputs)
    write_file(output, readings_json(context.renderer(), session.world(), readings), options.force);
  print_readings(options, context.renderer(), session.world(), readings);
  return exit_done;
}

}  // namespace undercap
