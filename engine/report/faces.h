// What Typeface and the painter share: Cairo's view of the faces. Includes nothing of Cairo itself.
#pragma once

#include "engine/report/typeface.h"

using cairo_font_face_t = struct _cairo_font_face;
using cairo_font_options_t = struct _cairo_font_options;

namespace undercap {

struct Typeface::Faces {
  Faces();
  ~Faces();
  Faces(const Faces&) = delete;
  Faces& operator=(const Faces&) = delete;

  cairo_font_face_t* of(Weight weight) const { return weight == Weight::bold ? bold : regular; }

  cairo_font_face_t* regular = nullptr;
  cairo_font_face_t* bold = nullptr;
  cairo_font_options_t* options = nullptr;  // unhinted, so that a width is the same at every scale
};

}  // namespace undercap
