#include "tests/window/display.h"

#include <fcntl.h>
#include <poll.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <stdexcept>

#include "engine/core/files.h"

namespace undercap {
namespace {

// The number of the display, as the server writes it when it is ready.
std::string read_number(int from) {
  std::string number;
  pollfd end{from, POLLIN, 0};
  for (char digit = 0; ::poll(&end, 1, 60'000) > 0 && ::read(from, &digit, 1) == 1 && digit != '\n';)
    number += digit;
  return number;
}

// A word of an X window dump, which has its most significant byte first.
std::size_t header_word(const std::string& dump, std::size_t index) {
  std::size_t word = 0;
  for (std::size_t i = 0; i < 4; ++i) word = word << 8 | static_cast<unsigned char>(dump.at(4 * index + i));
  return word;
}

}  // namespace

Display::Display(int width, int height, const std::filesystem::path& folder)
    : width_(width), height_(height), folder_(folder) {
  int ends[2];
  if (::pipe2(ends, O_CLOEXEC) != 0) throw std::runtime_error(std::strerror(errno));
  ProcessOptions options{.output = folder / "display.txt", .keep_open = ends[1]};
  server_ = std::make_unique<Process>(
      std::vector<std::string>{"Xvfb", "-displayfd", std::to_string(ends[1]), "-screen", "0",
                               std::to_string(width) + "x" + std::to_string(height) + "x24", "-nolisten",
                               "tcp", "-noreset", "-fbdir", folder.string()},
      options);
  ::close(ends[1]);
  const std::string number = read_number(ends[0]);
  ::close(ends[0]);
  if (number.empty()) throw std::runtime_error("Xvfb does not start: " + read_file(options.output));
  name_ = ":" + number;
}

// The server keeps its screen as an X window dump (X11/XWDFile.h, version 7): 25 words, of which 0 is the
// header's size, 12 the bytes of a line, 19 the count of colours of 12 bytes; then the pixels as B G R x.
Picture8 Display::screen() const {
  const std::string dump = read_file(folder_ / "Xvfb_screen0");
  const std::size_t begin = header_word(dump, 0) + 12 * header_word(dump, 19), line = header_word(dump, 12);
  if (header_word(dump, 4) != static_cast<std::size_t>(width_) ||
      header_word(dump, 5) != static_cast<std::size_t>(height_) || header_word(dump, 11) != 32)
    throw std::runtime_error("the screen of the display is not what was asked for");
  Picture8 picture{.width = width_, .height = height_, .rgb = {}};
  for (std::size_t y = 0; y < static_cast<std::size_t>(height_); ++y)
    for (std::size_t x = 0; x < static_cast<std::size_t>(width_); ++x)
      for (const std::size_t channel : {2u, 1u, 0u})
        picture.rgb.push_back(static_cast<std::uint8_t>(dump.at(begin + y * line + 4 * x + channel)));
  return picture;
}

void Display::hand(const std::vector<std::string>& words) const {
  std::vector<std::string> all{"xdotool"};
  all.insert(all.end(), words.begin(), words.end());
  const std::filesystem::path said = folder_ / "xdotool.txt";
  std::filesystem::remove(said);
  if (run_to_end(all, {.environment = {"DISPLAY=" + name_}, .output = said}) == 0) return;
  std::string line;
  for (const std::string& word : all) line += word + " ";
  throw std::runtime_error(line + "fails: " + read_file(said));
}

}  // namespace undercap
