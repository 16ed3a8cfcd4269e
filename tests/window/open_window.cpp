#include "tests/window/open_window.h"

#include <fmt/format.h>

#include <chrono>
#include <cmath>
#include <stdexcept>
#include <thread>

#include "engine/core/files.h"

namespace undercap {
namespace {

using Clock = std::chrono::steady_clock;

void rest(int milliseconds) { std::this_thread::sleep_for(std::chrono::milliseconds(milliseconds)); }

std::string whole(double pixels) { return std::to_string(std::lround(pixels)); }

}  // namespace

OpenWindow::OpenWindow(const Display& display, const std::filesystem::path& folder,
                       const std::vector<std::string>& arguments)
    : display_(display), folder_(folder) {
  std::filesystem::remove(folder / "watch.json");
  std::vector<std::string> words{UNDERCAP_PROGRAM, "window"};
  words.insert(words.end(), arguments.begin(), arguments.end());
  for (const std::string& word :
       {std::string("--size"), fmt::format("{}x{}", display.width(), display.height()),
        std::string("--watch"), (folder / "watch.json").string()})
    words.push_back(word);
  ProcessOptions options{.folder = folder, .output = folder / "said.txt"};
  options.environment = {"DISPLAY=" + display.name(), "LIBGL_ALWAYS_SOFTWARE=1",
                         // Compiled shaders are the same in every test.
                         "MESA_SHADER_CACHE_DIR=" UNDERCAP_WINDOW_FOLDER "/shaders"};
  for (const auto& [name, part] :
       {std::pair("HOME", "."), std::pair("XDG_CONFIG_HOME", "config"), std::pair("XDG_STATE_HOME", "state"),
        std::pair("XDG_CACHE_HOME", "cache"), std::pair("XDG_DATA_HOME", "data")})
    options.environment.push_back(fmt::format("{}={}", name, (folder / part).string()));
  process_ = std::make_unique<Process>(words, options);
  wait("the window", [](const Said& now) { return now["frames"] > 1; });
}

// The program replaces the file as a whole, so that what is read is never half of it.
OpenWindow::Said OpenWindow::said() const {
  const std::filesystem::path file = folder_ / "watch.json";
  if (!std::filesystem::exists(file)) return Said{{"frames", 0}, {"count", 0}};
  return Said::parse(read_file(file));
}

std::string OpenWindow::last_words() const {
  Said now = said();
  now.erase("things");
  now.erase("readings");
  const std::filesystem::path out = folder_ / "said.txt";
  return fmt::format("{}\n{}", now.dump(), std::filesystem::exists(out) ? read_file(out) : std::string());
}

void OpenWindow::wait(const std::string& what, const std::function<bool(const Said&)>& holds,
                      double seconds) const {
  const auto end = Clock::now() + std::chrono::duration<double>(seconds);
  while (!holds(said())) {
    if (const auto status = process_->wait(0))
      throw std::runtime_error(
          fmt::format("the program ended with {} before {}; {}", *status, what, last_words()));
    if (Clock::now() > end)
      throw std::runtime_error(fmt::format("waited {:.0f} s for {}; {}", seconds, what, last_words()));
    rest(10);
  }
}

// A watch file that is newer than what was pressed ends a frame that may have begun before; the one after it
// knows. Of a button that was pressed and let go, the one after that knows the second.
void OpenWindow::settle(unsigned frames) const {
  const Said before = said();
  wait("news of the window", [&](const Said& now) { return now["count"] > before["count"]; });
  const unsigned drawn = said()["frames"];
  wait("a frame", [&](const Said& now) { return now["frames"] >= drawn + frames; });
}

void OpenWindow::wait_for_picture(unsigned samples) const {
  wait("the picture", [&](const Said& now) {
    return now["ready"] == true && now["readings_current"] == true && now["samples"] >= samples;
  });
}

void OpenWindow::wait_for_message(const std::string& part) const {
  wait("the message '" + part + "'", [&](const Said& now) {
    for (const Said& message : now["messages"])
      if (message.get<std::string>().find(part) != std::string::npos) return true;
    return false;
  });
}

double OpenWindow::reading(const std::string& name) const { return said()["readings"].at(name); }

Area OpenWindow::area(const std::string& thing) const {
  wait(thing, [&](const Said& now) { return now["things"].contains(thing); });
  const Said place = said()["things"].at(thing);
  return {place[0], place[1], place[2], place[3]};
}

void OpenWindow::reach(const std::string& thing, const std::string& pane) const {
  const Area inside = area("pane " + pane);
  for (int turn = 0; turn < 30; ++turn) {
    const Spot at = area(thing).middle();
    if (at.y > inside.top + 8 && at.y < inside.bottom - 8) return;
    scroll({inside.left + 3, inside.middle().y}, at.y > inside.middle().y ? -1 : 1);
  }
  throw std::runtime_error(thing + " cannot be reached in pane " + pane);
}

void OpenWindow::point(const Spot& at) const {
  display_.hand({"mousemove", whole(at.x), whole(at.y)});
  settle();
}

void OpenWindow::click(const Spot& at) const {
  point(at);
  press();
}

void OpenWindow::press() const {
  display_.hand({"mousedown", "1"});
  rest(30);
  display_.hand({"mouseup", "1"});
  settle(2);
}

// What has just appeared may still move into its place.
void OpenWindow::click(const std::string& thing) const {
  Spot at = area(thing).middle();
  for (int turn = 0; turn < 10; ++turn) {
    point(at);
    const Spot now = area(thing).middle();
    if (std::hypot(now.x - at.x, now.y - at.y) < 1) break;
    at = now;
  }
  press();
}

void OpenWindow::drag(const Spot& from, const Spot& to) const {
  point(from);
  display_.hand({"mousedown", "1"});
  settle();
  for (const double share : {0.25, 0.5, 0.75, 1.0})
    point({from.x + share * (to.x - from.x), from.y + share * (to.y - from.y)});
  display_.hand({"mouseup", "1"});
  settle();
}

void OpenWindow::scroll(const Spot& at, int notches) const {
  point(at);
  for (int i = 0; i < std::abs(notches); ++i) display_.hand({"click", notches > 0 ? "4" : "5"});
  settle();
}

void OpenWindow::key(const std::string& keys) const {
  display_.hand({"key", keys});
  settle(2);
}

void OpenWindow::type(const std::string& text) const {
  wait("a box that takes the keys", [](const Said& now) { return now["typing"] == true; });
  display_.hand({"type", "--delay", "10", text});
  settle();
}

void OpenWindow::type_over(const std::string& box, const std::string& text) const {
  click(box);
  type(text);
  key("Return");
}

int OpenWindow::ended() const {
  const auto status = process_->wait(patience_s);
  if (!status) throw std::runtime_error("the program does not end; " + last_words());
  return *status;
}

}  // namespace undercap
