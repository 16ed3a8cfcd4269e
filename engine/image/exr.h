// OpenEXR in memory: one file of several parts, each a linear picture in 32-bit floats.
//
// Part 0 is called 'mix': what the camera sees. The other parts are the light groups, one each. Every part
// has the channels R, G, B, the chromaticities of sRGB with D65 white (ITU-R BT.709-6, table 1), its unit in
// the string attribute 'units', and string attributes of its own. The bytes depend on the content only.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/image/picture.h"

namespace undercap {

struct ExrPart {
  std::string name;   // "mix" or the light group
  std::string units;  // "cd/m2", "cd s/m2", "lx s"
  std::vector<PictureText>
      texts;  // string attributes: name and text, kept in alphabetical order of the names
  Picture picture;
};

// All parts must be whole, of one size and have a unit; the first is 'mix'. Refuses two parts of one name. An
// attribute's name is not empty and none of those that OpenEXR itself or this function sets.
std::string encode_exr(std::span<const ExrPart> parts);

// Any scan-line file whose parts have R, G and B; units and texts as far as there are. Refuses damaged bytes,
// and a size that check_picture_size refuses, before the pixels are allocated.
std::vector<ExrPart> decode_exr(std::string_view bytes);

}  // namespace undercap
