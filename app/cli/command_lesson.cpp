#include <fmt/format.h>

#include "app/cli/common.h"
#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/session/lesson.h"

namespace undercap {
namespace {

void list_lessons() {
  std::size_t width = 0;
  for (const Lesson& lesson : lessons()) width = std::max(width, std::string_view(lesson.name).size());
  for (const Lesson& lesson : lessons())
    print_hanging(fmt::format("{:<{}}   ", lesson.name, width),
                  fmt::format("{} {} ({})", lesson.title, lesson.question, lesson.scene));
}

// The pictures of a lesson as variants of a scene file, for the window.
void write_variants(const SharedOptions& options, const SceneFile& scene, const Lesson& lesson) {
  write_file(options.variants_file, lesson_in_variants(lesson, scene).text(), options.force);
  tell(options,
       fmt::format("wrote {}: a scene with the lesson's pictures as its variants", options.variants_file));
}

}  // namespace

int run_lesson(const SharedOptions& given) {
  if (given.lesson.empty()) {
    list_lessons();
    return exit_done;
  }
  const Lesson& lesson = lesson_of(given.lesson);
  SharedOptions options = given;
  options.scene = lesson.scene;
  if (!options.variants_file.empty()) {
    format_of("--variants", options.variants_file, {".toml"});
    check_outputs(options, {options.variants_file});
    write_variants(options, lesson_scene(lesson, open_scene(options)), lesson);
    if (options.outputs.empty()) return exit_done;
  }
  if (options.outputs.empty()) options.outputs.push_back(fmt::format("lesson-{}.pdf", lesson.name));
  if (lesson.wish.vary.empty()) return make_stack(options, lesson.title, lesson_lines(lesson));
  SweepTask task{.label = "lesson", .outputs = options.outputs, .wish = lesson.wish, .rows = lesson.rows};
  task.page.title = lesson.title;
  task.page.question = lesson_lines(lesson);
  if (lesson.box && options.box.empty())
    options.box = fmt::format("{},{}", (*lesson.box)[0], (*lesson.box)[1]);
  return make_sweep(options, task, [&](const std::string& variant) {
    SceneFile file = lesson_scene(lesson, open_scene(options));
    if (!variant.empty()) file.use_variant(variant);
    return file;
  });
}

}  // namespace undercap
