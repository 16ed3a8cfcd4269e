// Pictures in memory.
//
// Row 0 is the top one, pixels run from the left, three channels a pixel in the order R, G, B without
// padding. A Picture is linear light with sRGB primaries and a D65 white in the unit its owner says (cd/m2,
// lx s ...). A Picture8 is coded for the screen with the sRGB curve, 0..255.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

namespace undercap {

struct Picture {
  int width = 0;
  int height = 0;
  std::vector<float> rgb;
};

struct Picture8 {
  int width = 0;
  int height = 0;
  std::vector<std::uint8_t> rgb;
};

// A text that travels in a picture file: name, and UTF-8 text.
using PictureText = std::pair<std::string, std::string>;

inline constexpr int largest_picture_side = 65'536;
inline constexpr std::size_t most_picture_pixels = std::size_t{1} << 28;

// Refuses a size outside 1..largest_picture_side on a side or over most_picture_pixels, before anything is
// allocated.
void check_picture_size(int width, int height);

// Black pictures; refuse what check_picture_size refuses.
Picture make_picture(int width, int height);
Picture8 make_picture8(int width, int height);

// Where the red of pixel (x, y) stands in 'rgb'; green and blue follow.
template <class AnyPicture>
std::size_t pixel_index(const AnyPicture& picture, int x, int y) {
  return (static_cast<std::size_t>(y) * static_cast<std::size_t>(picture.width) +
          static_cast<std::size_t>(x)) *
         3;
}

// Whether 'rgb' holds exactly width x height pixels and the size is allowed.
bool is_whole(const Picture& picture);
bool is_whole(const Picture8& picture);

}  // namespace undercap
