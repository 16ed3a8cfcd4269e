// The light: one table of sources, and the day above them.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>

#include "app/window/panes.h"
#include "app/window/widgets.h"
#include "engine/scene/document.h"

namespace undercap::window {
namespace {

std::string key_of(const Source& source, const char* key) {
  return fmt::format("source.{}.{}", source.name, key);
}

// A small torch as people have one: 60 lm, 25 mm wide, from the left and a little above the ground.
void add_source(Desk& desk, View& view, const char* kind) {
  const World& world = desk.live().world();
  const std::string name = desk.edited().next_name("source", kind);
  const glm::dvec3 subject = centroid(world, world.subject).value_or(world.camera.focus_point_m);
  const glm::dvec3 across = glm::normalize(glm::dvec3(world.camera.right.x, world.camera.right.y, 0) + 1e-9);
  glm::dvec3 level = -glm::dvec3(world.camera.forward.x, world.camera.forward.y, 0);
  level = glm::length(level) > 1e-6 ? glm::normalize(level) : glm::dvec3(0, -1, 0);
  const glm::dvec3 place = subject + 0.2 * glm::normalize(level - across) + glm::dvec3(0, 0, 0.03);
  const std::string aim =
      desk.scene().subject.parts.empty()
          ? (desk.scene().props.empty() ? toml(subject) : toml_quoted(desk.scene().props.front().name))
          : toml_quoted(desk.scene().subject.parts.front().text());
  std::string strength = "flux_lm = 60\nbeam_deg = 60\ndiameter_mm = 25\n";
  if (std::string(kind) == "panel") strength = "flux_lm = 200\nbeam_deg = 120\nsize_mm = [90, 60]\n";
  if (std::string(kind) == "flash") strength = "guide_number_m = 12\npower_pct = 6.25\nsize_mm = [60, 40]\n";
  if (desk.add_block(fmt::format("[[source]]\nname = {}\nkind = \"{}\"\nposition_m = {}\naim = {}\n{}",
                                 toml_quoted(name), kind, toml(place), aim, strength),
                     std::string("Add ") + name))
    view.source = name;
}

// Names the source that alone shines; empty when that is not so.
bool only_this(const Scene& scene, const Source& source) {
  return source.on && std::all_of(scene.sources.begin(), scene.sources.end(), [&](const Source& other) {
           return other.name == source.name || !other.on;
         });
}

void keep_only(Desk& desk, const Source& source) {
  const bool already = only_this(desk.scene(), source) && desk.scene().sources.size() > 1;
  std::vector<Edit> edits;
  for (const Source& other : desk.scene().sources)
    edits.push_back({key_of(other, "on"), toml(already || other.name == source.name)});
  desk.change(edits, already ? "All sources" : "Only " + source.name);
}

// Power in a cell: per cent, dragged or typed, with stops below full beside it.
void power_cell(Desk& desk, const Source& source) {
  const std::string key = key_of(source, "power_pct"), step = "Power of " + source.name;
  double power = std::max(source.power_pct, 0.1);
  const double low = 0.1, high = 100;
  const float box = em(4.2f);
  ImGui::SetNextItemWidth(std::max(em(2), ImGui::GetContentRegionAvail().x - box - em(0.4f)));
  const bool changed = ImGui::SliderScalar(
      "##power", ImGuiDataType_Double, &power, &low, &high, "",
      ImGuiSliderFlags_Logarithmic | ImGuiSliderFlags_NoInput | ImGuiSliderFlags_NoRoundToFormat);
  name_item("slide " + key);
  explain("Share of the source's strength. The picture follows at once: no ray is traced anew.");
  if (ImGui::IsItemActivated()) desk.begin_drag(step);
  if (changed) desk.set(key, toml(std::round(power * 100) / 100), step);
  if (ImGui::IsItemDeactivated()) desk.end_drag();
  ImGui::SameLine();
  double typed_power = source.power_pct;
  if (value_box(key, typed_power, {.unit = "%", .digits = 3}, box)) desk.set(key, toml(typed_power), step);
  explain(fmt::format("{:+.1f} stops from full power. Click to type.",
                      std::log2(std::max(source.power_pct, 1e-3) / 100)));
}

void source_row(Desk& desk, View& view, const Source& source) {
  ImGui::PushID(source.name.c_str());
  ImGui::TableNextRow();
  ImGui::TableNextColumn();
  bool on = source.on;
  if (ImGui::Checkbox("##on", &on))
    desk.set(key_of(source, "on"), toml(on), on ? source.name + " on" : source.name + " off");
  name_item(key_of(source, "on"));
  explain("Whether it shines. Nothing is traced anew for it.");
  ImGui::TableNextColumn();
  if (ImGui::RadioButton("##only", only_this(desk.scene(), source))) keep_only(desk, source);
  name_item(key_of(source, "only"));
  explain("Only this source; again: all of them.");
  ImGui::TableNextColumn();
  if (ImGui::Selectable(source.name.c_str(), view.source == source.name)) view.source = source.name;
  name_item("source " + source.name);
  ImGui::TableNextColumn();
  power_cell(desk, source);
  ImGui::TableNextColumn();
  double kelvin = source.cct_k;
  if (value_box(key_of(source, "cct_k"), kelvin, {.unit = "K", .digits = 4}, -1))
    desk.set(key_of(source, "cct_k"), toml(kelvin), "Colour of " + source.name);
  explain("Colour temperature on the Planck locus. Click to type.");
  ImGui::TableNextColumn();
  const auto place = place_of(desk, "source:" + source.name), aim = place_of(desk, "aim:" + source.name);
  if (place && aim) {
    double distance = glm::distance(*place, *aim) * 100;
    if (value_box(key_of(source, "distance"), distance, {.unit = "cm", .digits = 3}, -1) && distance > 0.2)
      move_thing(desk, "source:" + source.name, *aim + glm::normalize(*place - *aim) * (distance / 100));
    explain("Lamp front to what it aims at, along its line. Click to type: half as far is two stops more.");
  }
  ImGui::TableNextColumn();
  if (source.kind == Source::Kind::flash) {
    ImGui::TextDisabled("flash");
  } else {
    const double all = desk.live().exposed() ? desk.live().development().shutter.value() : 1;
    double seconds = source.on_s.value_or(all);
    if (value_box(key_of(source, "on_s"), seconds, {.unit = "s", .digits = 2}, -1)) {
      if (seconds >= all && !source.on_s) {
      } else {
        desk.set(key_of(source, "on_s"), toml(seconds), "Time of " + source.name);
      }
    }
    explain(source.on_s ? "On for this part of the exposure. Click to type."
                        : "On for the whole exposure. Type fewer seconds to have it on for a part of it.");
  }
  ImGui::PopID();
}

void chosen_source(Desk& desk, View& view) {
  const auto& sources = desk.scene().sources;
  const auto found = std::find_if(sources.begin(), sources.end(),
                                  [&](const Source& source) { return source.name == view.source; });
  if (found == sources.end()) return;
  const Source source = *found;
  ImGui::Separator();
  heading(source.name.c_str());
  if (const auto place = place_of(desk, "source:" + source.name)) {
    ImGui::SameLine();
    ImGui::PushStyleColor(ImGuiCol_Text, ink::soft);
    ImGui::PushTextWrapPos(0);
    ImGui::TextUnformatted(place_words(desk.live().world(), *place).c_str());
    ImGui::PopTextWrapPos();
    ImGui::PopStyleColor();
  }
  map_controls(desk, view);
  if (source.flux_lm)
    key_slide(desk, key_of(source, "flux_lm"), "Strength", *source.flux_lm,
              {1, 2000, true, 60, "lm", 3, "Luminous flux at full power, as torches are labelled."},
              "Strength of " + source.name);
  if (source.intensity_cd)
    key_slide(desk, key_of(source, "intensity_cd"), "Strength", *source.intensity_cd,
              {0.1, 10000, true, std::nullopt, "cd", 3, "Peak intensity at full power."},
              "Strength of " + source.name);
  if (source.beam_distance_m)
    key_slide(
        desk, key_of(source, "beam_distance_m"), "Reach", *source.beam_distance_m,
        {1, 500, true, std::nullopt, "m", 3, "Distance at which 0.25 lx are left, as torches are labelled."},
        "Reach of " + source.name);
  if (source.guide_number_m)
    key_slide(desk, key_of(source, "guide_number_m"), "Guide number", *source.guide_number_m,
              {1, 60, true, 12, "m", 3, "At ISO 100 and full power."}, "Guide number of " + source.name);
  if (source.beam_file.empty())
    key_slide(desk, key_of(source, "beam_deg"), "Beam", source.beam_deg,
              {5, 150, false, 60, "\u00b0", 3,
               "Full angle at half the peak intensity; 120 is an even diffuse light."},
              "Beam of " + source.name);
  if (source.kind == Source::Kind::torch)
    key_slide(desk, key_of(source, "diameter_mm"), "Width", source.diameter_mm,
              {2, 300, true, 25, "mm", 3, "Of the shining disc. A wider one close by makes softer shadows."},
              "Width of " + source.name);
  key_slide(desk, key_of(source, "diffuser"), "Diffuser", source.diffuser,
            {0, 1, false, 0, "", 2, "0 none, 1 spreads the light evenly; some is lost."},
            "Diffuser of " + source.name);
  key_slide(desk, key_of(source, "gel_mired"), "Gel", source.gel_mired,
            {-200, 200, false, 0, "mired", 3, "Shift of a gel; warmer is positive."},
            "Gel of " + source.name);
  if (ImGui::SmallButton("Aim at the subject"))
    desk.set(key_of(source, "aim"),
             toml_quoted(desk.scene().subject.parts.empty() ? desk.scene().props.front().name
                                                            : desk.scene().subject.parts.front().text()),
             "Aim " + source.name);
  name_item("aim at subject");
  ImGui::SameLine();
  if (ImGui::SmallButton("Remove")) desk.remove_block("source", source.name, "Remove " + source.name);
  name_item("remove source");
}

// f-number, seconds and ISO of a reading off a grey card.
void grey_card(Desk& desk, const Sky& sky) {
  const Sky::GreyCard card = sky.grey_card.value_or(Sky::GreyCard{});
  double f = card.f_number, seconds = card.shutter_s, iso = card.iso;
  const float width = begin_row("Grey card",
                                "The light under sky and leaves, as a camera reads it off an 18 % card "
                                "lying level at the subject: nobody needs a lux meter.");
  const float each = std::min(em(4), (width - em(0.8f)) / 3);
  bool changed = value_box("grey card f", f, {.unit = "f/", .digits = 2}, each);
  ImGui::SameLine();
  changed = value_box("grey card s", seconds, {.unit = "s", .digits = 3}, each) || changed;
  ImGui::SameLine();
  changed = value_box("grey card iso", iso, {.unit = "ISO", .digits = 3}, each) || changed;
  if (changed)
    desk.set("sky.grey_card",
             fmt::format("{{ f_number = {}, shutter_s = {}, iso = {} }}", toml(f), toml(seconds), toml(iso)),
             "Light by the grey card");
}

void day(Desk& desk) {
  const Scene& scene = desk.scene();
  const World& world = desk.live().world();
  static const char* models[] = {"overcast", "uniform", "general", "off"};
  std::vector<Choice> choices;
  for (const char* model : models) choices.push_back({model, toml_quoted(model)});
  key_choice(
      desk, "sky.model", "Sky", models[static_cast<int>(scene.sky.model)], choices, "Sky",
      "How the light is spread over the sky: overcast is three times as bright overhead as at the horizon.");
  if (scene.sky.model != Sky::Model::off) {
    double sky_lx = 0;
    for (const LightGroup& group : world.groups)
      if (group.kind == LightGroup::Kind::sky) sky_lx = group.power;
    key_slide(desk, "sky.horizontal_lx", "Sky light", std::max(sky_lx, 1.0),
              {10, 100000, true, std::nullopt, "lx", 3, "On level ground above the leaves."}, "Sky light");
    grey_card(desk, scene.sky);
  }
  key_tick(desk, "sun.on", "Sun", scene.sun.on, "Sun", "Whether the sun shines.");
  if (scene.sun.on) {
    double elevation = world.sun_apparent_elevation.value() * 57.29578,
           azimuth = world.sun_azimuth.value() * 57.29578;
    const auto set_sun = [&] {
      desk.change({{"sun.azimuth_deg", toml(azimuth)}, {"sun.elevation_deg", toml(elevation)}},
                  "Place of the sun");
    };
    for (const bool high : {true, false}) {
      double& value = high ? elevation : azimuth;
      const Slide moved =
          high ? slide("sun.elevation_deg", "Sun height", value,
                       {0, 65, false, std::nullopt, "\u00b0", 3, "Above the horizon, as it is seen."})
               : slide("sun.azimuth_deg", "Sun bearing", value,
                       {0, 360, false, std::nullopt, "\u00b0", 3, "From north, clockwise."});
      if (moved.begin) desk.begin_drag("Place of the sun");
      if (moved.changed) set_sun();
      if (moved.end) desk.end_drag();
    }
    key_slide(desk, "sun.turbidity", "Haze", scene.sun.turbidity,
              {1, 10, false, 3, "", 2, "2 very clear, 3 clear, 6 hazy."}, "Haze");
  }
  key_slide(
      desk, "canopy.leaf_area_index", "Leaves", scene.canopy.leaf_area_index,
      {0, 8, false, std::nullopt, "", 2, "Leaf area over ground area: 0 open, 2 thin autumn wood, 5 dense."},
      "Leaves overhead");
  key_slide(desk, "canopy.gap_deg", "Gap", scene.canopy.gap_deg,
            {0, 60, false, 0, "\u00b0", 2,
             "Half-angle of one round gap overhead, outside which nothing passes; 0: none."},
            "Gap overhead");
}

}  // namespace

void sources_pane(Desk& desk, View& view) {
  heading("Sources");
  if (!desk.in_step()) return;
  for (const char* kind : {"torch", "panel", "flash"}) {
    ImGui::SameLine();
    if (ImGui::SmallButton((std::string("+ ") + kind).c_str())) add_source(desk, view, kind);
    name_item(std::string("add ") + kind);
  }
  if (ImGui::BeginTable("sources", 7, ImGuiTableFlags_SizingFixedFit | ImGuiTableFlags_BordersInnerH)) {
    ImGui::TableSetupColumn("on", ImGuiTableColumnFlags_WidthFixed, em(1.5f));
    ImGui::TableSetupColumn("only", ImGuiTableColumnFlags_WidthFixed, em(1.9f));
    ImGui::TableSetupColumn("name", ImGuiTableColumnFlags_WidthStretch, 1.2f);
    ImGui::TableSetupColumn("power", ImGuiTableColumnFlags_WidthStretch, 2.6f);
    ImGui::TableSetupColumn("colour", ImGuiTableColumnFlags_WidthFixed, em(4.2f));
    ImGui::TableSetupColumn("distance", ImGuiTableColumnFlags_WidthFixed, em(4.1f));
    ImGui::TableSetupColumn("time on", ImGuiTableColumnFlags_WidthFixed, em(3.6f));
    ImGui::PushStyleColor(ImGuiCol_Text, ink::soft);
    ImGui::TableHeadersRow();
    ImGui::PopStyleColor();
    const std::vector<Source> sources = desk.scene().sources;
    for (const Source& source : sources) source_row(desk, view, source);
    ImGui::EndTable();
  }
  if (view.source.empty() && !desk.scene().sources.empty()) view.source = desk.scene().sources.front().name;
  chosen_source(desk, view);
  ImGui::Separator();
  heading("Day");
  day(desk);
}

}  // namespace undercap::window
