#include "engine/core/files.h"

#include <gtest/gtest.h>
#include <linux/capability.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <fstream>
#include <sstream>
#include <thread>

#include "engine/core/errors.h"

using namespace undercap;
namespace fs = std::filesystem;

namespace {

// A folder of its own for each test, with a blank and letters beyond ASCII in its name.
class Files : public testing::Test {
 protected:
  void SetUp() override {
    std::string name = (fs::temp_directory_path() / "undercap Prüf-Ordner.XXXXXX").string();
    ASSERT_NE(::mkdtemp(name.data()), nullptr);
    folder_ = name;
  }
  void TearDown() override { fs::remove_all(folder_); }

  std::vector<std::string> names() const {
    std::vector<std::string> found;
    for (const auto& entry : fs::directory_iterator(folder_))
      found.push_back(entry.path().filename().string());
    std::sort(found.begin(), found.end());
    return found;
  }

  fs::path folder_;
};

using Names = std::vector<std::string>;

template <class Action>
std::string refusal_of(Action action) {
  try {
    action();
  } catch (const Refusal& refusal) {
    return refusal.what();
  }
  return "not refused";
}

bool contains(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_F(Files, WhatIsWrittenIsRead) {
  std::string bytes = "zero \0 and \xFF and a line\n";
  bytes.append(200'000, 'x');
  write_file(folder_ / "Bild 1 – Pilz.bin", bytes, false);
  EXPECT_EQ(read_file(folder_ / "Bild 1 – Pilz.bin"), bytes);
  EXPECT_EQ(names(), Names{"Bild 1 – Pilz.bin"});
  write_file(folder_ / "empty", "", false);
  EXPECT_EQ(read_file(folder_ / "empty"), "");
}

TEST_F(Files, NewFilesHaveOrdinaryRights) {
  const mode_t old_mask = ::umask(022);
  write_file(folder_ / "a", "x", false);
  ::umask(old_mask);
  EXPECT_EQ(fs::status(folder_ / "a").permissions(), fs::perms(0644));
}

TEST_F(Files, AnExistingFileNeedsForce) {
  const fs::path file = folder_ / "a.png";
  write_file(file, "old", false);
  EXPECT_EQ(refusal_of([&] { write_file(file, "new", false); }),
            file.string() + ": exists already; name another file or add --force to replace it");
  EXPECT_EQ(read_file(file), "old");
  write_file(file, "new", true);
  EXPECT_EQ(read_file(file), "new");
  EXPECT_EQ(names(), Names{"a.png"});
}

// A reader that has the old file open keeps the old bytes: the new file is another one, renamed over it.
TEST_F(Files, AReaderSeesTheOldFileOrTheNewOne) {
  const fs::path file = folder_ / "a.png";
  write_file(file, "old bytes", false);
  std::ifstream reader(file);
  write_file(file, "new", true);
  std::stringstream seen;
  seen << reader.rdbuf();
  EXPECT_EQ(seen.str(), "old bytes");
}

TEST_F(Files, AFolderIsRefused) {
  EXPECT_EQ(refusal_of([&] { write_file(folder_, "x", true); }),
            folder_.string() + ": is a folder; name a file to write");
  EXPECT_EQ(refusal_of([&] { read_file(folder_); }), folder_.string() + ": is a folder, a file is needed");
}

TEST_F(Files, AMissingFolderIsRefusedByName) {
  const fs::path file = folder_ / "not there" / "a.png";
  EXPECT_EQ(refusal_of([&] { write_file(file, "x", false); }), file.string() + ": the folder '" +
                                                                   (folder_ / "not there").string() +
                                                                   "' does not exist; make it first");
  EXPECT_TRUE(names().empty());
}

TEST_F(Files, AnEmptyNameIsRefused) {
  EXPECT_TRUE(contains(refusal_of([] { write_file("", "x", true); }), "is empty"));
  EXPECT_TRUE(contains(refusal_of([] { read_file(""); }), "cannot be read"));
}

TEST_F(Files, CheckWritableWritesNothing) {
  check_writable(folder_ / "a.png", false);
  check_writable("/dev/null", false);
  EXPECT_TRUE(names().empty());
}

TEST_F(Files, ANameWithoutFolderMeansTheCurrentOne) {
  const fs::path before = fs::current_path();
  fs::current_path(folder_);
  write_file("a.png", "x", false);
  fs::current_path(before);
  EXPECT_EQ(names(), Names{"a.png"});
}

// /dev/full takes no byte: write() fails with ENOSPC (full(4)).
TEST_F(Files, AFullDeviceIsTrouble) {
  try {
    write_file("/dev/full", "x", false);
    ADD_FAILURE() << "a full device was written";
  } catch (const Trouble& trouble) {
    EXPECT_TRUE(contains(trouble.what(), "/dev/full: cannot be written: No space left on device"))
        << trouble.what();
  }
  EXPECT_FALSE(fs::is_regular_file("/dev/full"));
}

// The limit on a file's size stops write() in the middle (EFBIG, setrlimit(2)), as a full disk would.
TEST_F(Files, ADiskThatFillsUpLeavesTheOldFileAndNothingElse) {
  const fs::path file = folder_ / "a.exr";
  write_file(file, "old", false);
  rlimit before{};
  ASSERT_EQ(::getrlimit(RLIMIT_FSIZE, &before), 0);
  const rlimit small{100'000, before.rlim_max};
  std::signal(SIGXFSZ, SIG_IGN);
  ASSERT_EQ(::setrlimit(RLIMIT_FSIZE, &small), 0);
  EXPECT_THROW(write_file(file, std::string(300'000, 'x'), true), Trouble);
  EXPECT_THROW(write_file(folder_ / "b.exr", std::string(300'000, 'x'), false), Trouble);
  ::setrlimit(RLIMIT_FSIZE, &before);
  std::signal(SIGXFSZ, SIG_DFL);
  EXPECT_EQ(read_file(file), "old");
  EXPECT_EQ(names(), Names{"a.exr"});
}

TEST_F(Files, APipeIsWrittenInPlace) {
  const fs::path pipe = folder_ / "pipe";
  ASSERT_EQ(::mkfifo(pipe.c_str(), 0600), 0);
  std::string seen;
  std::thread reader([&] { seen = read_file(pipe); });
  write_file(pipe, "through the pipe", false);
  reader.join();
  EXPECT_EQ(seen, "through the pipe");
  EXPECT_EQ(fs::status(pipe).type(), fs::file_type::fifo);
}

// Nobody ever writes: the answer comes all the same.
TEST_F(Files, APipeWithoutAWriterIsRefused) {
  const fs::path pipe = folder_ / "pipe";
  ASSERT_EQ(::mkfifo(pipe.c_str(), 0600), 0);
  EXPECT_EQ(refusal_of([&] { read_file(pipe); }),
            pipe.string() + ": is a pipe into which nobody writes; start its writer first");
}

// Rights bind root as well while this thread lacks the capability to pass them over (capabilities(7)).
class BoundByRights {
 public:
  BoundByRights() {
    EXPECT_EQ(::syscall(SYS_capget, &header_, had_), 0);
    __user_cap_data_struct left[_LINUX_CAPABILITY_U32S_3] = {had_[0], had_[1]};
    left[0].effective &= ~(1u << CAP_DAC_OVERRIDE);
    EXPECT_EQ(::syscall(SYS_capset, &header_, left), 0);
  }
  ~BoundByRights() { EXPECT_EQ(::syscall(SYS_capset, &header_, had_), 0); }
  BoundByRights(const BoundByRights&) = delete;
  BoundByRights& operator=(const BoundByRights&) = delete;

 private:
  __user_cap_header_struct header_{_LINUX_CAPABILITY_VERSION_3, 0};
  __user_cap_data_struct had_[_LINUX_CAPABILITY_U32S_3]{};
};

TEST_F(Files, AFolderThatCannotBeWrittenIsRefusedBeforehand) {
  const fs::path shut = folder_ / "shut", file = shut / "a.png";
  fs::create_directory(shut);
  fs::permissions(shut, fs::perms::owner_read | fs::perms::owner_exec);
  {
    const BoundByRights bound;
    EXPECT_EQ(refusal_of([&] { check_writable(file, false); }),
              file.string() + ": its folder cannot be written: " + std::strerror(EACCES));
  }
  EXPECT_TRUE(fs::is_empty(shut));
}

TEST_F(Files, LinksAreFollowedToSeeWhereAFileLies) {
  fs::create_directories(folder_ / "in" / "deeper");
  fs::create_symlink(folder_, folder_ / "in" / "out");
  fs::create_symlink(folder_ / "in" / "deeper", folder_ / "in" / "other");
  EXPECT_TRUE(stays_inside(folder_ / "in", folder_ / "in" / "a.obj"));
  EXPECT_TRUE(stays_inside(folder_ / "in", folder_ / "in" / "other" / "a.obj"));
  EXPECT_FALSE(stays_inside(folder_ / "in", folder_ / "in" / "out" / "a.obj"));
  EXPECT_FALSE(stays_inside(folder_ / "in", folder_ / "inside"));
  EXPECT_FALSE(stays_inside(folder_ / "in", "/etc/passwd"));
}

TEST_F(Files, ReadingSaysWhyNot) {
  EXPECT_EQ(refusal_of([&] { read_file(folder_ / "none"); }),
            (folder_ / "none").string() + ": cannot be read: No such file or directory");
  write_file(folder_ / "large", std::string(5'000'000, 'x'), false);
  EXPECT_EQ(refusal_of([&] { read_file(folder_ / "large", 4'000'000); }),
            (folder_ / "large").string() + ": is larger than the limit of 4 MB; is it the right file?");
  EXPECT_EQ(read_file(folder_ / "large", 5'000'000).size(), 5'000'000U);
  // Without an end, and still refused.
  EXPECT_TRUE(
      contains(refusal_of([] { read_file("/dev/zero", 1'000'000); }), "larger than the limit of 1 MB"));
}
