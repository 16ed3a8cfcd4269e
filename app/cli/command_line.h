// The command line: options, help, and one clear sentence for what is wrong with it.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "app/cli/common.h"

namespace CLI {
class App;
}

namespace undercap {

class CommandLine {
 public:
  CommandLine();
  ~CommandLine();

  // Reads the arguments into the options. Returns an exit status when there is nothing left to do (help,
  // version).
  std::optional<int> parse(int argc, char** argv);
  std::string command() const;  // window, render, measure, sweep, stack, check or scenes

  SharedOptions options;
  ScenesOptions scenes_options;

 private:
  std::unique_ptr<CLI::App> app_;
};

}  // namespace undercap
