// PNG in memory: 8-bit RGB, marked as sRGB, with texts.
//
// The bytes depend on the picture and the texts only: no time, no host, no random order.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/image/picture.h"

namespace undercap {

// Each text becomes an uncompressed iTXt chunk, in the order given. A keyword is 1 to 79 printable ASCII
// characters without blanks at its ends or two together (PNG 1.2, 11.3.4.2, narrowed from Latin-1). Refuses a
// text that holds a zero byte or is not UTF-8. The picture must be whole.
std::string encode_png(const Picture8& picture, std::span<const PictureText> texts);

struct DecodedPng {
  Picture8 picture;
  std::vector<PictureText> texts;
  bool is_srgb = false;  // has an sRGB chunk
};

// Any PNG that libpng reads, brought to 8-bit RGB (transparency is dropped, no colour conversion). Refuses
// damaged bytes, and a size that check_picture_size refuses, before the pixels are allocated.
DecodedPng decode_png(std::string_view bytes);

}  // namespace undercap
