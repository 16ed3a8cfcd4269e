#include "engine/report/contact_sheet.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/core/errors.h"
#include "engine/core/text.h"

namespace undercap {
namespace {

// Millimetres. Printers leave about 5 mm of a page's edge blank.
constexpr double margin = 10, column_gap = 7, row_gap = 5;
constexpr double above_foot = 2;
constexpr double title_size = 6.2, under_title_size = 3.2, title_height = 14;
constexpr double name_size = 5, row_size = 3.1, row_pitch = 4.4;
constexpr double name_below = 5.8;  // from a picture's lower edge to the baseline of its name
constexpr double rows_below = 4.9;  // from there to the first row's
constexpr double descent = 1.2;     // of a row
constexpr double label_gap = 2.5;
constexpr double small_size = 2.5, small_pitch = 3.5;
constexpr double foot_rule_gap = 1.5;
constexpr double soft_ink = 0.66, ink = 0.92;
constexpr double narrowest_cell = 55, roomy_cell = 64;  // for the rows under a picture

struct Paper {
  double width, height;
};
constexpr Paper a4{297, 210}, a3{420, 297};  // ISO 216, landscape

// A grid of cells and the scale of the pictures in it.
struct Grid {
  int columns = 1, rows = 1;
  double picture_width = 0;   // the widest picture's
  double picture_height = 0;  // the highest picture's
  double mm_per_pixel = 0;
};

double caption_height(const ContactSheet& sheet) {
  std::size_t rows = 0;
  for (const SheetCell& cell : sheet.cells) rows = std::max(rows, cell.rows.size());
  return name_below + (rows == 0 ? 0 : rows_below + row_pitch * static_cast<double>(rows - 1)) + descent;
}

double foot_height(const ContactSheet& sheet) {
  return foot_rule_gap + small_pitch * static_cast<double>(sheet.small.size() + 1) + descent;
}

double figure_height(const ContactSheet& sheet, double width) {
  return sheet.figure_aspect > 0 ? sheet.figure_aspect * width + row_gap : 0;
}

// The grid with the largest pictures; without picture_width where none leaves room for them.
Grid best_grid(const ContactSheet& sheet, const Paper& paper) {
  double widest = 1, highest = 1;
  for (const SheetCell& cell : sheet.cells) {
    widest = std::max(widest, static_cast<double>(cell.width));
    highest = std::max(highest, static_cast<double>(cell.height));
  }
  const double across = paper.width - 2 * margin, down = paper.height - 2 * margin - title_height -
                                                         above_foot - foot_height(sheet) -
                                                         figure_height(sheet, across);
  const int count = static_cast<int>(sheet.cells.size());
  Grid best;
  for (int columns = 1; columns <= count; ++columns) {
    if (sheet.columns > 0 && columns != sheet.columns) continue;
    const int rows = (count + columns - 1) / columns;
    const double width = (across - column_gap * (columns - 1)) / columns,
                 height = (down - row_gap * (rows - 1)) / rows - caption_height(sheet);
    if (width < narrowest_cell && columns > 1 && sheet.columns == 0) break;
    const double scale = std::min(width / widest, height / highest);
    // Of two grids that are as good the one with fewer empty places wins, which is the later one.
    if (scale > 0 && scale >= best.mm_per_pixel * (1 - 1e-9))
      best = {columns, rows, scale * widest, scale * highest, scale};
  }
  return best;
}

// A text of any origin as one line that can be set: runs of blanks and line ends become one blank.
std::string one_line(const std::string& text) {
  std::string line;
  for (const char c : text) {
    const bool blank = c == ' ' || c == '\t' || c == '\n' || c == '\r';
    if (!blank)
      line += c;
    else if (!line.empty() && line.back() != ' ')
      line += ' ';
  }
  if (line.ends_with(' ')) line.pop_back();
  return printable(line);
}

// The sheet with lines at its foot that fit the paper.
ContactSheet with_broken_foot(ContactSheet sheet, const Typeface& typeface, const Paper& paper) {
  const auto fits = [&](const std::string& line) {
    return typeface.extent(line, small_size, Weight::regular).width_mm <= paper.width - 2 * margin;
  };
  std::vector<std::string> lines;
  for (const std::string& line : sheet.small)
    for (const std::string& part : broken_lines(one_line(line), fits)) lines.push_back(part);
  sheet.small = std::move(lines);
  return sheet;
}

class Layout {
 public:
  Layout(const ContactSheet& sheet, const Typeface& typeface, const Paper& paper, const Grid& grid)
      : sheet_(sheet), typeface_(typeface), paper_(paper), grid_(grid) {
    page_.width_mm = paper.width;
    page_.height_mm = paper.height;
    page_.title = one_line(sheet.title);
  }

  Page make() {
    const double all = paper_.width - 2 * margin;
    text(margin, margin + title_size * 0.8, sheet_.title, title_size, Weight::bold, ink, all);
    text(margin, margin + title_size * 0.8 + 5.2, sheet_.under_title, under_title_size, Weight::regular,
         soft_ink, all);
    for (std::size_t i = 0; i < sheet_.cells.size(); ++i) cell(i);
    double y = paper_.height - margin - foot_height(sheet_);
    if (sheet_.figure_aspect > 0)
      page_.pictures.push_back({margin, y - above_foot - sheet_.figure_aspect * all, all,
                                sheet_.figure_aspect * all, sheet_.cells.size()});
    page_.rules.push_back({margin, y, all});
    y += foot_rule_gap;
    for (const std::string& line : sheet_.small)
      text(margin, y += small_pitch, line, small_size, Weight::regular, soft_ink, all);
    text(margin, y + small_pitch, sheet_.caution, small_size, Weight::bold, ink, all);
    return std::move(page_);
  }

 private:
  // Shrunk a little, then cut, to stay within its width.
  void text(double x, double baseline, const std::string& given, double size, Weight weight, double much,
            double width) {
    const std::string words = one_line(given);
    if (words.empty()) return;
    constexpr double least_shrink = 0.8;
    const double wide = typeface_.extent(words, size, weight).width_mm;
    if (wide > width) size *= std::max(least_shrink, 0.995 * width / wide);  // a hair to spare
    page_.texts.push_back({x, baseline, size, weight, much, typeface_.fitted(words, size, weight, width)});
  }

  void cell(std::size_t i) {
    const SheetCell& cell = sheet_.cells[i];
    const int column = static_cast<int>(i) % grid_.columns, row = static_cast<int>(i) / grid_.columns;
    // The columns share the paper's width, so that the last one ends at the margin.
    const double all = paper_.width - 2 * margin,
                 column_width = (all - column_gap * (grid_.columns - 1)) / grid_.columns,
                 own = std::max(grid_.picture_width, std::min(column_width, roomy_cell)),
                 width = grid_.columns == 1   ? all
                         : sheet_.columns > 0 ? column_width
                                              : own,
                 x = margin + (grid_.columns == 1 ? 0 : column * (all - width) / (grid_.columns - 1)),
                 y = margin + title_height + row * (grid_.picture_height + caption_height(sheet_) + row_gap);
    page_.pictures.push_back({x, y, cell.width * grid_.mm_per_pixel, cell.height * grid_.mm_per_pixel, i});
    double baseline = y + grid_.picture_height + name_below;
    text(x, baseline, cell.name, name_size, Weight::bold, ink, width);
    double labels = 0;
    for (const SheetRow& line : cell.rows)
      labels = std::max(labels, typeface_.extent(line.label, row_size, Weight::regular).width_mm);
    labels = std::min(labels + label_gap, 0.6 * width);
    baseline += rows_below;
    for (const SheetRow& line : cell.rows) {
      text(x, baseline, line.label, row_size, Weight::regular, soft_ink, labels - 1);
      text(x + labels, baseline, line.value, row_size, Weight::bold, ink, width - labels);
      baseline += row_pitch;
    }
  }

  const ContactSheet& sheet_;
  const Typeface& typeface_;
  Paper paper_;
  Grid grid_;
  Page page_;
};

}  // namespace

Page lay_out(const ContactSheet& sheet, const Typeface& typeface) {
  UNDERCAP_CHECK(!sheet.cells.empty() && sheet.cells.size() <= most_cells,
                 "a sheet has 1 to most_cells pictures");
  Paper paper = sheet.upright ? Paper{a4.height, a4.width} : a4;
  ContactSheet set = with_broken_foot(sheet, typeface, paper);
  Grid grid = best_grid(set, paper);
  // Upright pictures are narrow by nature: the longer side decides.
  if (std::max(grid.picture_width, grid.picture_height) < narrowest_cell) {
    paper = sheet.upright ? Paper{a3.height, a3.width} : a3;
    set = with_broken_foot(sheet, typeface, paper);
    grid = best_grid(set, paper);
  }
  return Layout(set, typeface, paper, grid).make();
}

}  // namespace undercap
