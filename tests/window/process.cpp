#include "tests/window/process.h"

#include <fcntl.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cstdlib>
#include <cstring>
#include <stdexcept>
#include <thread>

namespace undercap {
namespace {

[[noreturn]] void become(const std::vector<std::string>& words, const ProcessOptions& options) {
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
  for (const std::string& setting : options.environment) ::putenv(const_cast<char*>(setting.c_str()));
  const std::string output = options.output.empty() ? "/dev/null" : options.output.string();
  const int out = ::open(output.c_str(), O_WRONLY | O_CREAT | O_APPEND, 0600);
  if (out < 0 || ::dup2(out, 1) < 0 || ::dup2(out, 2) < 0) ::_exit(126);
  if (!options.folder.empty() && ::chdir(options.folder.c_str()) != 0) ::_exit(126);
  if (options.keep_open >= 0) ::fcntl(options.keep_open, F_SETFD, 0);
  std::vector<char*> argv;
  for (const std::string& word : words) argv.push_back(const_cast<char*>(word.c_str()));
  argv.push_back(nullptr);
  ::execvp(argv.front(), argv.data());
  ::_exit(127);
}

}  // namespace

Process::Process(const std::vector<std::string>& words, const ProcessOptions& options) : child_(::fork()) {
  if (child_ < 0) throw std::runtime_error(std::strerror(errno));
  if (child_ == 0) become(words, options);
}

Process::~Process() {
  if (status_) return;
  signal(SIGKILL);
  wait(10);
}

void Process::signal(int number) const {
  if (!status_) ::kill(child_, number);
}

std::optional<int> Process::wait(double seconds) {
  const auto end = std::chrono::steady_clock::now() + std::chrono::duration<double>(seconds);
  while (!status_) {
    int state = 0;
    const pid_t ended = ::waitpid(child_, &state, WNOHANG);
    if (ended == child_) status_ = WIFEXITED(state) ? WEXITSTATUS(state) : 1000 + WTERMSIG(state);
    if (status_ || std::chrono::steady_clock::now() >= end) break;
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  }
  return status_;
}

int run_to_end(const std::vector<std::string>& words, const ProcessOptions& options) {
  Process process(words, options);
  const auto status = process.wait(60);
  if (!status) throw std::runtime_error(words.front() + " takes longer than a minute");
  return *status;
}

}  // namespace undercap
