// The table beside the pictures: what differs, and the readings that matter, a column a picture.
#include <fmt/format.h>

#include <algorithm>

#include "app/window/side_by_side.h"
#include "app/window/widgets.h"

namespace undercap::window {
namespace {

// Rows of the sheets in words that stand alone, and a sentence on each.
struct RowWords {
  const char *label, *words, *explained;
};
constexpr RowWords row_words[] = {
    {"light on subject", "light on subject", "Illuminance of its visible side, and as EV at ISO 100."},
    {"cap : gills", "cap : gills", "Luminance of the cap over that of the gills."},
    {"cap : stem", "cap : stem", "Luminance of the cap over that of the stem."},
    {"whole picture", "range of the picture", "From its darkest to its brightest parts."},
    {"subject : backdrop", "subject : backdrop", "Luminance of the subject over that of what is behind it."},
    {"exposure", "exposure", "As it is set, or as the meter chooses it."},
    {"lens", "lens", "Focal length, marked f-number and, in brackets, the working one."},
    {"zone", "sharp of needed", "Depth of the sharp zone, and what the subject needs from front to back."},
    {"blur", "blur of subject", "At its near end, in focus and at its far end, in circles of confusion."},
    {"best", "best f-number", "What holds the subject best, or how many frames do."}};

const RowWords* words_of_row(const std::string& label) {
  const auto* found = std::find_if(std::begin(row_words), std::end(row_words),
                                   [&](const RowWords& row) { return label == row.label; });
  return found == std::end(row_words) ? nullptr : found;
}

void label_cell(const char* words) {
  ImGui::TableNextRow();
  ImGui::TableNextColumn();
  ImGui::PushStyleColor(ImGuiCol_Text, ink::soft);
  ImGui::PushTextWrapPos(0);
  ImGui::TextUnformatted(words);
  ImGui::PopTextWrapPos();
  ImGui::PopStyleColor();
}

std::string differences(const Side& side) {
  return side.differs.empty() ? std::string("nothing") : fmt::format("{}", fmt::join(side.differs, "\n"));
}

// A row of readings; what is as in the first picture stands back.
void reading_row(const std::vector<Side>& sides, std::size_t row, const std::string& label) {
  const RowWords* words = words_of_row(label);
  label_cell(words ? words->words : label.c_str());
  if (words) explain(words->explained);
  for (std::size_t i = 0; i < sides.size(); ++i) {
    ImGui::TableNextColumn();
    if (row >= sides[i].rows.size()) continue;
    const std::string& value = sides[i].rows[row].value;
    const bool same = i > 0 && row < sides[0].rows.size() && sides[0].rows[row].value == value;
    wrapped(value, !sides[i].current || same ? ink::soft : ink::strong);
    name_item(fmt::format("side by side {} {}", i + 1, label));
  }
}

}  // namespace

float side_by_side_table_height(const std::vector<Side>& sides) {
  std::size_t lines = 0, rows = 0;
  for (const Side& side : sides) {
    lines = std::max(lines, side.differs.size());
    rows = std::max(rows, side.rows.size());
  }
  const float line = small_px * scale() + 2 * ImGui::GetStyle().CellPadding.y;
  return line * static_cast<float>(std::max<std::size_t>(rows, 8) + lines + 2) + em(1.6f);
}

void side_by_side_table(const std::vector<Side>& sides) {
  ImGui::PushFont(fonts().small);
  if (ImGui::BeginTable("side by side", static_cast<int>(sides.size()) + 1, ImGuiTableFlags_RowBg)) {
    ImGui::TableSetupColumn("what", ImGuiTableColumnFlags_WidthFixed, em(6.6f));
    for (const Side& side : sides)
      ImGui::TableSetupColumn(side.name.c_str(), ImGuiTableColumnFlags_WidthStretch);
    label_cell("");
    for (const Side& side : sides) {
      ImGui::TableNextColumn();
      ImGui::PushFont(fonts().bold);
      wrapped(side.name, &side == &sides.front() ? ink::strong : ink::accent);
      ImGui::PopFont();
    }
    label_cell("changed");
    for (const Side& side : sides) {
      ImGui::TableNextColumn();
      if (&side != &sides.front()) wrapped(differences(side));
    }
    const auto first =
        std::find_if(sides.begin(), sides.end(), [](const Side& side) { return !side.rows.empty(); });
    for (std::size_t row = 0; first != sides.end() && row < first->rows.size(); ++row)
      reading_row(sides, row, first->rows[row].label);
    label_cell("picture");
    for (const Side& side : sides) {
      ImGui::TableNextColumn();
      wrapped(side.state, ink::soft);
    }
    ImGui::EndTable();
  }
  ImGui::PopFont();
}

}  // namespace undercap::window
