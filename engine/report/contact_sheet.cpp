#include "engine/report/contact_sheet.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/core/errors.h"
#include "engine/core/text.h"

namespace undercap {
namespace {

// Millimetres. Printers leave about 5 mm of a page's edge blank.
constexpr double margin = 10, column_gap = 7, row_gap = 5;
constexpr double above_foot = 2, foot_rule_gap = 1.5, detail_gap = 1.5;
constexpr double soft_ink = 0.66, ink = 0.92;
constexpr double narrowest_cell = 55, roomy_cell = 64;  // for the rows under a picture
constexpr double narrow_cell = 36;                      // where there are more than many_cells
constexpr std::size_t many_cells = 24;
constexpr double least_with_figure = 30;  // wide, of a picture

struct Paper {
  double width, height;
};
constexpr Paper a4{297, 210}, a3{420, 297}, letter{279.4, 215.9}, tabloid{431.8, 279.4}, slide{338.7, 190.5};

// Sizes of type and what goes with them.
struct Style {
  double title = 6.2, under_title = 3.2, title_height = 14, under_title_below = 5.2;
  double name = 5, row = 3.1, row_pitch = 4.4;
  double name_below = 5.8;  // from a picture's lower edge to the baseline of its name
  double rows_below = 4.9;  // from there to the first row's
  double descent = 1.2;     // of a row
  double label_gap = 2.5;
  double spoken = 3.4, spoken_pitch = 4.7;
  double small = 2.5, small_pitch = 3.5;
};
// 1/25 of the slide's height is 7.62 mm: a class at the back of a room reads it (common practice, no source).
constexpr Style on_slide{.title = 9,
                         .under_title = 7.7,
                         .title_height = 23,
                         .under_title_below = 10.5,
                         .name = 9,
                         .row = 7.7,
                         .row_pitch = 9,
                         .name_below = 9,
                         .rows_below = 9.5,
                         .descent = 2.2,
                         .label_gap = 3,
                         .spoken = 7.7,
                         .spoken_pitch = 9,
                         .small = 7.7,
                         .small_pitch = 9};

Style style_for(const ContactSheet& sheet) { return sheet.paper == SheetPaper::slide ? on_slide : Style{}; }

Paper turned(const Paper& paper, bool upright) { return upright ? Paper{paper.height, paper.width} : paper; }

// The paper to try first, and the one for pictures that come out too small on it.
std::pair<Paper, Paper> papers_for(const ContactSheet& sheet) {
  switch (sheet.paper) {
    case SheetPaper::slide:
      return {slide, slide};
    case SheetPaper::letter:
      return {turned(letter, sheet.upright), turned(tabloid, sheet.upright)};
    case SheetPaper::a4:
      break;
  }
  return {turned(a4, sheet.upright), turned(a3, sheet.upright)};
}

// A grid of cells and the scale of the pictures in it.
struct Grid {
  int columns = 1, rows = 1;
  double picture_width = 0;   // the widest picture's
  double picture_height = 0;  // the highest picture's
  bool beside = false;        // details stand to the right of their pictures, not below them
  double detail_height = 0;   // below, with its gap
  double mm_per_pixel = 0;
};

double caption_height(const ContactSheet& sheet) {
  const Style style = style_for(sheet);
  std::size_t rows = 0;
  for (const SheetCell& cell : sheet.cells) rows = std::max(rows, cell.rows.size());
  return style.name_below +
         (rows == 0 ? 0 : style.rows_below + style.row_pitch * static_cast<double>(rows - 1)) + style.descent;
}

double foot_height(const ContactSheet& sheet) {
  const Style style = style_for(sheet);
  return foot_rule_gap + style.spoken_pitch * static_cast<double>(sheet.spoken.size()) +
         style.small_pitch * static_cast<double>(sheet.small.size() + 1) + style.descent;
}

double figure_height(const ContactSheet& sheet, double width) {
  return sheet.figure_aspect > 0 ? sheet.figure_aspect * width + row_gap : 0;
}

// How high a detail is, of its width, which is its picture's; 0 without one.
double detail_aspect(const SheetCell& cell) {
  return cell.detail_width > 0 ? static_cast<double>(cell.detail_height) / cell.detail_width : 0;
}

// The grid with the largest pictures; without picture_width where none leaves room for them.
Grid best_grid(const ContactSheet& sheet, const Paper& paper) {
  double widest = 1, highest = 1, detail = 0;
  for (const SheetCell& cell : sheet.cells) {
    widest = std::max(widest, static_cast<double>(cell.width));
    highest = std::max(highest, static_cast<double>(cell.height));
    detail = std::max(detail, detail_aspect(cell) * cell.width);
  }
  const double across = paper.width - 2 * margin, down = paper.height - 2 * margin -
                                                         style_for(sheet).title_height - above_foot -
                                                         foot_height(sheet) - figure_height(sheet, across);
  const int count = static_cast<int>(sheet.cells.size());
  const double narrowest = sheet.cells.size() > many_cells ? narrow_cell : narrowest_cell;
  Grid best;
  for (int columns = 1; columns <= count; ++columns) {
    if (sheet.columns > 0 && columns != sheet.columns) continue;
    const int rows = (count + columns - 1) / columns;
    const double width = (across - column_gap * (columns - 1)) / columns,
                 height = (down - row_gap * (rows - 1)) / rows - caption_height(sheet);
    if (width < narrowest && columns > 1 && sheet.columns == 0 && detail == 0) break;
    for (const bool beside : {false, true}) {
      if (beside && detail == 0) continue;
      const double below_gap = !beside && detail > 0 ? detail_gap : 0,
                   scale = beside ? std::min((width - detail_gap) / (2 * widest),
                                             height / std::max(highest, detail))
                                  : std::min(width / widest, (height - below_gap) / (highest + detail));
      // Of two grids that are as good the one with fewer empty places wins, which is the later one.
      if (scale > 0 && scale >= best.mm_per_pixel * (1 - 1e-9))
        best = {columns,        rows,
                scale * widest, scale * (beside ? std::max(highest, detail) : highest),
                beside,         beside ? 0 : below_gap + scale * detail,
                scale};
    }
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
  const Style style = style_for(sheet);
  const auto broken = [&](const std::vector<std::string>& given, double size) {
    const auto fits = [&](const std::string& line) {
      return typeface.extent(line, size, Weight::regular).width_mm <= paper.width - 2 * margin;
    };
    std::vector<std::string> lines;
    for (const std::string& line : given)
      for (const std::string& part : broken_lines(one_line(line), fits)) lines.push_back(part);
    return lines;
  };
  sheet.spoken = broken(sheet.spoken, style.spoken);
  sheet.small = broken(sheet.small, style.small);
  return sheet;
}

class Layout {
 public:
  Layout(const ContactSheet& sheet, const Typeface& typeface, const Paper& paper, const Grid& grid)
      : sheet_(sheet), style_(style_for(sheet)), typeface_(typeface), paper_(paper), grid_(grid) {
    page_.width_mm = paper.width;
    page_.height_mm = paper.height;
    page_.title = one_line(sheet.title);
  }

  Page make() {
    const double all = paper_.width - 2 * margin;
    const double title_baseline = margin + style_.title * 0.8;
    text(margin, title_baseline, sheet_.title, style_.title, Weight::bold, ink, all);
    text(margin, title_baseline + style_.under_title_below, sheet_.under_title, style_.under_title,
         Weight::regular, soft_ink, all);
    for (std::size_t i = 0; i < sheet_.cells.size(); ++i) picture(i);
    for (std::size_t i = 0; i < sheet_.cells.size(); ++i)
      if (sheet_.cells[i].detail_width > 0) detail(i);
    for (std::size_t i = 0; i < sheet_.cells.size(); ++i) caption(i);
    double y = paper_.height - margin - foot_height(sheet_);
    if (sheet_.figure_aspect > 0)
      page_.pictures.push_back({margin, y - above_foot - sheet_.figure_aspect * all, all,
                                sheet_.figure_aspect * all, page_.pictures.size()});
    page_.rules.push_back({margin, y, all});
    y += foot_rule_gap;
    for (const std::string& line : sheet_.spoken)
      text(margin, y += style_.spoken_pitch, line, style_.spoken, Weight::regular, ink, all);
    for (const std::string& line : sheet_.small)
      text(margin, y += style_.small_pitch, line, style_.small, Weight::regular, soft_ink, all);
    text(margin, y + style_.small_pitch, sheet_.caution, style_.small, Weight::bold, ink, all);
    return std::move(page_);
  }

 private:
  // Shrunk a little, then cut, to stay within its width; on a slide cut at once.
  void text(double x, double baseline, const std::string& given, double size, Weight weight, double much,
            double width) {
    const std::string words = one_line(given);
    if (words.empty()) return;
    const double least_shrink = sheet_.paper == SheetPaper::slide ? 1 : 0.8;
    const double wide = typeface_.extent(words, size, weight).width_mm;
    if (wide > width) size *= std::max(least_shrink, 0.995 * width / wide);  // a hair to spare
    page_.texts.push_back({x, baseline, size, weight, much, typeface_.fitted(words, size, weight, width)});
  }

  // Where a cell begins, and how wide it is.
  struct Spot {
    double x, y, width;
  };
  Spot spot_of(std::size_t i) const {
    const int column = static_cast<int>(i) % grid_.columns, row = static_cast<int>(i) / grid_.columns;
    // The columns share the paper's width, so that the last one ends at the margin.
    const double all = paper_.width - 2 * margin,
                 column_width = (all - column_gap * (grid_.columns - 1)) / grid_.columns,
                 pictures_width = grid_.beside ? 2 * grid_.picture_width + detail_gap : grid_.picture_width,
                 own = std::max(pictures_width, std::min(column_width, roomy_cell)),
                 width = grid_.columns == 1                                        ? all
                         : sheet_.columns > 0 || sheet_.paper == SheetPaper::slide ? column_width
                                                                                   : own,
                 pitch = grid_.picture_height + grid_.detail_height + caption_height(sheet_) + row_gap;
    return {margin + (grid_.columns == 1 ? 0 : column * (all - width) / (grid_.columns - 1)),
            margin + style_.title_height + row * pitch, width};
  }

  void picture(std::size_t i) {
    const SheetCell& cell = sheet_.cells[i];
    const Spot spot = spot_of(i);
    const double width = cell.width * grid_.mm_per_pixel, height = cell.height * grid_.mm_per_pixel;
    page_.pictures.push_back({spot.x, spot.y, width, height, i});
    if (cell.detail_width > 0)
      page_.boxes.push_back({spot.x + double{cell.box.x} * width, spot.y + double{cell.box.y} * height,
                             double{cell.box.z} * width, double{cell.box.w} * height});
  }

  void detail(std::size_t i) {
    const SheetCell& cell = sheet_.cells[i];
    const Spot spot = spot_of(i);
    const double width = cell.width * grid_.mm_per_pixel;
    const double x = spot.x + (grid_.beside ? grid_.picture_width + detail_gap : 0),
                 y = spot.y + (grid_.beside ? 0 : grid_.picture_height + detail_gap);
    page_.pictures.push_back({x, y, width, detail_aspect(cell) * width, page_.pictures.size()});
  }

  void caption(std::size_t i) {
    const SheetCell& cell = sheet_.cells[i];
    const Spot spot = spot_of(i);
    double baseline = spot.y + grid_.picture_height + grid_.detail_height + style_.name_below;
    text(spot.x, baseline, cell.name, style_.name, Weight::bold, ink, spot.width);
    double labels = 0;
    for (const SheetRow& line : cell.rows)
      labels = std::max(labels, typeface_.extent(line.label, style_.row, Weight::regular).width_mm);
    labels = std::min(labels + style_.label_gap, 0.6 * spot.width);
    baseline += style_.rows_below;
    for (const SheetRow& line : cell.rows) {
      text(spot.x, baseline, line.label, style_.row, Weight::regular, soft_ink, labels - 1);
      text(spot.x + labels, baseline, line.value, style_.row, Weight::bold, ink, spot.width - labels);
      baseline += style_.row_pitch;
    }
  }

  const ContactSheet& sheet_;
  Style style_;
  const Typeface& typeface_;
  Paper paper_;
  Grid grid_;
  Page page_;
};

}  // namespace

Page lay_out(const ContactSheet& sheet, const Typeface& typeface) {
  UNDERCAP_CHECK(!sheet.cells.empty() && sheet.cells.size() <= most_cells,
                 "a sheet has 1 to most_cells pictures");
  const auto [first, larger] = papers_for(sheet);
  Paper paper = first;
  ContactSheet set = with_broken_foot(sheet, typeface, paper);
  Grid grid = best_grid(set, paper);
  // Upright pictures are narrow by nature: the longer side decides.
  const double narrowest = sheet.paper == SheetPaper::slide ? 30 : narrowest_cell;
  if (std::max(grid.picture_width, grid.picture_height) < narrowest) {
    if (sheet.paper == SheetPaper::slide)
      throw Refusal(
          fmt::format("{} pictures leave no room for letters that a class can read on a slide; vary "
                      "fewer values, or take --paper a4",
                      sheet.cells.size()));
    paper = larger;
    set = with_broken_foot(sheet, typeface, paper);
    grid = best_grid(set, paper);
    // Very many pictures leave no room for the figure.
    if (grid.picture_width < least_with_figure && set.figure_aspect > 0) {
      set.figure_aspect = 0;
      grid = best_grid(set, paper);
    }
  }
  return Layout(set, typeface, paper, grid).make();
}

}  // namespace undercap
