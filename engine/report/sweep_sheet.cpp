#include "engine/report/sweep_sheet.h"

#include <fmt/format.h>

#include "engine/core/errors.h"
#include "engine/report/light_sheet.h"

namespace undercap {

namespace {

// On a slide the first three rows, which are those that matter most, in short words.
constexpr std::size_t rows_on_slide = 3;
constexpr std::size_t many_pictures = 24;  // of which each has no more rows either

std::vector<SheetRow> rows_of(const SweepFacts& facts, const Headline& headline, const std::string& shade,
                              bool many) {
  std::vector<SheetRow> rows = facts.rows == SweepRows::light    ? headline_rows(headline, shade)
                               : facts.rows == SweepRows::camera ? camera_rows(headline)
                                                                 : separation_sheet_rows(headline);
  if (many && rows.size() > rows_on_slide) rows.resize(rows_on_slide);
  if (facts.paper != SheetPaper::slide) return rows;
  if (rows.size() > rows_on_slide) rows.resize(rows_on_slide);
  for (SheetRow& row : rows) {
    if (row.label == "light on subject") row.label = "light";
    if (row.label == "subject : backdrop") row.label = "backdrop";
    row.value = row.value.substr(0, row.value.find(" ("));
    if (row.value.starts_with("none")) row.value = "none";
    if (const std::size_t of = row.value.find(" of "); row.label == "zone" && of != std::string::npos)
      row.value = fmt::format("{} mm", row.value.substr(0, of));
  }
  return rows;
}

std::vector<std::string> explanations(const SweepFacts& facts) {
  switch (facts.rows) {
    case SweepRows::camera:
      return {
          "Lens: focal length, marked f-number, and in brackets the f-number that it works as at this scale. "
          "Zone: depth of field by the lens's rays, of the subject's depth.",
          "Blur: at the subject's near end, in focus and at its far end, by defocus and diffraction together "
          "(Hopkins), in circles of confusion: 1 is just sharp.",
          "Best: the f-number of the sharpest single frame, refocused, or the frames of a stack at the one "
          "that is set. S/N: signal over noise of mid-grey in a picture of 2 megapixels."};
    case SweepRows::separation:
      return {
          "Rim: luminance of the subject along its outline over that of the backdrop beside it, median; + "
          "where the subject is brighter. Texture: contrast (RMS) that is left in the backdrop, by cycles "
          "per frame height: 2 to 8 large patches, 8 to 32, 32 to 128 fine detail.",
          "At equal framing and f-number the focal length changes how much backdrop is in the frame and how "
          "large its blur is drawn, not which detail survives: the disc on a backdrop at one distance is the "
          "same (the mm under a picture go by the median distance of what it takes in). There is no one "
          "figure of separation; look at the rows that matter to you."};
    case SweepRows::light:
      break;
  }
  return {
      "Light on the subject: mean illuminance of its side toward the camera, without flash. Stops: + where "
      "the first is brighter; a standard error (\xc2\xb1) is printed where it is 0.05 stop or more."};
}

}  // namespace

ContactSheet sweep_sheet(const SweepFacts& facts, std::span<const Headline> headlines,
                         std::span<const Picture8> pictures, std::span<const Picture8> details) {
  UNDERCAP_CHECK(headlines.size() == pictures.size(), "a headline a picture");
  UNDERCAP_CHECK(details.empty() || details.size() == pictures.size(), "a detail a picture, or none");
  ContactSheet sheet;
  sheet.title = facts.title;
  sheet.paper = facts.paper;
  sheet.under_title = facts.changed.empty()
                          ? std::string("Nothing is changed.")
                          : fmt::format("Changed: {}. Kept: {}.", fmt::join(facts.changed, ", "), facts.kept);
  const std::string shade = shade_contrast(headlines);
  for (std::size_t i = 0; i < headlines.size(); ++i) {
    SheetCell cell{.name = headlines[i].name,
                   .rows = rows_of(facts, headlines[i], shade, headlines.size() > many_pictures),
                   .width = pictures[i].width,
                   .height = pictures[i].height};
    if (!details.empty()) {
      cell.box = facts.windows[i];
      cell.detail_width = details[i].width;
      cell.detail_height = details[i].height;
    }
    sheet.cells.push_back(std::move(cell));
  }
  sheet.columns = facts.columns;
  sheet.caution = "A rendered picture is not a photograph.";
  if (facts.paper == SheetPaper::slide) {
    if (!facts.changed.empty()) {
      sheet.under_title = fmt::format("Changed: {}.", fmt::join(facts.changed, ", "));
      sheet.spoken.push_back(fmt::format("Kept: {}.", facts.kept));
    }
    return sheet;
  }
  sheet.spoken = facts.question;
  sheet.small.push_back(fmt::format("{}: {}{}. {}; {}.", facts.scene_name, facts.lens,
                                    facts.lens.empty() ? "lens as varied" : "",
                                    facts.metered ? "Each picture is metered by itself: the shutter, with "
                                                    "its compensation, tells how bright the day is"
                                                  : "The shutter is set: the same light gives the same tone",
                                    facts.sampling));
  for (const std::string& line : explanations(facts)) sheet.small.push_back(line);
  if (!details.empty() && facts.windows.front().z < 1)
    sheet.small.push_back(fmt::format(
        "Beside or below each picture: the part in its box, pixel by pixel of a picture {:.0f} pixels wide.",
        details.front().width / static_cast<double>(facts.windows.front().z)));
  for (const std::string& remark : facts.remarks) sheet.small.push_back(remark);
  if (facts.lamps) sheet.small.push_back(light_cautions());
  sheet.small.push_back(facts.made_by + ".");
  return sheet;
}

}  // namespace undercap
