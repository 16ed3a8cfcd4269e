// Drawings on paper: one page of A4, black on white. The same sheet gives the same bytes.
#pragma once

#include <filesystem>
#include <span>
#include <string>

#include "engine/image/picture.h"
#include "engine/report/drawing_sheet.h"
#include "engine/report/typeface.h"

namespace undercap {

// Texts are text in the PDF, and the typeface travels along.
std::string sheet_pdf(const DrawingSheet& sheet, const Typeface& typeface);
std::string sheet_svg(const DrawingSheet& sheet, const Typeface& typeface);
Picture8 sheet_picture(const DrawingSheet& sheet, const Typeface& typeface);  // 200 dots an inch

// A PDF with a page for each drawing, as large as it is.
std::string drawings_pdf(std::span<const Drawing> pages, const Typeface& typeface);

// One drawing, for a page of pictures.
Picture8 drawing_picture(const Drawing& drawing, double dots_per_mm, const Typeface& typeface);

// By the file's ending: .pdf, .svg or .png. Refuses another one, and an existing file unless 'force'.
void write_drawing(const DrawingSheet& sheet, const std::filesystem::path& file, bool force);

}  // namespace undercap
