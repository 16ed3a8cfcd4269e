#include "engine/core/files.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <utility>

#include "engine/core/errors.h"

namespace undercap {
namespace {

class Descriptor {
 public:
  explicit Descriptor(int number) : number_(number) {}
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  int number() const { return number_; }
  bool close() { return ::close(std::exchange(number_, -1)) == 0; }

 private:
  int number_;
};

Refusal about(const std::filesystem::path& file, const std::string& message) {
  std::vector<Fault> faults(1);
  faults[0].place.file = file.string();
  faults[0].message = message;
  return Refusal(std::move(faults));
}

Trouble write_trouble(const std::filesystem::path& file) {
  return Trouble(fmt::format("{}: cannot be written: {}", file.string(), std::strerror(errno)));
}

void write_all(int descriptor, std::string_view bytes, const std::filesystem::path& file) {
  while (!bytes.empty()) {
    const ssize_t written = ::write(descriptor, bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) throw write_trouble(file);
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
}

// Waits for a pipe that has given nothing yet, since nobody has it open for writing: poll() tells when a
// writer has come, also when it has gone again (poll(2), pipe(7)). False when that takes too long.
bool await_writer(int pipe) {
  constexpr int patience_ms = 2000;
  pollfd ready{pipe, POLLIN, 0};
  return ::poll(&ready, 1, patience_ms) != 0;
}

// Existing and neither a regular file nor a folder: /dev/stdout, a pipe.
bool is_special(const std::filesystem::path& file) {
  std::error_code ignored;
  const auto status = std::filesystem::status(file, ignored);
  return std::filesystem::exists(status) && !std::filesystem::is_regular_file(status) &&
         !std::filesystem::is_directory(status);
}

}  // namespace

std::string read_file(const std::filesystem::path& file, std::size_t limit_bytes) {
  // A pipe without a writer would hold up an ordinary open() for ever.
  const Descriptor input(::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
  if (input.number() < 0) throw about(file, fmt::format("cannot be read: {}", std::strerror(errno)));
  struct stat about_it {};
  ::fstat(input.number(), &about_it);
  if (S_ISDIR(about_it.st_mode)) throw about(file, "is a folder, a file is needed");
  bool had_writer = !S_ISFIFO(about_it.st_mode);
  std::string bytes;
  char block[1 << 16];
  for (;;) {
    const ssize_t count = ::read(input.number(), block, sizeof block);
    if (count < 0 && errno == EINTR) continue;
    if (count < 0 && errno == EAGAIN) {
      had_writer = true;
      pollfd ready{input.number(), POLLIN, 0};
      ::poll(&ready, 1, -1);
      continue;
    }
    if (count < 0) throw about(file, fmt::format("cannot be read: {}", std::strerror(errno)));
    if (count == 0 && !had_writer) {
      had_writer = await_writer(input.number());
      if (had_writer) continue;
      throw about(file, "is a pipe into which nobody writes; start its writer first");
    }
    if (count == 0) return bytes;
    had_writer = true;
    bytes.append(block, static_cast<std::size_t>(count));
    if (bytes.size() > limit_bytes)
      throw about(file, fmt::format("is larger than the limit of {} MB; is it the right file?",
                                    limit_bytes / 1'000'000));
  }
}

bool stays_inside(const std::filesystem::path& folder, const std::filesystem::path& file) {
  std::error_code failed;
  const auto base =
      std::filesystem::weakly_canonical(std::filesystem::absolute(folder.empty() ? "." : folder), failed);
  if (failed) return false;
  const auto real = std::filesystem::weakly_canonical(std::filesystem::absolute(file), failed);
  if (failed) return false;
  const auto relative = real.lexically_relative(base);
  return !relative.empty() && *relative.begin() != "..";
}

void check_writable(const std::filesystem::path& file, bool force) {
  std::error_code ignored;
  if (file.empty()) throw Refusal("the name of the file to write is empty; give one");
  if (std::filesystem::is_directory(file, ignored)) throw about(file, "is a folder; name a file to write");
  const auto folder = file.parent_path();
  if (!folder.empty() && !std::filesystem::is_directory(folder, ignored))
    throw about(file, fmt::format("the folder '{}' does not exist; make it first", folder.string()));
  if (is_special(file)) return;
  if (!force && std::filesystem::exists(file, ignored))
    throw about(file, "exists already; name another file or add --force to replace it");
  // Rights alone do not tell: a disk may be mounted read-only, and root may everything. So a file is made.
  std::string probe = file.string() + ".XXXXXX";
  const Descriptor made(::mkostemp(probe.data(), O_CLOEXEC));
  if (made.number() < 0)
    throw about(file, fmt::format("its folder cannot be written: {}", std::strerror(errno)));
  ::unlink(probe.c_str());
}

void write_file(const std::filesystem::path& file, std::string_view bytes, bool force) {
  check_writable(file, force);
  if (is_special(file)) {
    Descriptor output(::open(file.c_str(), O_WRONLY | O_CLOEXEC));
    if (output.number() < 0) throw write_trouble(file);
    write_all(output.number(), bytes, file);
    if (!output.close()) throw write_trouble(file);
    return;
  }
  std::string beside = file.string() + ".XXXXXX";
  Descriptor output(::mkostemp(beside.data(), O_CLOEXEC));
  if (output.number() < 0) throw write_trouble(file);
  try {
    write_all(output.number(), bytes, file);
    const mode_t mask = ::umask(0);
    ::umask(mask);
    if (::fchmod(output.number(), 0666 & ~mask) != 0 || ::fsync(output.number()) != 0)
      throw write_trouble(file);
    if (!output.close() || ::rename(beside.c_str(), file.c_str()) != 0) throw write_trouble(file);
  } catch (...) {
    ::unlink(beside.c_str());
    throw;
  }
}

}  // namespace undercap
