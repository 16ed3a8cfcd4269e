// A program that runs beside the test and never outlives it.
#pragma once

#include <sys/types.h>

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace undercap {

struct ProcessOptions {
  std::vector<std::string> environment{};  // NAME=VALUE, over our own
  std::filesystem::path folder{};          // to run in; empty: ours
  std::filesystem::path output{};          // what it says, both streams, added at the end; empty: thrown away
  int keep_open = -1;                      // a descriptor that the program gets
};

class Process {
 public:
  // The first word is a path, or a name to look for in PATH.
  explicit Process(const std::vector<std::string>& words, const ProcessOptions& options = {});
  ~Process();  // kills it
  Process(const Process&) = delete;
  Process& operator=(const Process&) = delete;

  bool running() { return !wait(0).has_value(); }
  // The exit status, or 1000 + number when a signal ended it; nothing while it still runs after so long.
  std::optional<int> wait(double seconds);
  void signal(int number) const;

 private:
  pid_t child_ = -1;
  std::optional<int> status_;
};

// Runs a program to its end; its status as above. Throws when it takes longer than a minute.
int run_to_end(const std::vector<std::string>& words, const ProcessOptions& options = {});

}  // namespace undercap
