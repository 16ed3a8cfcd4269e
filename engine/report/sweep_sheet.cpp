#include "engine/report/sweep_sheet.h"

#include <fmt/format.h>

#include "engine/core/errors.h"

namespace undercap {

ContactSheet sweep_sheet(const SweepFacts& facts, std::span<const Headline> headlines,
                         std::span<const Picture8> pictures) {
  UNDERCAP_CHECK(headlines.size() == pictures.size(), "a headline a picture");
  ContactSheet sheet;
  sheet.title = facts.title;
  sheet.under_title = facts.changed.empty()
                          ? std::string("Nothing is changed.")
                          : fmt::format("Changed: {}. Kept: {}.", fmt::join(facts.changed, ", "), facts.kept);
  const std::string shade = shade_contrast(headlines);
  for (std::size_t i = 0; i < headlines.size(); ++i)
    sheet.cells.push_back({headlines[i].name,
                           facts.camera ? camera_rows(headlines[i]) : headline_rows(headlines[i], shade),
                           pictures[i].width, pictures[i].height});
  sheet.columns = facts.columns;
  sheet.small.push_back(fmt::format("{}: {}{}. {}; {}.", facts.scene_name, facts.lens,
                                    facts.lens.empty() ? "lens as varied" : "",
                                    facts.metered ? "Each picture is metered by itself: the shutter, with "
                                                    "its compensation, tells how bright the day is"
                                                  : "The shutter is set: the same light gives the same tone",
                                    facts.sampling));
  if (facts.camera) {
    sheet.small.push_back(
        "Zone: depth of field by the lens's rays, of the subject's depth. Blur: at the subject's ends and in "
        "focus, by "
        "defocus and diffraction together (Hopkins); the limit is the circle of confusion, 1 is just sharp.");
    sheet.small.push_back(
        "Best: the f-number of the sharpest single frame, refocused, or the frames of a stack at the one "
        "that is set. S/N: "
        "signal over noise of mid-grey in a picture of 2 megapixels.");
  } else {
    sheet.small.push_back(
        "Light on the subject: mean illuminance of its side toward the camera, without flash. Stops: + where "
        "the first is "
        "brighter; a standard error (\xc2\xb1) is printed where it is 0.05 stop or more.");
  }
  for (const std::string& remark : facts.remarks) sheet.small.push_back(remark);
  sheet.small.push_back(facts.made_by + ".");
  sheet.caution = "A rendered picture is not a photograph.";
  return sheet;
}

}  // namespace undercap
