// Every file of the corpus through its reader once more: the seeds, and what fuzzing found, made small.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <vector>

#include "engine/core/files.h"
#include "tests/fuzz/targets.h"

namespace undercap {
namespace {

void replay(const std::string& reader, void (*target)(const std::string&)) {
  const std::filesystem::path folder = UNDERCAP_SOURCE_DIR "/tests/fuzz/corpus/" + reader;
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  ASSERT_GE(files.size(), 5U) << folder;
  for (const auto& file : files) {
    SCOPED_TRACE(file.string());
    ASSERT_NO_THROW(target(read_file(file)));
  }
}

TEST(Replay, Scene) { replay("scene", fuzz::scene); }
TEST(Replay, Obj) { replay("obj", fuzz::obj); }
TEST(Replay, Mtl) { replay("mtl", fuzz::mtl); }
TEST(Replay, Lm63) { replay("lm63", fuzz::lm63); }

}  // namespace
}  // namespace undercap
