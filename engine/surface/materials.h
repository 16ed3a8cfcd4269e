// The table of materials (assets/materials.csv, compiled in): what things are made of, and how well that is
// known.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/core/quantities.h"
#include "engine/surface/material.h"

namespace undercap {

struct MaterialRow {
  enum class Origin { measured, computed, guess };
  std::string name;
  Material material;
  double thickness_mm = 0;  // of the sheet that has this reflectance and transmittance; 0 = a solid
  Origin origin = Origin::guess;
  std::string source;
};

std::string_view origin_word(MaterialRow::Origin origin);  // "measured", "computed", "guess"

const std::vector<MaterialRow>& material_table();
const MaterialRow* find_material(std::string_view name);  // null when there is none

// A sheet of the row's stuff of another thickness, by Kubelka and Munk in each channel. Under a coat the
// flesh has a boundary of the coat's index on both sides. Throws Refusal for a row that is no sheet.
Material sheet_of(const MaterialRow& row, Length thickness);

// The same, so thick that nothing comes through. A row that is no sheet stays as it is.
Material solid_of(const MaterialRow& row);

// The row as a part of a shape: a closed shape is made of the solid, an open sheet of the row as it stands.
Material material_of(const MaterialRow& row, bool open_sheet);

// The table of a text; throws Refusal with the line. 'file' is for messages.
std::vector<MaterialRow> read_materials(std::string_view text, const std::string& file);

}  // namespace undercap
