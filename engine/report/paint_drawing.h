// Drawings on paper: one page of A4, black on white, as PDF, SVG or PNG. The same drawings give the same
// bytes.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "engine/draw/drawing.h"
#include "engine/image/picture.h"
#include "engine/report/typeface.h"
#include "engine/world/world.h"

namespace undercap {

// The page: plan and elevation at one scale beside each other, then what each lamp that is on sees, and the
// key of symbols. Each drawing is as large as its place on the page.
struct DrawingSheet {
  std::string title, under_title;
  std::vector<Drawing> drawings;     // with their places
  std::vector<glm::dvec2> place_mm;  // upper left corners on the page
  std::vector<std::string> small;    // lines at the foot
};
DrawingSheet set_sheet(const World& world);

// A4 landscape.
inline constexpr double sheet_width_mm = 297, sheet_height_mm = 210;
std::string sheet_pdf(const DrawingSheet& sheet, const Typeface& typeface);
std::string sheet_svg(const DrawingSheet& sheet, const Typeface& typeface);
Picture8 sheet_picture(const DrawingSheet& sheet, const Typeface& typeface);  // 200 dpi

// By the file's extension: .pdf, .svg or .png. Refuses another one, and an existing file unless 'force'.
void write_drawing(const DrawingSheet& sheet, const std::filesystem::path& file, bool force);

}  // namespace undercap
