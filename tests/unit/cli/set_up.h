// A folder of its own for each test, and small scenes to run the program on.
#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "tests/unit/cli/child.h"

namespace undercap {

class Cli : public testing::Test {
 protected:
  Cli();
  ~Cli() override;

  void write(const std::string& name, const std::string& text) const;
  std::string read(const std::string& name) const;
  bool exists(const std::string& name) const;
  std::vector<std::string> names() const;  // of everything in the folder, sorted

  Finished run(std::vector<std::string> arguments, ChildOptions options = {}) const;
  // A render of 32 x 32 pixels on the software device.
  Finished draft(std::vector<std::string> arguments, ChildOptions options = {}) const;

  // The program refuses: nothing on standard output, exactly this on standard error, no new file in the
  // folder.
  void expect_refusal(const std::vector<std::string>& arguments, const std::string& message,
                      int status = 1) const;
  void expect_check(const std::string& scene_text, const std::string& message) const;

  std::filesystem::path folder;
};

// A card of 0.3 m square that glows with 100 cd/m2 and fills the frame; no ground, no sky. Lines 1 to 15.
std::string glowing_card();
// What another program says on both outputs: how our files look to their readers. A line for the shell.
std::string said_by(const std::string& command);
// The same scene with one line in place of another; the old line must be there.
std::string replaced(std::string text, const std::string& line, const std::string& by);

}  // namespace undercap
