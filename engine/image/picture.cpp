#include "engine/image/picture.h"

#include <fmt/format.h>

#include "engine/core/errors.h"

namespace undercap {
namespace {

bool size_allowed(int width, int height) {
  return width >= 1 && height >= 1 && width <= largest_picture_side && height <= largest_picture_side &&
         static_cast<std::size_t>(width) * static_cast<std::size_t>(height) <= most_picture_pixels;
}

// Three channels a pixel; the size has been allowed, so that the product fits.
std::size_t channel_count(int width, int height) {
  return static_cast<std::size_t>(width) * static_cast<std::size_t>(height) * 3;
}

}  // namespace

void check_picture_size(int width, int height) {
  if (size_allowed(width, height)) return;
  throw Refusal(
      fmt::format("a picture of {} x {} pixels is outside the allowed range: 1 to {} pixels on a side and at "
                  "most {} million in all",
                  width, height, largest_picture_side, most_picture_pixels / 1'000'000));
}

Picture make_picture(int width, int height) {
  check_picture_size(width, height);
  return {width, height, std::vector<float>(channel_count(width, height))};
}

Picture8 make_picture8(int width, int height) {
  check_picture_size(width, height);
  return {width, height, std::vector<std::uint8_t>(channel_count(width, height))};
}

bool is_whole(const Picture& picture) {
  return size_allowed(picture.width, picture.height) &&
         picture.rgb.size() == channel_count(picture.width, picture.height);
}

bool is_whole(const Picture8& picture) {
  return size_allowed(picture.width, picture.height) &&
         picture.rgb.size() == channel_count(picture.width, picture.height);
}

}  // namespace undercap
