// The headline of one picture: the light on the subject, the contrasts, the exposure; as rows of a sheet and
// as lines of a table.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/measure/readings.h"
#include "engine/report/contact_sheet.h"

namespace undercap {

struct Headline {
  std::string name;                  // of the picture
  std::optional<Estimate> light_lx;  // on the visible side of the subject; none: nothing of it is seen
  std::vector<Reading> contrasts;    // contrast.*, as measured
  std::vector<Reading> camera;       // lens.*, depth.* and exposure.*, as measured
  std::vector<Reading> backdrop;     // backdrop.*, as measured
  double f_number = 0, shutter_s = 0, iso = 0;
  double compensation_stops = 0;  // of a metered shutter
};

// A reading of it by its name; null where it was not taken. And its number; null where it has none.
const Reading* reading_of(const Headline& headline, std::string_view name);
const double* number_of(const Headline& headline, std::string_view name);

// Which contrast within the subject a whole sheet shows: the first of cap : gills, cap : stem and the
// picture's range that some of its pictures has.
std::string shade_contrast(std::span<const Headline> headlines);

// Light, contrast within the subject, contrast to the backdrop, exposure.
std::vector<SheetRow> headline_rows(const Headline& headline, const std::string& shade);

// For pictures that differ in the camera: lens, sharp zone and stack, blur at the subject's ends and in
// focus, best f-number or stack, grain. Blur is in circles of confusion, so that formats compare.
std::vector<SheetRow> camera_rows(const Headline& headline);

// How the subject stands out: the rim, the backdrop's disc and width, what texture is left of it.
std::vector<SheetRow> separation_sheet_rows(const Headline& headline);

// A header and a line a picture, RFC 4180 but for plain line feeds. What has no value is an empty field.
std::string headline_csv(std::span<const Headline> headlines);

}  // namespace undercap
