// What a first-time user types, and what the program answers.
#include "tests/unit/cli/set_up.h"

namespace undercap {
namespace {

TEST_F(Cli, HelpAndVersion) {
  const Finished help = run({"--help"});
  EXPECT_EQ(help.status, 0);
  EXPECT_EQ(help.err, "");
  for (const char* word : {"render", "measure", "sweep", "check", "scenes", "To begin:"})
    EXPECT_NE(help.out.find(word), std::string::npos) << word;
  for (const char* command : {"render", "measure", "sweep", "check", "scenes"}) {
    const Finished one = run({command, "--help"});
    EXPECT_EQ(one.status, 0) << command;
    EXPECT_EQ(one.err, "") << command;
    EXPECT_NE(one.out.find(std::string("Usage: undercap ") + command), std::string::npos) << one.out;
    EXPECT_EQ(one.out.find("ENUM"), std::string::npos) << "a library's words in " << one.out;
  }
  EXPECT_EQ(run({"--version"}).out.substr(0, 9), "undercap ");
  const Finished nothing = run({});
  EXPECT_EQ(nothing.status, 1);
  EXPECT_EQ(nothing.out, "");
  EXPECT_EQ(nothing.err, help.out);
}

TEST_F(Cli, TypingErrors) {
  write("wood.toml", glowing_card());
  expect_refusal({"rendr", "wood.toml"},
                 "there is no command 'rendr'; did you mean 'render'? commands: render, measure, place, "
                 "sweep, lesson, stack, pocket, "
                 "check, scenes, window");
  // A scene alone is to be opened, and no test has a display.
  expect_refusal({"wood.toml"},
                 "there is no display to open a window on: X11: The DISPLAY environment variable is missing; "
                 "'undercap render' and 'undercap measure' need none",
                 2);
  expect_refusal({"render"}, "render needs a scene: a file, or a name that 'undercap scenes' lists");
  expect_refusal({"render", "wood.toml", "--sise", "32x32"},
                 "unknown option '--sise'; did you mean '--size'?");
  expect_refusal({"render", "wood.toml", "--zoom=2"},
                 "unknown option '--zoom=2'; 'undercap render --help' lists the options");
  expect_refusal({"render", "wood.toml", "two"},
                 "'two' is one argument too many; names with blanks need quotes");
  expect_refusal({"--hlep"}, "unknown option '--hlep'; did you mean '--help'?");
  expect_refusal({"render", "wood.toml", "--quality", "best"},
                 "--quality: 'best'; allowed: draft, good, fine");
  expect_refusal({"render", "wood.toml", "--noise", "0"},
                 "--noise: '0'; allowed: a number from 0.05 to 100 %");
  expect_refusal({"render", "wood.toml", "--noise", "nan"},
                 "--noise: 'nan'; allowed: a number from 0.05 to 100 %");
  expect_refusal({"render", "wood.toml", "--seed", "1.5"},
                 "--seed: '1.5'; allowed: a whole number from 0 to 2147483647");
}

}  // namespace
}  // namespace undercap
