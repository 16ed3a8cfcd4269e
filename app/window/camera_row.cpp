// The camera under its picture: format, lens, f-number, focus, height of the axis; exposure beside it.
#include <fmt/format.h>

#include <cmath>

#include "app/window/panes.h"
#include "app/window/widgets.h"
#include "engine/optics/equivalence.h"
#include "engine/optics/lens.h"
#include "engine/optics/third_stops.h"

namespace undercap::window {
namespace {

std::vector<double> exact_values(std::span<const ThirdStop> stops) {
  std::vector<double> steps;
  for (const ThirdStop& stop : stops) steps.push_back(stop.exact);
  return steps;
}

std::string format_label(const Camera& camera) {
  return nickname({camera.format_mm[0] * 1_mm, camera.format_mm[1] * 1_mm});
}

void lens_column(Desk& desk) {
  const Camera& camera = desk.scene().camera;
  std::vector<Choice> choices;
  for (const NamedFormat& format : common_formats())
    choices.push_back(
        {format.nickname, fmt::format("[{:g}, {:g}]", format.size.width / 1_mm, format.size.height / 1_mm)});
  key_choice(desk, "camera.format_mm", "Format", format_label(camera), choices, "Format",
             "Width and height of the sensor. The place stays, so a smaller one frames less.");
  key_steps(desk, "camera.focal_length_mm", "Lens", camera.focal_length_mm,
            {12, 14, 18, 24, 28, 35, 45, 50, 60, 75, 90, 105, 135, 150, 180, 200, 300},
            {.usual = 90,
             .unit = "mm",
             .explained = "Focal length. The place stays: a longer lens frames less "
                          "and enlarges the backdrop with it."},
            "Focal length");
  key_steps(desk, "camera.f_number", "Aperture", camera.f_number, exact_values(third_stop_f_numbers()),
            {.usual = 5.6,
             .unit = "",
             .digits = 2,
             .explained = "f-number in third stops: larger is deeper, darker, and softer by diffraction."},
            "Aperture " + f_number_label(camera.f_number));
}

// What is set once and then left alone, behind a button.
void extras(Desk& desk) {
  const Camera& camera = desk.scene().camera;
  const Exposure& exposure = desk.scene().exposure;
  key_steps(
      desk, "camera.converter", "Converter", camera.converter, {1, 1.4, 2},
      {.usual = 1, .explained = "Behind the lens: focal length and f-number times this; the pupil stays."},
      "Converter");
  key_slide(desk, "camera.nd_stops", "Grey filter", camera.nd_stops,
            {0, 10, false, 0, "stops", 2, "What a grey filter takes, for a longer exposure."}, "Grey filter");
  begin_row("Polariser", "Takes the glare of wet things, by the angle they are seen at.");
  bool on = camera.polariser_deg.has_value();
  if (ImGui::Checkbox("##polariser", &on)) {
    if (on)
      desk.set("camera.polariser_deg", "0", "Polariser");
    else
      desk.unset("camera.polariser_deg", "Polariser");
  }
  name_item("polariser");
  if (camera.polariser_deg)
    key_slide(desk, "camera.polariser_deg", "Its turn", *camera.polariser_deg,
              {-90, 90, false, 0, "deg", 3, "0 darkens the glare of level ground, 90 leaves it."},
              "Polariser");
  key_tick(desk, "exposure.noise", "Noise", exposure.noise, "Noise",
           "The sensor's noise in the picture, at the picture's own size.");
  key_tick(desk, "exposure.diffraction", "Diffraction", exposure.diffraction, "Diffraction",
           "The aperture's diffraction in the picture: seen where a pixel is smaller than it.");
  key_slide(desk, "camera.stabiliser_stops", "Stabiliser", camera.stabiliser_stops,
            {0, 8, false, 0, "stops", 2,
             "What it gains for turning; it does not help against shift near life size."},
            "Stabiliser");
  key_slide(desk, "stack.overlap", "Stack overlap", desk.scene().stack.overlap,
            {0, 0.8, false, 0.3, "", 2, "Share of a frame's sharp zone that the next one repeats."},
            "Stack overlap");
}

void place_column(Desk& desk, View& view) {
  const World& world = desk.live().world();
  const Camera& camera = desk.scene().camera;
  const double height_cm = world.camera.axis_height.value() * 100;
  // The height of the axis: the pupil moves straight up and down and goes on looking where it looks.
  double asked = height_cm;
  const Slide moved =
      slide("axis height", "Axis", asked,
            {1, 60, true, 8, "cm", 3,
             "Height of the lens axis above the ground below it. The last centimetres change the "
             "kind of backdrop: what comes into the frame is seen at once."});
  if (moved.begin) desk.begin_drag("Height of the axis");
  if (moved.changed) {
    glm::dvec3 place = world.camera.pupil_m;
    place.z += (asked - height_cm) / 100;
    desk.set("camera.position_m", toml(place), "Height of the axis");
  }
  if (moved.end) desk.end_drag();
  const double width_cm = world.camera.width.value() * 100 / world.camera.magnification;
  begin_row("Focus", "Click in the picture to focus there.");
  const std::string text = fmt::format(
      "{} cm, 1:{}", shown((world.camera.pupil_distance.value() - camera.front_ahead_mm * 1e-3) * 100, 2),
      shown(1 / world.camera.magnification, 2));
  ImGui::TextUnformatted(text.c_str());
  explain(fmt::format(
      "The plane in focus from the front of the lens, and the scale of the picture on the sensor. "
      "There the frame is {} cm wide.",
      shown(width_cm, 3)));
  ImGui::SameLine();
  if (ImGui::SmallButton("Subject"))
    desk.change({{"camera.focus", toml_quoted(desk.scene().subject.parts.empty()
                                                  ? desk.scene().props.front().name
                                                  : desk.scene().subject.parts.front().text())}},
                "Focus");
  name_item("focus on subject");
  explain("Focus on the subject.");
  begin_row("More", "Converter, filters, noise, diffraction, stabiliser, stack.");
  if (ImGui::SmallButton("Filters ...")) ImGui::OpenPopup("glass and sensor");
  name_item("glass and sensor");
  if (ImGui::BeginPopup("glass and sensor")) {
    ImGui::Dummy({em(22), 0});
    extras(desk);
    ImGui::EndPopup();
  }
  begin_row("Over it", "Drawn over the picture.");
  const char* overlays[overlay_kinds] = {"no overlay", "clipping", "stops", "sharp zone", "plane in focus"};
  ImGui::SetNextItemWidth(ImGui::GetContentRegionAvail().x);
  int overlay = static_cast<int>(view.overlay);
  if (ImGui::Combo("##overlay", &overlay, overlays, overlay_kinds))
    view.overlay = static_cast<Overlay::Kind>(overlay);
  name_item("overlay");
  explain("Drawn over the picture: what is clipped or drowned, stops from mid-grey, or what is sharp.");
}

void exposure_column(Desk& desk) {
  const Exposure& exposure = desk.scene().exposure;
  key_steps(desk, "exposure.iso", "ISO", exposure.iso, exact_values(third_stop_isos()),
            {.usual = 200, .digits = 3, .explained = "ISO speed. No ray is traced anew for it."}, "ISO");
  const double metered = desk.live().exposed() ? desk.live().development().shutter.value() : 1;
  if (exposure.shutter_s) {
    key_slide(desk, "exposure.shutter_s", "Shutter", *exposure.shutter_s,
              {1.0 / 4000, 60, true, std::nullopt, "s", 3, "Exposure time. 1/60 can be typed."}, "Shutter");
    if (ImGui::SmallButton("Meter it")) desk.set("exposure.shutter_s", "\"meter\"", "Metered shutter");
    name_item("meter it");
  } else {
    key_slide(desk, "exposure.compensation_stops", "Brighter", exposure.compensation_stops,
              {-4, 4, false, 0, "stops", 3, "Brighter than what the meter makes mid-grey."}, "Compensation");
    begin_row("Shutter", "The exposure time that the meter gives.");
    if (ImGui::SmallButton(fmt::format("Hold {}###hold", shutter_text(metered)).c_str()))
      desk.set("exposure.shutter_s", toml(metered), "Hold the shutter");
    name_item("hold shutter");
    explain("Keeps the shutter that the meter gives now, so that edits of the light change the brightness.");
  }
  begin_row("White", "The light that looks white.");
  bool by_scene = !exposure.white_balance_k;
  if (ImGui::Checkbox("by the scene", &by_scene))
    desk.set("exposure.white_balance_k", by_scene ? "\"scene\"" : "5500", "White balance");
  name_item("white balance");
  explain("The light on the side of the subject that faces the camera looks white. Otherwise give kelvin.");
  if (exposure.white_balance_k)
    key_slide(desk, "exposure.white_balance_k", "Kelvin", *exposure.white_balance_k,
              {2000, 12000, true, 5500, "K", 3, "The colour temperature that looks white."}, "White balance");
}

}  // namespace

void camera_row(Desk& desk, View& view) {
  if (!desk.in_step()) return;
  const bool wide = ImGui::GetContentRegionAvail().x > em(30);
  if (!ImGui::BeginTable("camera", wide ? 3 : 1, ImGuiTableFlags_SizingStretchSame)) return;
  set_label_width(4.6f);
  ImGui::TableNextColumn();
  lens_column(desk);
  ImGui::TableNextColumn();
  place_column(desk, view);
  ImGui::TableNextColumn();
  exposure_column(desk);
  set_label_width(6.2f);
  ImGui::EndTable();
}

}  // namespace undercap::window
