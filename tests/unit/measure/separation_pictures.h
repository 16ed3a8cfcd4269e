// Pictures made by hand whose separation is known.
#pragma once

#include <functional>

#include "engine/measure/separation.h"
#include "tests/unit/measure/normal.h"

namespace undercap {

inline constexpr int picture_width = 384, picture_height = 256;

// 's' the subject, 'b' the backdrop, 'S' and 'B' most but not nearly all of it; anything else neither.
using Region = std::function<char(int x, int y)>;
using LuminanceAt = std::function<double(int x, int y)>;  // cd/m2

// Neutral; each eighth has noise of its own, relative to the luminance, pixel by pixel.
inline SeparationPicture picture_of(const Region& region, const LuminanceAt& luminance, double noise = 0) {
  Normal normal(7);
  SeparationPicture picture{
      .width = picture_width, .height = picture_height, .colour = {}, .subject = {}, .backdrop = {}};
  for (auto& eighth : picture.colour)
    for (int y = 0; y < picture_height; ++y)
      for (int x = 0; x < picture_width; ++x)
        eighth.emplace_back(luminance(x, y) * (noise > 0 ? 1 + noise * normal() : 1));
  for (int y = 0; y < picture_height; ++y)
    for (int x = 0; x < picture_width; ++x) {
      picture.subject.push_back(region(x, y) == 's' ? nearly_all : region(x, y) == 'S' ? most : no_share);
      picture.backdrop.push_back(region(x, y) == 'b' ? nearly_all : region(x, y) == 'B' ? most : no_share);
    }
  return picture;
}

// A disc of a quarter of the height in the middle of the backdrop.
inline char disc_before_backdrop(int x, int y) {
  const double u = x - 191.5, v = y - 127.5;
  return u * u + v * v < 32 * 32 ? 's' : 'b';
}
inline char backdrop_alone(int, int) { return 'b'; }

}  // namespace undercap
