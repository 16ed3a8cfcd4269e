// Formats, and which lens on another format takes the same picture.
//
// Two cameras give the same picture (perspective, depth, blur, diffraction, photons) if and only if they
// share the entrance pupil's place and diameter, the field of the object and the shutter time. With k the
// ratio of the sensors, magnifications and WORKING f-numbers then scale by k, at every distance; focal length
// and marked f-number do not. The rule 'f and N times k' is the limit far away. Derived.
#pragma once

#include <span>
#include <string>

#include "engine/core/quantities.h"
#include "engine/optics/depth.h"
#include "engine/optics/lens.h"

namespace undercap {

struct NamedFormat {
  const char* nickname;  // "36 x 24 mm, full frame"
  SensorFormat size;
};

// From small to large. Nominal sizes, from memory; makers differ by some tenths of a mm.
std::span<const NamedFormat> common_formats();

// The nickname of what is within .3 mm of a common format either way up, else "17 x 11 mm".
std::string nickname(const SensorFormat& format);

// By what two formats of different shape are compared.
enum class Match { diagonal, width, height };

// How many times as large 'to' is.
double crop_factor(const SensorFormat& from, const SensorFormat& to, Match match);

struct Partner {
  GaussianLens lens{};
  double magnification = 0;
  double iso_factor = 1;  // for the same brightness in the same time: k^2, for N_w is k times as high
};

// Same pupil, same field: the same picture. P is kept too; the separation of the principal planes, which only
// a focus scale shows, scales with the focal length.
Partner exact_partner(const GaussianLens& lens, double magnification, double k);

// The rule: f and N times k, same framing. It stands further away and shows more depth.
Partner rule_partner(const GaussianLens& lens, double magnification, double k);

// Depth of field of the rule's partner over the first's, circles scaled by k: (1 + k m/P) / (1 + m/P). The
// distance from the entrance pupil is larger by as much.
double rule_depth_ratio(double magnification, double pupil_magnification, double k);

// Light on the whole of 'to' over that on the whole of 'from' in the same time, its working f-number being
// 'f_number_ratio' times as high.
double light_ratio(const SensorFormat& from, const SensorFormat& to, double f_number_ratio);

}  // namespace undercap
