// What is left of a file that was there when the writing of its successor fails or is cut short.
#include <signal.h>
#include <sys/resource.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <system_error>

#include "engine/image/png.h"
#include "tests/unit/cli/set_up.h"

namespace undercap {
namespace {

using Names = std::vector<std::string>;

// A limit on the size of a file stops write() as a full disk does (setrlimit(2)); the signal that comes with
// it is turned off, so that the program gets the error.
ChildOptions disk_of(rlim_t bytes) {
  ChildOptions options;
  options.prepare = [bytes] {
    const rlimit limit{bytes, bytes};
    ::setrlimit(RLIMIT_FSIZE, &limit);
    ::signal(SIGXFSZ, SIG_IGN);
  };
  return options;
}

TEST_F(Cli, AFullDiskLeavesTheOldFilesWhole) {
  write("wood.toml", glowing_card());
  for (const char* name : {"old.png", "old.exr", "old.json"}) write(name, "old");
  const Names before = names();
  for (const char* output : {"old.png", "old.exr"}) {
    const Finished finished = draft({"wood.toml", "-o", output, "--force", "--quiet"}, disk_of(300));
    EXPECT_EQ(finished.status, 2);
    EXPECT_EQ(finished.out, "");
    EXPECT_EQ(finished.err, std::string("undercap: ") + output + ": cannot be written: File too large\n");
  }
  const Finished measured = run({"measure", "wood.toml", "-o", "old.json", "--force", "--quiet", "--quality",
                                 "draft", "--device", "software"},
                                disk_of(300));
  EXPECT_EQ(measured.status, 2);
  EXPECT_EQ(measured.err, "undercap: old.json: cannot be written: File too large\n");
  const Finished copied =
      run({"scenes", "--copy", "umber_parasol", "-o", "old.json", "--force"}, disk_of(300));
  EXPECT_EQ(copied.status, 2);
  for (const char* name : {"old.png", "old.exr", "old.json"}) EXPECT_EQ(read(name), "old");
  EXPECT_EQ(names(), before);
}

class CutShort : public Cli, public testing::WithParamInterface<int> {};

// 0 for a file that its writer has just renamed.
std::uintmax_t size_of(const std::filesystem::path& file) {
  std::error_code gone;
  const std::uintmax_t size = std::filesystem::file_size(file, gone);
  return gone ? 0 : size;
}

// The signal comes as soon as the new file begins to be there beside the old one: while it is written, or
// just before it takes the old one's place. In the end there is the old one or the new one, and it is whole.
TEST_P(CutShort, LeavesTheOldFileOrTheNewOne) {
  write("wood.toml", glowing_card());
  write("old.png", "old");
  bool seen = false;
  ChildOptions options;
  options.look = [&] {
    for (const std::string& name : names())
      if (name.starts_with("old.png.") && size_of(folder / name) > 0) {
        seen = true;
        return GetParam();
      }
    return 0;
  };
  // Noise does not compress: some 3 MB, written to the disk itself before the rename.
  const Finished finished = run({"render", "wood.toml", "-o", "old.png", "--force", "--size", "1200x900",
                                 "--seconds", "0.05", "--quality", "draft", "--device", "software", "--set",
                                 "prop.card.material.surface.emission_cd_m2=0", "--set", "sky.model=uniform"},
                                options);
  EXPECT_TRUE(finished.status == 0 || finished.status == 130 || finished.status == 1000 + GetParam())
      << finished.status << finished.err;
  const std::string left = read("old.png");
  if (left != "old") {
    EXPECT_EQ(decode_png(left).picture.width, 1200) << "a part of a file";
  }
  RecordProperty("caught while writing", seen ? "yes" : "no");
}

INSTANTIATE_TEST_SUITE_P(Signals, CutShort, testing::Values(SIGINT, SIGTERM, SIGKILL));

}  // namespace
}  // namespace undercap
