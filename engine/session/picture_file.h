// What a picture file says of itself, wherever it is made: the program, the scene, the exposure.
#pragma once

#include <string>
#include <vector>

#include "engine/image/picture.h"
#include "engine/render/develop.h"
#include "engine/world/world.h"

namespace undercap {

struct PictureFacts {
  std::string program, renderer;
  std::string samples;  // "64", or "32 to 512"
  std::string scene;    // its text
};
std::vector<PictureText> picture_texts(const PictureFacts& facts, const Development& development);

// The texts of a PNG: the mark of a filtered one stands first among them.
std::vector<PictureText> png_texts(std::vector<PictureText> texts, bool filtered);

// The bytes of an EXR: the mix, a mean over the exposure, then each light group at unit power and white with
// its weight in the mix.
std::string picture_exr(const World& world, const Picture& mix, const std::vector<std::vector<float>>& groups,
                        Duration shutter, const std::vector<PictureText>& texts);

// What a sheet of pictures says of itself.
std::vector<PictureText> sheet_texts(const std::string& version, const std::string& scene_text);

}  // namespace undercap
