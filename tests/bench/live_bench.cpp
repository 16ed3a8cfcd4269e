// The loop of the window without its window: how evenly it answers while the picture refines, and how fast
// the picture follows a torch that is moved.
//
//   undercap_live_bench [--device D] [--scene FILE] [--size WxH] [--reference SAMPLES] [--slice MS] [--limit
//   S]
//
// Prints: frames a second while refining; time to the first picture after a move; error of what is shown
// against the converged picture (RMSE of the eight-bit codes over all channels, filtered) over the time since
// the move. Time that the bench itself takes to look at pictures is left out.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <thread>
#include <vector>

#include "engine/core/errors.h"
#include "engine/gl/context.h"
#include "engine/gl/objects.h"
#include "engine/render/embedded_shaders.h"
#include "engine/session/edited_scene.h"
#include "engine/session/live.h"

using namespace undercap;

namespace {

using Clock = std::chrono::steady_clock;
double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

struct Options {
  std::string device, scene = "scenes/umber_parasol.toml";
  int width = 480, height = 320;
  unsigned reference = 256;
  double slice_ms = 0, limit_s = 8;
};

using Codes = std::vector<std::uint32_t>;

double rmse(const Codes& a, const Codes& b) {
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i)
    for (int c = 0; c < 3; ++c) {
      const double d = double(a[i] >> (8 * c) & 255u) - double(b[i] >> (8 * c) & 255u);
      sum += d * d;
    }
  return std::sqrt(sum / (3.0 * static_cast<double>(std::max<std::size_t>(1, a.size()))));
}

// What is shown, brought to the full size when it is coarser: the window's magnifier is bilinear.
Codes at_full_size(const Live& live, int width, int height) {
  const ShownPicture& shown = live.picture().shown();
  const Codes codes = live.picture().codes();
  if (shown.width == width && shown.height == height) return codes;
  Codes large;
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x) {
      const double sx = std::clamp((x + 0.5) * shown.width / width - 0.5, 0.0, shown.width - 1.0),
                   sy = std::clamp((y + 0.5) * shown.height / height - 0.5, 0.0, shown.height - 1.0);
      const int x0 = static_cast<int>(sx), y0 = static_cast<int>(sy), x1 = std::min(x0 + 1, shown.width - 1),
                y1 = std::min(y0 + 1, shown.height - 1);
      std::uint32_t word = 0;
      for (int c = 0; c < 3; ++c) {
        const auto at = [&](int px, int py) {
          return double(codes[static_cast<std::size_t>(py * shown.width + px)] >> (8 * c) & 255u);
        };
        const double fx = sx - x0, fy = sy - y0;
        const double value = (at(x0, y0) * (1 - fx) + at(x1, y0) * fx) * (1 - fy) +
                             (at(x0, y1) * (1 - fx) + at(x1, y1) * fx) * fy;
        word |= static_cast<std::uint32_t>(std::lround(value)) << (8 * c);
      }
      large.push_back(word);
    }
  return large;
}

class Bench {
 public:
  explicit Bench(const Options& options)
      : o_(options),
        context_(options.device),
        shaders_(embedded_shaders(), {}),
        edited_(EditedScene::open(options.scene)),
        live_(shaders_),
        slice_((options.slice_ms > 0  ? options.slice_ms
                : context_.software() ? 40
                                      : 8) *
               1e-3) {
    live_.set_size(o_.width, o_.height);
    // Held, so that all pictures are exposed alike.
    edited_.set("exposure.shutter_s", "0.1", "");
  }

  void run() {
    std::printf("%s, %s, %d x %d, slices of %.0f ms\n", context_.renderer().c_str(), o_.scene.c_str(),
                o_.width, o_.height, slice_ * 1e3);
    auto start = Clock::now();
    live_.open(edited_.scene());
    while (!live_.picture().showing_current()) {
      if (!live_.ready()) std::this_thread::sleep_for(std::chrono::milliseconds(5));
      live_.work(slice_);
    }
    std::printf("first picture                 %.2f s, of which %.2f s beside the window\n",
                seconds_since(start), live_.build_seconds());
    if (edited_.scene().sources.empty()) throw Refusal(o_.scene + " has no source that could be moved");
    const glm::dvec3 first = edited_.scene().sources.front().position_m,
                     second = first + glm::dvec3(0.03, -0.02, 0.02);
    move(second, false);
    settle(o_.reference);
    live_.set_filtered(false);
    while (live_.picture().shown().filtered || !live_.picture().showing_current()) live_.work(slice_);
    const Codes reference = live_.picture().codes();
    live_.set_filtered(true);
    move(first, false);
    settle(32);
    frame_rate();
    settle(std::min(o_.reference, 512u));
    follow(second, reference);
    drag(first);
  }

 private:
  void move(const glm::dvec3& place, bool dragging) {
    char value[96];
    std::snprintf(value, sizeof value, "[%.5f, %.5f, %.5f]", place.x, place.y, place.z);
    const SceneChange change =
        edited_.set("source." + edited_.scene().sources.front().name + ".position_m", value, "move");
    live_.edit(edited_.scene(), change, dragging);
  }

  void settle(unsigned samples) {
    while (!live_.picture().at_full_size() || live_.picture().samples() < samples || !live_.readings().done())
      live_.work(slice_);
  }

  // While everything is under way: the picture refines and readings are taken.
  void frame_rate() {
    move(edited_.scene().sources.front().position_m + glm::dvec3(0.001, 0, 0), false);
    double worst = 0;
    int frames = 0;
    const auto start = Clock::now();
    while (seconds_since(start) < 2) {
      const auto frame = Clock::now();
      live_.work(slice_);
      finish();
      worst = std::max(worst, seconds_since(frame));
      ++frames;
    }
    std::printf(
        "while refining                %.1f frames a second, the longest %.1f ms, %.3g paths a second\n",
        frames / seconds_since(start), worst * 1e3, live_.picture().pace().paths_per_second());
    move(edited_.scene().sources.front().position_m - glm::dvec3(0.001, 0, 0), false);
    settle(32);
  }

  void follow(const glm::dvec3& place, const Codes& reference) {
    auto start = Clock::now();
    move(place, false);
    double looking = 0, next = 0, reached3 = -1, reached4 = -1;
    unsigned seen = 0;
    int seen_width = 0;
    bool first = true;
    while (seconds_since(start) - looking < o_.limit_s) {
      live_.work(slice_);
      const double now = seconds_since(start) - looking;
      const ShownPicture& shown = live_.picture().shown();
      if (!live_.picture().showing_current() || (shown.samples == seen && shown.width == seen_width))
        continue;
      const auto look = Clock::now();
      seen = shown.samples;
      seen_width = shown.width;
      const double error = rmse(at_full_size(live_, o_.width, o_.height), reference);
      if (first)
        std::printf("torch moved: first picture    %.0f ms, %d x %d, RMSE %.2f / 255\n", now * 1e3,
                    shown.width, shown.height, error);
      first = false;
      if (error < 4 && reached4 < 0) reached4 = now;
      if (error < 3 && reached3 < 0) reached3 = now;
      if (now >= next) {
        std::printf("  %6.0f ms  %4d x %-4d %4u samples  RMSE %.2f\n", now * 1e3, shown.width, shown.height,
                    shown.samples, error);
        next = std::max(now, 0.01) * 1.6;
      }
      looking += seconds_since(look);
    }
    std::printf("RMSE under 4 / 255 after      %s\nRMSE under 3 / 255 after      %s\n",
                text(reached4).c_str(), text(reached3).c_str());
  }

  static std::string text(double seconds) {
    return seconds < 0 ? "not within the limit" : std::to_string(std::lround(seconds * 1e3)) + " ms";
  }

  // Sixty moves a second: how many pictures a second come of it, and the first one after the release.
  void drag(const glm::dvec3& to) {
    const glm::dvec3 from = edited_.scene().sources.front().position_m;
    const auto start = Clock::now();
    int pictures = 0, step = 0;
    double worst = 0;
    while (seconds_since(start) < 3) {
      if (seconds_since(start) * 60 > step) {
        ++step;
        const auto edit = Clock::now();
        move(from + (to - from) * (step % 180 / 180.0), true);
        worst = std::max(worst, seconds_since(edit));
      }
      if (live_.work(slice_)) ++pictures;
    }
    std::printf("while dragging                %.1f pictures a second, an edit takes %.1f ms at most\n",
                pictures / seconds_since(start), worst * 1e3);
    const auto release = Clock::now();
    live_.released();
    while (!live_.picture().showing_current()) live_.work(slice_);
    std::printf("released: first picture       %.0f ms\n", seconds_since(release) * 1e3);
    build();
  }

  // The set is built beside the window; what the window's own thread does of it is one long frame.
  void build() {
    const SceneChange change = edited_.set("ground.reflectance", "[0.12, 0.08, 0.05]", "");
    live_.edit(edited_.scene(), change, false);
    double worst = 0;
    const auto start = Clock::now();
    while (live_.building() || !live_.picture().showing_current()) {
      const auto frame = Clock::now();
      live_.work(slice_);
      finish();
      worst = std::max(worst, seconds_since(frame));
    }
    std::printf("set built anew                %.2f s, the longest frame %.0f ms\n", seconds_since(start),
                worst * 1e3);
  }

  Options o_;
  HeadlessContext context_;
  ShaderLibrary shaders_;
  EditedScene edited_;
  Live live_;
  double slice_;
};

Options parse(int argc, char** argv) {
  Options o;
  for (int i = 1; i + 1 < argc; i += 2) {
    const std::string name = argv[i];
    const char* value = argv[i + 1];
    if (name == "--device") o.device = value;
    if (name == "--scene") o.scene = value;
    if (name == "--size") std::sscanf(value, "%dx%d", &o.width, &o.height);
    if (name == "--reference") o.reference = static_cast<unsigned>(std::atoi(value));
    if (name == "--slice") o.slice_ms = std::atof(value);
    if (name == "--limit") o.limit_s = std::atof(value);
  }
  return o;
}

}  // namespace

int main(int argc, char** argv) {
  std::setvbuf(stdout, nullptr, _IOLBF, 0);
  try {
    Bench(parse(argc, argv)).run();
    return 0;
  } catch (const std::exception& fault) {
    std::fprintf(stderr, "%s\n", fault.what());
    return 2;
  }
}
