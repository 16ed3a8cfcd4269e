#include "engine/session/user_folders.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "tests/unit/session/set_up.h"

namespace undercap {
namespace {

namespace fs = std::filesystem;

// The environment as it was, when a test is over.
class Variables {
 public:
  void set(const char* name, const char* value) {
    if (!before_.contains(name)) {
      const char* is = std::getenv(name);
      before_[name] = is ? std::optional<std::string>(is) : std::nullopt;
    }
    if (value)
      ::setenv(name, value, 1);
    else
      ::unsetenv(name);
  }
  ~Variables() {
    for (const auto& [name, value] : before_) set(name.c_str(), value ? value->c_str() : nullptr);
  }

 private:
  std::map<std::string, std::optional<std::string>> before_;
};

TEST(UserFolders, FollowTheEnvironment) {
  Variables variables;
  variables.set("HOME", "/home/some body");
  const std::array<std::pair<const char*, fs::path (*)()>, 3> folders{{{"XDG_CONFIG_HOME", config_folder},
                                                                       {"XDG_STATE_HOME", state_folder},
                                                                       {"XDG_CACHE_HOME", cache_folder}}};
  const std::array fallbacks{"/home/some body/.config", "/home/some body/.local/state",
                             "/home/some body/.cache"};
  for (std::size_t i = 0; i < folders.size(); ++i) {
    const auto& [variable, folder] = folders[i];
    variables.set(variable, "/else where/x");
    EXPECT_EQ(folder(), "/else where/x");
    for (const char* not_absolute : {"", "relative/x", "./x", "~/x"}) {
      variables.set(variable, not_absolute);
      EXPECT_EQ(folder(), fallbacks[i]) << variable << "=" << not_absolute;
    }
    variables.set(variable, nullptr);
    EXPECT_EQ(folder(), fallbacks[i]);
  }
  // The user database has another home than a relative one.
  variables.set("HOME", "relative");
  EXPECT_TRUE(config_folder().is_absolute());
}

class Kept : public InFolder {
 protected:
  std::string recent() const { return read_file(folder / "undercap" / "recent"); }
  std::string preferences() const { return read_file(folder / "undercap" / "preferences.toml"); }
};

TEST_F(Kept, FoldersAreForTheUserAlone) {
  make_private_folder(folder / "a" / "b");
  for (const char* made : {"a", "a/b"})
    EXPECT_EQ(fs::status(folder / made).permissions(), fs::perms::owner_all) << made;
  make_private_folder(folder / "a" / "b");
  file("plain", "");
  EXPECT_THROW(make_private_folder(folder / "plain" / "x"), Trouble);
}

TEST_F(Kept, RecentScenesAreNewestFirstAndOnce) {
  RecentScenes recent(folder);
  EXPECT_TRUE(recent.list().empty());
  const fs::path a = file("a.toml", ""), b = file("b  mit Blank, Pilz № 1.toml", "");
  recent.add(a);
  recent.add(b);
  recent.add(folder / "." / "a.toml");
  EXPECT_EQ(recent.list(), (std::vector<fs::path>{a, b}));
  EXPECT_EQ(RecentScenes(folder).list(), recent.list());
  recent.forget(a);
  EXPECT_EQ(recent.list(), std::vector<fs::path>{b});
}

TEST_F(Kept, RecentScenesAreAtMostTwelveAndThere) {
  RecentScenes recent(folder);
  for (int i = 0; i < 15; ++i) recent.add(file(fmt::format("{}.toml", i), ""));
  ASSERT_EQ(recent.list().size(), 12U);
  EXPECT_EQ(recent.list().front(), folder / "14.toml");
  EXPECT_EQ(recent.list().back(), folder / "3.toml");
  recent.add(folder / "14.toml");
  EXPECT_EQ(recent.list().size(), 12U);
  fs::remove(folder / "14.toml");
  EXPECT_EQ(recent.list().front(), folder / "13.toml");
  recent.add(file("new.toml", ""));
  EXPECT_FALSE(has(this->recent(), "/14.toml"));
}

TEST_F(Kept, TwoWindowsDoNotForgetEachOther) {
  RecentScenes one(folder), other(folder);
  one.add(file("a.toml", ""));
  other.add(file("b.toml", ""));
  EXPECT_EQ(one.list().size(), 2U);
}

TEST_F(Kept, RecentScenesBearNonsense) {
  const fs::path a = file("a.toml", "");
  fs::create_directory(folder / "undercap");
  const std::string name = a.string(), relative = "../../../../../../../../../../../.." + name;
  file("undercap/recent",
       fmt::format("{}\n\n\xff\xfe/x\n{}\n/\n{}\r\n{}", relative, folder.string(), name, name));
  RecentScenes recent(folder);
  EXPECT_EQ(recent.list(), std::vector<fs::path>{a});  // the last line, without a line end
  recent.add(fs::path("/tmp/line\nbreak.toml"));
  EXPECT_EQ(recent.list(), std::vector<fs::path>{a});
  fs::remove(folder / "undercap" / "recent");
  fs::create_directory(folder / "undercap" / "recent");
  EXPECT_TRUE(recent.list().empty());
}

TEST_F(Kept, PreferencesStay) {
  {
    Preferences preferences(folder);
    EXPECT_EQ(preferences.text_scale(), 1);
    EXPECT_FALSE(preferences.hint_dismissed("drag"));
    preferences.set_text_scale(1.25);
    preferences.dismiss_hint("drag");
    preferences.dismiss_hint("say \"no\"");
    preferences.dismiss_hint("drag");
    EXPECT_TRUE(preferences.hint_dismissed("drag"));
  }
  Preferences again(folder);
  EXPECT_EQ(again.text_scale(), 1.25);
  EXPECT_TRUE(again.hint_dismissed("drag"));
  EXPECT_TRUE(again.hint_dismissed("say \"no\""));
  EXPECT_FALSE(again.hint_dismissed("other"));
  EXPECT_EQ(preferences(), "text_scale = 1.25\nhints_dismissed = [\"drag\", \"say \\\"no\\\"\"]\n");
  again.bring_hints_back();
  EXPECT_FALSE(Preferences(folder).hint_dismissed("drag"));
}

TEST_F(Kept, PreferencesKeepWhatTheyDoNotKnow) {
  fs::create_directory(folder / "undercap");
  file("undercap/preferences.toml", "# mine\nlater = { x = 1 }\ntext_scale = 2 # large\n[table]\ny = 2\n");
  Preferences preferences(folder);
  EXPECT_EQ(preferences.text_scale(), 2);
  preferences.set_text_scale(99);
  EXPECT_EQ(this->preferences(), "# mine\nlater = { x = 1 }\ntext_scale = 4 # large\n[table]\ny = 2\n");
}

TEST_F(Kept, PreferencesBearNonsense) {
  fs::create_directory(folder / "undercap");
  for (const char* text :
       {"text_scale = 1000\n", "text_scale = 0.01\n", "text_scale = \"x\"\nhints_dismissed = 3\n", "= = [",
        "text_scale = nan\n", "hints_dismissed = [1, { a = 2 }]\n"}) {
    file("undercap/preferences.toml", text);
    Preferences preferences(folder);
    EXPECT_EQ(preferences.text_scale(), 1) << text;
    preferences.set_text_scale(1.5);
    EXPECT_EQ(Preferences(folder).text_scale(), 1.5) << text;
  }
}

}  // namespace
}  // namespace undercap
