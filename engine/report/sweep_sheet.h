// The sheet of a sweep: the same scene under a few values, in words and pictures.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "engine/image/picture.h"
#include "engine/report/contact_sheet.h"
#include "engine/report/headline.h"

namespace undercap {

enum class SweepRows { light, camera, separation };  // what the rows under the pictures are about

// What a sheet says beside the headlines.
struct SweepFacts {
  std::string title, scene_name;
  std::vector<std::string> changed{};  // what the pictures differ in: "sky", "sun" ...
  std::string kept = "all else";
  std::vector<std::string> question{};  // lines to be said aloud, above the small ones
  std::vector<std::string> remarks{};   // sentences of the pictures' own
  SweepRows rows = SweepRows::light;
  SheetPaper paper = SheetPaper::a4;
  bool lamps = false;                // a lamp is on in some picture: its cautions belong here
  int columns = 0;                   // of the grid; 0: as they fit best
  std::string lens;                  // "90 mm on 23.5 x 15.6 mm"; empty where the pictures differ in it
  bool metered = true;               // each picture has a shutter of its own
  std::string sampling;              // "64 samples a pixel, noise 2 to 3 %"
  std::string made_by;               // program, version, renderer
  std::vector<glm::vec4> windows{};  // of the details, 0..1 of the frame: left, top, width, height
};

// 'details' are parts of the pictures at full size, one each or none at all.
ContactSheet sweep_sheet(const SweepFacts& facts, std::span<const Headline> headlines,
                         std::span<const Picture8> pictures, std::span<const Picture8> details = {});

}  // namespace undercap
