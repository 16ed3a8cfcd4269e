#include "tests/unit/layering/layering.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "engine/core/files.h"

using namespace undercap;
namespace fs = std::filesystem;

namespace {

const fs::path source_folder = UNDERCAP_SOURCE_DIR;

std::vector<fs::path> sources_under(const fs::path& folder) {
  std::vector<fs::path> files;
  if (!fs::is_directory(source_folder / folder)) return files;
  for (const auto& entry : fs::recursive_directory_iterator(source_folder / folder)) {
    const fs::path extension = entry.path().extension();
    if (extension == ".h" || extension == ".cpp") files.push_back(fs::relative(entry.path(), source_folder));
  }
  return files;
}

using Lines = std::vector<std::string>;

}  // namespace

TEST(Layering, EveryIncludeKeepsTheOrderOfTheModules) {
  std::size_t files = 0;
  for (const char* folder : {"engine", "app"}) {
    for (const fs::path& file : sources_under(folder)) {
      ++files;
      EXPECT_EQ(include_faults(file, read_file(source_folder / file)), Lines{});
    }
  }
  EXPECT_GT(files, 10U) << "the sources were not found under " << source_folder;
}

// So that the header compiles alone, or its own source does not.
TEST(Layering, ASourceIncludesItsOwnHeaderFirst) {
  std::size_t pairs = 0;
  for (const fs::path& source : sources_under("engine")) {
    const fs::path header = fs::path(source).replace_extension(".h");
    if (source.extension() != ".cpp" || !fs::exists(source_folder / header)) continue;
    ++pairs;
    EXPECT_EQ(first_include(read_file(source_folder / source)), "\"" + header.string() + "\"") << source;
  }
  EXPECT_GT(pairs, 10U);
  EXPECT_EQ(first_include("// what\n#include <map>\n#include \"a.h\"\n"), "<map>");
}

TEST(Layering, EveryLinkedModuleKeepsTheOrder) {
  std::size_t modules = 0;
  for (const auto& [module, allowed] : allowed_modules()) {
    const fs::path lists = source_folder / "engine" / module / "CMakeLists.txt";
    if (!fs::exists(lists)) continue;
    ++modules;
    EXPECT_EQ(link_faults(module, read_file(lists)), Lines{});
  }
  EXPECT_GE(modules, 2U);
}

TEST(Layering, TheTopLevelHoldsOnlyItsNames) {
  for (const std::string& name : top_level(source_folder))
    EXPECT_TRUE(name.front() == '.' || top_level_names().contains(name))
        << name << " does not belong at the top level";
}

// A module may include only modules that themselves cannot reach back to it.
TEST(Layering, TheTableHasNoCircle) {
  std::set<std::string> placed;
  for (bool moved = true; moved;) {
    moved = false;
    for (const auto& [module, allowed] : allowed_modules())
      if (std::includes(placed.begin(), placed.end(), allowed.begin(), allowed.end()))
        moved = placed.insert(module).second || moved;
  }
  EXPECT_EQ(placed.size(), allowed_modules().size());
}

TEST(Layering, FaultsAreFound) {
  const auto faults = [](const char* file, const char* text) { return include_faults(file, text); };
  EXPECT_EQ(faults("engine/core/files.cpp", "#include \"engine/core/files.h\"\n#include <string>\n"),
            Lines{});
  EXPECT_EQ(faults("engine/optics/lens.h", "#pragma once\n\n  #  include \"engine/colour/spaces.h\"\n"),
            Lines{"engine/optics/lens.h: \"engine/colour/spaces.h\" goes against the order of the modules"});
  EXPECT_EQ(faults("engine/render/film.cpp", "#include \"engine/scene/scene.h\"").size(), 1U);
  EXPECT_EQ(faults("engine/world/world.cpp", "#include \"engine/scene/scene.h\""), Lines{});
  EXPECT_EQ(faults("engine/scene/load.cpp", "#include \"engine/shape/private/kit.h\""),
            Lines{"engine/scene/load.cpp: \"engine/shape/private/kit.h\" is private to its module"});
  EXPECT_EQ(faults("engine/shape/kinds.cpp", "#include \"engine/shape/private/kit.h\""), Lines{});
  EXPECT_EQ(
      faults("app/cli/main.cpp", "#include \"engine/session/session.h\"\n#include \"app/cli/options.h\""),
      Lines{});
  EXPECT_EQ(faults("engine/session/session.cpp", "#include \"app/cli/options.h\"").size(), 1U);
  EXPECT_EQ(faults("engine/shape/mesh.cpp", "#include \"mesh.h\"").size(), 1U);
  EXPECT_EQ(faults("engine/shape/mesh.cpp", "#include \"engine/shape/mesh_build.cpp\"").size(), 1U);
  EXPECT_EQ(faults("engine/colour/a.h", "#include \"engine/misc/a.h\"").size(), 1U);
  EXPECT_EQ(faults("engine/misc/a.h", "").size(), 1U);
}

TEST(Layering, LinkFaultsAreFound) {
  EXPECT_EQ(link_faults("image", "undercap_module(image LINK undercap_core PRIVATE_LINK PNG::PNG)"), Lines{});
  EXPECT_EQ(link_faults("image", "undercap_module(image LINK undercap_core undercap_scene)").size(), 1U);
}
