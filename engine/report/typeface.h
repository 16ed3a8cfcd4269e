// The type of all sheets: its faces, and how wide a text gets.
//
// Open Sans, a humanist sans; Debian's package fonts-open-sans. No other face steps in for it, so that a
// sheet looks the same wherever it is made.
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "engine/report/page.h"

namespace undercap {

class Typeface {
 public:
  // Throws Trouble when the face is not installed, and says what to install.
  Typeface();
  ~Typeface();

  struct Extent {
    double width_mm = 0;                // to where the next letter would begin
    double left_mm = 0, right_mm = 0;   // of the ink, from where the text begins
    double above_mm = 0, below_mm = 0;  // of the ink, from the baseline
  };
  Extent extent(const std::string& text, double size_mm, Weight weight) const;

  // The text as it is, or its beginning and an ellipsis, so that it is at most so wide.
  std::string fitted(const std::string& text, double size_mm, Weight weight, double width_mm) const;

  // The faces as the painter needs them.
  struct Faces;
  const Faces& faces() const { return *faces_; }

 private:
  std::unique_ptr<Faces> faces_;
};

}  // namespace undercap
