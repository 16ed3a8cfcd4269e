// A picture whose pixels tell where they are.
#pragma once

#include <cstdint>

#include "engine/image/picture.h"

namespace undercap {

// No two neighbours are alike, so that a picture that is moved or scaled is another.
inline Picture8 many_colours(int width, int height) {
  Picture8 picture = make_picture8(width, height);
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x) {
      std::uint8_t* rgb = &picture.rgb[pixel_index(picture, x, y)];
      rgb[0] = static_cast<std::uint8_t>(x * 5);
      rgb[1] = static_cast<std::uint8_t>(y * 7);
      rgb[2] = static_cast<std::uint8_t>(x + y);
    }
  return picture;
}

}  // namespace undercap
