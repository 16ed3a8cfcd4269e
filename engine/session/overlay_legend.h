// What an overlay over a picture means: in a sentence, and as a strip below the picture.
#pragma once

#include <string>

#include "engine/image/picture.h"
#include "engine/render/develop.h"
#include "engine/report/typeface.h"

namespace undercap {

// "+2", "0": of the bands of the stops.
std::string stop_text(int stop);

// Empty for no overlay. The sharp zone's circle of confusion is told in millimetres.
std::string overlay_sentence(Overlay::Kind kind, Length circle);

// The picture with a strip below it: a sample of each sign, the stops in figures, the sentence.
Picture8 with_legend(const Picture8& picture, Overlay::Kind kind, Length circle, const Typeface& typeface);

}  // namespace undercap
