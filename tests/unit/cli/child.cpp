#include "tests/unit/cli/child.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <stdexcept>

namespace undercap {
namespace {

struct Pipe {
  Pipe() {
    if (::pipe2(ends, O_CLOEXEC) != 0) throw std::runtime_error(std::strerror(errno));
  }
  ~Pipe() {
    close_end(0);
    close_end(1);
  }
  void close_end(int end) {
    if (ends[end] >= 0) ::close(ends[end]);
    ends[end] = -1;
  }
  // Takes what has come; false at the end.
  bool take(std::string& into) {
    char block[4096];
    const ssize_t count = ::read(ends[0], block, sizeof block);
    if (count > 0) into.append(block, static_cast<std::size_t>(count));
    return count > 0 || (count < 0 && errno == EINTR);
  }
  int ends[2];
};

[[noreturn]] void become_program(const std::vector<std::string>& arguments, const ChildOptions& options,
                                 int out, int err) {
  std::vector<char*> argv;
  // Another copy of the program, as tests/elsewhere.sh installs it.
  const char* const other = std::getenv("UNDERCAP_TEST_PROGRAM");
  std::string program = other ? other : UNDERCAP_PROGRAM;
  argv.push_back(program.data());
  for (const std::string& argument : arguments) argv.push_back(const_cast<char*>(argument.c_str()));
  argv.push_back(nullptr);
  // No window opens on whoever runs the tests.
  ::unsetenv("DISPLAY");
  ::unsetenv("WAYLAND_DISPLAY");
  for (const std::string& setting : options.environment) ::putenv(const_cast<char*>(setting.c_str()));
  if (!options.out_file.empty()) out = ::open(options.out_file.c_str(), O_WRONLY);
  if (::chdir(options.folder.c_str()) != 0 || ::dup2(out, 1) < 0 || ::dup2(err, 2) < 0) ::_exit(126);
  ::signal(SIGINT, SIG_DFL);
  if (options.prepare) options.prepare();
  ::execv(program.c_str(), argv.data());
  ::_exit(127);
}

}  // namespace

Finished run_program(const std::vector<std::string>& arguments, const ChildOptions& options) {
  Pipe out, err;
  const pid_t child = ::fork();
  if (child < 0) throw std::runtime_error(std::strerror(errno));
  if (child == 0) become_program(arguments, options, out.ends[1], err.ends[1]);
  out.close_end(1);
  err.close_end(1);
  Finished finished;
  bool watching = static_cast<bool>(options.watch), looking = static_cast<bool>(options.look);
  pollfd ends[] = {{out.ends[0], POLLIN, 0}, {err.ends[0], POLLIN, 0}};
  while (ends[0].fd >= 0 || ends[1].fd >= 0) {
    if (::poll(ends, 2, looking ? 1 : -1) < 0 && errno != EINTR) break;
    if (looking)
      if (const int signal = options.look(); signal != 0) {
        ::kill(child, signal);
        looking = false;
      }
    if (ends[0].revents != 0 && !out.take(finished.out)) ends[0].fd = -1;
    if (ends[1].revents != 0 && !err.take(finished.err)) ends[1].fd = -1;
    if (!watching) continue;
    if (const int signal = options.watch(finished.err); signal != 0) {
      ::kill(child, signal);
      watching = false;
    }
  }
  int state = 0;
  while (::waitpid(child, &state, 0) < 0 && errno == EINTR) {
  }
  finished.status = WIFEXITED(state) ? WEXITSTATUS(state) : 1000 + WTERMSIG(state);
  return finished;
}

}  // namespace undercap
