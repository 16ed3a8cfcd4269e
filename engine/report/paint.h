// A page on paper or on a screen: PDF and PNG. The same page gives the same bytes.
#pragma once

#include <span>
#include <string>

#include "engine/image/picture.h"
#include "engine/report/page.h"
#include "engine/report/typeface.h"

namespace undercap {

// Pages of PDF that share their pictures; texts are text, the typeface travels along, each picture keeps its own pixels.
std::string pages_pdf(std::span<const Page> pages, std::span<const Picture8> pictures,
                      const Typeface& typeface);

// The page in pixels. A millimetre is a number of pixels that shows the first picture's pixels as they are,
// or each as a square of several, where that makes a readable text and a sane size.
double page_pixels_per_mm(const Page& page, std::span<const Picture8> pictures);
Picture8 page_picture(const Page& page, std::span<const Picture8> pictures, const Typeface& typeface);

}  // namespace undercap
