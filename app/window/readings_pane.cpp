// The readings: headline first, then the six questions, and the histogram.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "app/window/panes.h"
#include "app/window/widgets.h"
#include "engine/colour/spaces.h"
#include "engine/measure/reading_text.h"

namespace undercap::window {
namespace {

const char* question(Reading::Under under) {
  switch (under) {
    case Reading::Under::headline:
      return "Contrast, in stops";
    case Reading::Under::fill:
      return "1  Fill";
    case Reading::Under::depth:
      return "2  Depth";
    case Reading::Under::backdrop:
      return "3  Backdrop";
    case Reading::Under::exposure:
      return "4  Exposure";
    case Reading::Under::light_of_the_day:
      return "5  Light of the day";
    case Reading::Under::take_away:
      return "6  Take away";
  }
  return "";
}

// "contrast.cap_gills_stops" in the words of the trade; what has no words of its own keeps its name.
std::string words_of(const Reading& reading) {
  std::string name = reading.name;
  const auto without_unit = [](std::string text) {
    if (text.ends_with("_stops")) text.resize(text.size() - 6);
    return text;
  };
  if (name.starts_with("rise.")) {
    name = without_unit(name.substr(5));
    const std::size_t dot = name.find('.');
    const std::string part = name.substr(dot + 1);
    const std::size_t slash = part.find('/');
    return fmt::format("{} on {}", name.substr(0, dot),
                       slash == std::string::npos ? part : part.substr(slash + 1));
  }
  if (name.starts_with("spill.")) return fmt::format("{} on backdrop", without_unit(name.substr(6)));
  if (name == "contrast.subject_backdrop_stops") return "subject : backdrop";
  if (name == "contrast.cap_gills_stops") return "cap : gills";
  if (name == "contrast.cap_stem_stops") return "cap : stem";
  if (name == "contrast.range_stops") return "range of the picture";
  if (name == "light.sides_stops") return "lit side : shadow side";
  const std::size_t dot = name.find('.');
  if (name.starts_with("contrast.") || name.starts_with("lens.") || name.starts_with("depth.") ||
      name.starts_with("backdrop.") || name.starts_with("exposure.") || name.starts_with("light."))
    name = name.substr(dot + 1);
  for (const char* unit : {"_stops", "_mm", "_m", "_s", "_deg", "_lx", "_pct", "_um", "_cd_m2"})
    if (name.ends_with(unit)) {
      name.resize(name.size() - std::string(unit).size());
      break;
    }
  std::replace(name.begin(), name.end(), '_', ' ');
  return name;
}

void row(const Reading& reading, bool current, bool large) {
  ImGui::TableNextRow();
  ImGui::TableNextColumn();
  ImGui::PushStyleColor(ImGuiCol_Text, large ? ink::plain : ink::soft);
  ImGui::TextUnformatted(words_of(reading).c_str());
  ImGui::PopStyleColor();
  explain(reading.name + (reading.note.empty() ? "" : ": " + reading.note));
  ImGui::TableNextColumn();
  right_text(value_text(reading), current ? ink::strong : ink::soft, large ? fonts().bold : nullptr);
  name_item("reading " + reading.name);
  if (!reading.note.empty()) explain(reading.note);
  ImGui::TableNextColumn();
  ImGui::PushStyleColor(ImGuiCol_Text, ink::soft);
  ImGui::PushFont(fonts().small);
  ImGui::TextUnformatted(reading.unit.c_str());
  ImGui::TableNextColumn();
  if (reading.se) {
    ImGui::TextUnformatted(fmt::format("\u00b1{:.2g}", *reading.se).c_str());
    explain("One standard error of the sampling.");
  }
  ImGui::PopFont();
  ImGui::PopStyleColor();
}

bool begin_readings(const char* name) {
  if (!ImGui::BeginTable(name, 4, ImGuiTableFlags_SizingFixedFit)) return false;
  ImGui::TableSetupColumn("what", ImGuiTableColumnFlags_WidthStretch);
  ImGui::TableSetupColumn("value", ImGuiTableColumnFlags_WidthFixed, em(3.4f));
  ImGui::TableSetupColumn("unit", ImGuiTableColumnFlags_WidthFixed, em(2.1f));
  ImGui::TableSetupColumn("error", ImGuiTableColumnFlags_WidthFixed, em(2.7f));
  return true;
}

// What people look for first: the contrasts, and what each source does to subject and backdrop.
bool is_headline(const Reading& reading) {
  return reading.under == Reading::Under::headline || reading.name.starts_with("rise.") ||
         reading.name.starts_with("spill.") || reading.name == "exposure.shutter_s";
}

// Bars in display codes, and marks of scene stops below: both of the picture as it is shown.
void histogram(const Live& live) {
  constexpr int bars = 64;
  static std::vector<float> shares(bars);
  static double taken_at = -1;
  static double clipped = 0, black = 0;
  const double now = ImGui::GetTime();
  if (now - taken_at > 0.5 && live.picture().shown().texture) {
    taken_at = now;
    const std::vector<std::uint32_t> codes = live.picture().codes();
    std::fill(shares.begin(), shares.end(), 0.f);
    std::size_t white = 0, dark = 0;
    for (const std::uint32_t word : codes) {
      const auto r = word & 255u, g = word >> 8 & 255u, b = word >> 16 & 255u;
      const double y = luminance_y({r, g, b});
      shares[static_cast<std::size_t>(std::min(bars - 1.0, y / 256 * bars))] += 1;
      white += std::max({r, g, b}) == 255 ? 1u : 0u;
      dark += y < 2 ? 1u : 0u;
    }
    const double all = static_cast<double>(std::max<std::size_t>(1, codes.size()));
    clipped = 100 * static_cast<double>(white) / all;
    black = 100 * static_cast<double>(dark) / all;
  }
  const float most = std::max(1.f, *std::max_element(shares.begin() + 1, shares.end() - 1));
  const ImVec2 low = ImGui::GetCursorScreenPos();
  const float width = ImGui::GetContentRegionAvail().x, height = em(4);
  ImDrawList* list = ImGui::GetWindowDrawList();
  list->AddRectFilled(low, {low.x + width, low.y + height}, ink::ground);
  for (int i = 0; i < bars; ++i) {
    const float share = std::min(1.f, shares[static_cast<std::size_t>(i)] / most);
    const float x = low.x + width * static_cast<float>(i) / bars;
    list->AddRectFilled({x, low.y + height * (1 - share)}, {x + width / bars - 1, low.y + height}, ink::soft);
  }
  // Where whole stops from mid-grey fall on the display's scale (IEC 61966-2-1).
  for (int stop = -4; stop <= 2; ++stop) {
    const double linear = 0.18 * std::exp2(stop);
    const double code = linear <= 0.0031308 ? 12.92 * linear : 1.055 * std::pow(linear, 1 / 2.4) - 0.055;
    if (code > 1) continue;
    const float x = low.x + width * static_cast<float>(code);
    list->AddLine({x, low.y}, {x, low.y + height}, stop == 0 ? ink::accent : ink::line);
    const std::string text = stop == 0 ? "grey" : fmt::format("{:+d}", stop);
    list->AddText(fonts().small, small_px * scale(), {x + 2, low.y}, stop == 0 ? ink::accent : ink::soft,
                  text.c_str());
  }
  ImGui::Dummy({width, height});
  explain("The picture as it is shown, from black to white; the lines are scene stops from mid-grey.");
  ImGui::PushStyleColor(ImGuiCol_Text, ink::soft);
  ImGui::Text("white %.1f %%   black %.1f %%", clipped, black);
  ImGui::PopStyleColor();
}

// What the scene holds, in stops from mid-grey, by the cells of the survey.
void scene_stops(const Live& live) {
  const Survey* survey = live.readings().survey();
  if (!survey || !live.exposed()) return;
  static std::vector<float> shares;
  static const Survey* of = nullptr;
  static double taken_at = -1;
  constexpr int low_stop = -9, high_stop = 7, bars = (high_stop - low_stop) * 2;
  if (of != survey || ImGui::GetTime() - taken_at > 0.5) {
    of = survey;
    taken_at = ImGui::GetTime();
    shares.assign(bars, 0.f);
    Use all{};
    all.fill(true);
    const Development& how = live.development();
    const double grey = exposure_per_luminance(live.world(), how.shutter).value() * how.iso / 10;
    for (const glm::dvec3& cell : cell_luminance(*survey, mix_over(live.world(), how.shutter), all)) {
      const double stops = std::log2(std::max(1e-9, luminance_y(cell) * grey));
      const int bar = std::clamp(static_cast<int>((stops - low_stop) * 2), 0, bars - 1);
      shares[static_cast<std::size_t>(bar)] += 1;
    }
  }
  const float most = std::max(1.f, *std::max_element(shares.begin(), shares.end()));
  const ImVec2 low = ImGui::GetCursorScreenPos();
  const float width = ImGui::GetContentRegionAvail().x, height = em(2.6f);
  ImDrawList* list = ImGui::GetWindowDrawList();
  list->AddRectFilled(low, {low.x + width, low.y + height}, ink::ground);
  for (int i = 0; i < bars; ++i) {
    const float share = shares[static_cast<std::size_t>(i)] / most;
    const float x = low.x + width * static_cast<float>(i) / bars;
    list->AddRectFilled({x, low.y + height * (1 - share)}, {x + width / bars - 1, low.y + height},
                        ink::faint);
  }
  const auto mark = [&](double stop, const char* text, ImU32 colour) {
    const float x = low.x + width * static_cast<float>((stop - low_stop) / (high_stop - low_stop));
    list->AddLine({x, low.y}, {x, low.y + height}, colour);
    list->AddText(fonts().small, small_px * scale(), {x + 2, low.y}, colour, text);
  };
  mark(0, "grey", ink::accent);
  mark(std::log2(7.8), "raw clip", ink::soft);  // H = 78 / S over 10 / S
  mark(-5, "-5", ink::soft);
  ImGui::Dummy({width, height});
  explain("The scene itself in stops from mid-grey, half a stop a bar: what lies right of raw clip is lost.");
}

}  // namespace

void readings_pane(Desk& desk, View&) {
  if (!desk.in_step()) return;
  const Live& live = desk.live();
  const LiveReadings& readings = live.readings();
  const bool current = readings.current() && !desk.dragging();
  heading("Readings");
  if (!readings.done() || !current) {
    ImGui::SameLine();
    const std::string state =
        !current ? "moving ..." : fmt::format("{:.0f} % taken", 100 * readings.share_done());
    right_text(state, ink::accent, fonts().small);
  }
  if (readings.readings().empty()) {
    ImGui::TextDisabled("being taken ...");
    return;
  }
  if (begin_readings("headline")) {
    for (const Reading& reading : readings.readings())
      if (is_headline(reading) && !std::holds_alternative<std::monostate>(reading.value))
        row(reading, current, true);
    ImGui::EndTable();
  }
  histogram(live);
  scene_stops(live);
  Reading::Under under = Reading::Under::headline;
  bool open = false;
  for (const Reading& reading : readings.readings()) {
    if (reading.under == Reading::Under::headline) continue;
    if (reading.under != under) {
      if (open) ImGui::EndTable();
      under = reading.under;
      open = ImGui::CollapsingHeader(question(under), under == Reading::Under::depth
                                                          ? ImGuiTreeNodeFlags_DefaultOpen
                                                          : ImGuiTreeNodeFlags_None);
      name_item(std::string("heading ") + question(under));
      open = open && begin_readings(question(under));
    }
    if (open) row(reading, current, false);
  }
  if (open) ImGui::EndTable();
  ImGui::PushStyleColor(ImGuiCol_Text, ink::faint);
  ImGui::PushFont(fonts().small);
  ImGui::PushTextWrapPos(0);
  ImGui::TextUnformatted(
      "Not covered: fluorescence, polarisation, how sure guessed reflectances are. A rendered picture is not "
      "a "
      "photograph.");
  for (const std::string& note : live.world().notes) ImGui::TextUnformatted(note.c_str());
  ImGui::PopTextWrapPos();
  ImGui::PopFont();
  ImGui::PopStyleColor();
}

}  // namespace undercap::window
