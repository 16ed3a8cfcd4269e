// The CIE 1931 standard observer, 2 degrees: colour-matching functions every 5 nm.
#pragma once

#include <glm/vec3.hpp>
#include <span>

#include "engine/core/quantities.h"

namespace undercap {

struct ObserverRow {
  Length wavelength;    // in vacuum or air, not told apart here
  glm::dvec3 response;  // x bar, y bar, z bar
};

// 360 to 800 nm. A smooth spectrum is integrated by plain summation over the rows.
std::span<const ObserverRow> observer_1931();

}  // namespace undercap
