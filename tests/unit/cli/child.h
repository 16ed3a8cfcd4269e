// The built program, run as a person runs it: arguments in, exit status, standard output and standard error
// out.
#pragma once

#include <functional>
#include <string>
#include <vector>

namespace undercap {

struct Finished {
  int status = 0;  // exit status; 1000 + number when a signal ended it
  std::string out, err;
};

struct ChildOptions {
  std::string folder;                    // to run in
  std::vector<std::string> environment;  // NAME=VALUE, over our own
  std::string out_file;                  // standard output goes there; empty: it is caught
  // Called whenever more has come on standard error; returns the signal to send, or 0. After a signal it
  // rests.
  std::function<int(const std::string& err)> watch;
  std::function<void()> prepare = {};  // called in the child before the program begins: limits
  // Called every millisecond while the child runs; returns the signal to send, or 0. After a signal it rests.
  std::function<int()> look = {};
};

Finished run_program(const std::vector<std::string>& arguments, const ChildOptions& options);

}  // namespace undercap
