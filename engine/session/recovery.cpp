#include "engine/session/recovery.h"

#include <fmt/format.h>
#include <signal.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <fstream>
#include <utility>

#include "engine/core/errors.h"
#include "engine/core/files.h"

namespace undercap {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view opening = "# undercap recovery 1 ";
constexpr std::size_t limit_bytes = 5'000'000;  // a scene and the line above it

fs::path folder_in(const fs::path& state) { return state / "undercap" / "recovery"; }

// Of /proc, whose files have no size.
std::string whole(const std::string& file) {
  std::ifstream input(file);
  std::string text;
  std::getline(input, text, '\0');
  return text;
}

// When a process began: field 22 of /proc/PID/stat, in ticks since the machine did, and which start of the
// machine that was (proc(5)). With it a number that is given to another process is no longer the same one.
// The name in the second field may hold anything, so that fields count from its closing bracket. Empty: not
// known.
std::string begun(long pid) {
  const std::string stat = whole(fmt::format("/proc/{}/stat", pid));
  std::size_t at = stat.rfind(')');
  for (int field = 2; field < 22 && at != stat.npos; ++field) at = stat.find(' ', at + 1);
  if (at == stat.npos) return {};
  const std::string ticks = stat.substr(at + 1, stat.find(' ', at + 1) - at - 1);
  std::string boot = whole("/proc/sys/kernel/random/boot_id");
  std::erase(boot, '\n');
  return fmt::format("{}@{}", ticks, boot);
}

bool lives(long pid, const std::string& when) {
  if (::kill(static_cast<pid_t>(pid), 0) != 0 && errno == ESRCH) return false;
  const std::string now = begun(pid);
  return now.empty() || now == when;
}

// A path on one line: control characters and % as %XX.
std::string on_one_line(const std::string& path) {
  std::string line;
  for (const char c : path) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte < 0x20 || byte == 0x7f || c == '%')
      line += fmt::format("%{:02X}", byte);
    else
      line += c;
  }
  return line;
}

std::string from_one_line(std::string_view line) {
  std::string path;
  for (std::size_t i = 0; i < line.size(); ++i) {
    unsigned byte = 0;
    const char* digits = line.data() + i + 1;
    if (line[i] == '%' && i + 2 < line.size() &&
        std::from_chars(digits, digits + 2, byte, 16).ptr == digits + 2) {
      path += static_cast<char>(byte);
      i += 2;
    } else {
      path += line[i];
    }
  }
  return path;
}

struct Copy {
  long pid = 0;
  std::string begun, path, text;
};

std::string written(const Copy& copy) {
  return fmt::format("{}{} {} {}\n{}", opening, copy.pid, copy.begun, on_one_line(copy.path), copy.text);
}

// Nothing when a file is no copy of ours.
std::optional<Copy> read_copy(std::string_view bytes) {
  if (!bytes.starts_with(opening)) return std::nullopt;
  const std::size_t line_end = bytes.find('\n');
  if (line_end == bytes.npos) return std::nullopt;
  std::string_view line = bytes.substr(opening.size(), line_end - opening.size());
  Copy copy;
  const auto [pid_end, error] = std::from_chars(line.data(), line.data() + line.size(), copy.pid);
  if (error != std::errc{} || copy.pid <= 0) return std::nullopt;
  line.remove_prefix(static_cast<std::size_t>(pid_end - line.data()));
  const std::size_t path = line.find(' ', 1);
  if (!line.starts_with(' ') || path == line.npos) return std::nullopt;
  copy.begun = line.substr(1, path - 1);
  copy.path = from_one_line(line.substr(path + 1));
  copy.text = bytes.substr(line_end + 1);
  return copy;
}

std::chrono::system_clock::time_point modified(const fs::path& file) {
  std::error_code ignored;
  const auto time = fs::last_write_time(file, ignored);
  return std::chrono::time_point_cast<std::chrono::system_clock::duration>(
      std::chrono::file_clock::to_sys(time));
}

}  // namespace

Recovery::Recovery(const fs::path& state) : folder_(folder_in(state)) {
  // What an earlier process of this number left stays: its name is taken.
  std::error_code ignored;
  static int scenes = 0;
  do file_ = folder_ / fmt::format("{}-{}.toml", ::getpid(), ++scenes);
  while (fs::exists(file_, ignored));
}

std::optional<std::string> Recovery::tick(const EditedScene& edited, Clock::time_point now) {
  if (!edited.unsaved()) {
    done();
    return std::nullopt;
  }
  if (written_ == edited.text() || (last_try_ && now - *last_try_ < pause)) return std::nullopt;
  last_try_ = now;
  const long pid = ::getpid();
  try {
    make_private_folder(folder_);
    write_file(file_, written({pid, begun(pid), fs::absolute(edited.path()).string(), edited.text()}), true);
  } catch (const std::exception& fault) {
    if (std::exchange(fault_told_, true)) return std::nullopt;
    return fmt::format("no copy of the unsaved scene can be kept: {}", fault.what());
  }
  written_ = edited.text();
  fault_told_ = false;
  return std::nullopt;
}

void Recovery::done() {
  if (!written_) return;
  std::error_code ignored;
  fs::remove(file_, ignored);
  written_.reset();
}

std::vector<Recovered> Recovery::left_behind(const fs::path& state) {
  std::vector<Recovered> all;
  std::error_code fault;
  for (fs::directory_iterator entry(folder_in(state), fault), end; !fault && entry != end;
       entry.increment(fault)) {
    const fs::path& file = entry->path();
    if (file.extension() != ".toml") continue;
    try {
      auto copy = read_copy(read_file(file, limit_bytes));
      if (copy && !lives(copy->pid, copy->begun))
        all.push_back({std::move(copy->path), std::move(copy->text), modified(file), file});
    } catch (const Refusal&) {
      continue;  // not readable, so not ours
    }
  }
  std::sort(all.begin(), all.end(), [](const Recovered& a, const Recovered& b) { return a.when > b.when; });
  return all;
}

void Recovery::discard(const Recovered& recovered) {
  std::error_code ignored;
  std::filesystem::remove(recovered.file, ignored);
}

}  // namespace undercap
