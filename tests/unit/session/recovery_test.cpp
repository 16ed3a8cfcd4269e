#include "engine/session/recovery.h"

#include <fmt/format.h>
#include <sys/wait.h>

#include <chrono>
#include <cstdio>

#include "tests/unit/session/set_up.h"

namespace undercap {
namespace {

namespace fs = std::filesystem;
using namespace std::chrono_literals;

class RecoveryCopies : public InFolder {
 protected:
  // Runs something in a process of its own, which then ends as a crash does: nothing is tidied up.
  template <class Action>
  void in_process_that_dies(const Action& action) {
    const pid_t child = ::fork();
    ASSERT_GE(child, 0);
    if (child == 0) {
      action();
      ::_exit(0);
    }
    int status = 0;
    ASSERT_EQ(::waitpid(child, &status, 0), child);
    ASSERT_EQ(status, 0);
  }
  std::vector<fs::path> copies() const {
    std::vector<fs::path> all;
    if (const fs::path in = folder / "undercap" / "recovery"; fs::exists(in))
      for (const auto& entry : fs::directory_iterator(in)) all.push_back(entry.path());
    return all;
  }
};

TEST_F(RecoveryCopies, AreThereAfterACrash) {
  const fs::path path = file("a%20b\tPilz № 1.toml", small_scene);
  EditedScene edited = EditedScene::open(path);
  edited.set("camera.f_number", "11", "Aperture");
  in_process_that_dies([&] {
    Recovery recovery(folder);
    recovery.tick(edited);
  });
  const auto left = Recovery::left_behind(folder);
  ASSERT_EQ(left.size(), 1U);
  EXPECT_EQ(left[0].path, path);
  EXPECT_EQ(left[0].text, edited.text());
  EXPECT_LT(std::chrono::abs(std::chrono::system_clock::now() - left[0].when), 1min);
  EditedScene again = EditedScene::recovered(left[0].text, left[0].path);
  EXPECT_TRUE(again.unsaved());
  Recovery::discard(left[0]);
  EXPECT_TRUE(Recovery::left_behind(folder).empty());
  EXPECT_TRUE(copies().empty());
}

TEST_F(RecoveryCopies, OfAProcessThatLivesAreItsOwn) {
  EditedScene edited = EditedScene::from_text(small_scene, folder / "new.toml");
  Recovery recovery(folder), second(folder);
  recovery.tick(edited);
  second.tick(edited);
  EXPECT_EQ(copies().size(), 2U);
  EXPECT_TRUE(Recovery::left_behind(folder).empty());
  recovery.done();
  second.done();
  EXPECT_TRUE(copies().empty());
}

TEST_F(RecoveryCopies, OfANumberThatIsAnothersNowAreLeft) {
  // This process's number, begun at another time.
  fs::create_directories(folder / "undercap" / "recovery");
  const std::string opening = fmt::format("# undercap recovery 1 {}", ::getpid());
  file("undercap/recovery/1.toml", opening + " 17@other-boot /x/a.toml\ntext\n");
  const auto left = Recovery::left_behind(folder);
  ASSERT_EQ(left.size(), 1U);
  EXPECT_EQ(left[0].path, "/x/a.toml");
  EXPECT_EQ(left[0].text, "text\n");
}

TEST_F(RecoveryCopies, DoNotReplaceWhatAnEarlierProcessLeft) {
  EditedScene edited = EditedScene::from_text(small_scene, folder / "new.toml");
  Recovery first(folder);
  first.tick(edited);
  ASSERT_EQ(copies().size(), 1U);
  int number = 0;
  ASSERT_EQ(std::sscanf(copies()[0].filename().c_str(), "%*d-%d", &number), 1);
  const fs::path left =
      file(fmt::format("undercap/recovery/{}-{}.toml", ::getpid(), number + 1), "left by another");
  Recovery second(folder);
  second.tick(edited);
  EXPECT_EQ(copies().size(), 3U);
  EXPECT_EQ(read_file(left), "left by another");
}

TEST_F(RecoveryCopies, AreWrittenEveryTwoSecondsAtMost) {
  EditedScene edited = EditedScene::open(file("a.toml", small_scene));
  Recovery recovery(folder);
  const auto start = Recovery::Clock::now();
  recovery.tick(edited, start);
  EXPECT_TRUE(copies().empty());  // nothing is unsaved
  edited.set("camera.f_number", "11", "Aperture");
  recovery.tick(edited, start);
  ASSERT_EQ(copies().size(), 1U);
  EXPECT_TRUE(has(read_file(copies()[0]), "f_number = 11"));
  edited.set("camera.f_number", "16", "Aperture");
  recovery.tick(edited, start + 1999ms);
  EXPECT_TRUE(has(read_file(copies()[0]), "f_number = 11"));
  recovery.tick(edited, start + 2000ms);
  EXPECT_TRUE(has(read_file(copies()[0]), "f_number = 16"));
  fs::remove(copies()[0]);
  recovery.tick(edited, start + 10s);
  EXPECT_TRUE(copies().empty());  // there is nothing new
}

TEST_F(RecoveryCopies, GoWhenNothingIsUnsaved) {
  EditedScene edited = EditedScene::open(file("a.toml", small_scene));
  Recovery recovery(folder);
  const auto start = Recovery::Clock::now();
  edited.set("camera.f_number", "11", "Aperture");
  recovery.tick(edited, start);
  ASSERT_EQ(copies().size(), 1U);
  edited.save();
  recovery.tick(edited, start + 1ms);
  EXPECT_TRUE(copies().empty());
  edited.set("camera.f_number", "16", "Aperture");
  recovery.tick(edited, start + 3s);
  EXPECT_EQ(copies().size(), 1U);
}

TEST_F(RecoveryCopies, FaultsAreToldOnce) {
  EditedScene edited = EditedScene::from_text(small_scene, folder / "new.toml");
  const fs::path in_the_way = file("undercap", "");
  Recovery recovery(folder);
  const auto start = Recovery::Clock::now();
  const auto fault = recovery.tick(edited, start);
  ASSERT_TRUE(fault);
  EXPECT_TRUE(has(*fault, "no copy of the unsaved scene can be kept")) << *fault;
  EXPECT_FALSE(recovery.tick(edited, start + 3s));
  fs::remove(in_the_way);
  EXPECT_FALSE(recovery.tick(edited, start + 6s));
  EXPECT_EQ(copies().size(), 1U);
}

TEST_F(RecoveryCopies, OtherFilesAreLeftAlone) {
  fs::create_directories(folder / "undercap" / "recovery" / "folder.toml");
  int number = 0;
  for (const char* text : {"", "undercap = 1\n", "# undercap recovery 1 ", "# undercap recovery 1 x y z\n",
                           "# undercap recovery 1 -5 a /x\nt", "# undercap recovery 1 99999999",
                           "# undercap recovery 2 1 a /x\nt", "# undercap recovery 1 7\nt"})
    file(fmt::format("undercap/recovery/{}.toml", ++number), text);
  EXPECT_TRUE(Recovery::left_behind(folder).empty());
  EXPECT_EQ(copies().size(), 9U);
  EXPECT_TRUE(Recovery::left_behind(folder / "nowhere").empty());
}

}  // namespace
}  // namespace undercap
