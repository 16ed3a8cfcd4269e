// The panes of the window, each drawn into the ImGui window that is open. design: plan, elevation and the
// view from the source beside the picture, readings at the right, tables below.
#pragma once

#include "app/window/desk.h"
#include "app/window/view.h"

namespace undercap::window {

void drawing_pane(Desk& desk, View& view, DrawnView& drawn);
void from_source_pane(Desk& desk, View& view);
void camera_row(Desk& desk, View& view);
void readings_pane(Desk& desk, View& view);
void sources_pane(Desk& desk, View& view);
void ground_pane(Desk& desk, View& view);
// A mesh of an OBJ file in the folder of the scene.
void add_obj(Desk& desk, const std::string& file);

// Where a lamp may be moved by hand: what all panes that drag one share.
void move_thing(Desk& desk, const std::string& handle, const glm::dvec3& place_m);
// Where the thing of a handle is; nothing for what has no place of its own.
std::optional<glm::dvec3> place_of(const Desk& desk, const std::string& handle);
std::string step_name(const std::string& handle);  // "Move torch"
// Tidying: a leaf of the litter alone, else the whole prop.
void hide_part(Desk& desk, const WorldPart& part);
// What is asked of the map of places: of the chosen source, else of the first.
PlacesAsked map_asked(const Desk& desk, const View& view);
// Its switch, target, rise, spill and hand, what the lamp does where it stands, and the signs explained.
void map_controls(Desk& desk, View& view);
// Words on a place where the lamp would be aimed at the target; empty while nobody knows.
std::string words_of_place(Desk& desk, const glm::dvec3& place_m);
// Whoever asks for a target: the subject or a part that is there. True when another was chosen.
bool target_choice(const Desk& desk, std::optional<Address>& target, const std::string& name);
// Puts a lamp somewhere, aimed at a point, and at a power where that is given, on then: one step.
void put_lamp(Desk& desk, const std::string& source, const glm::dvec3& place_m, const glm::dvec3& aim_m,
              std::optional<double> power_pct = std::nullopt);
// The same by the map, unless no lamp can be there: then it is said why.
void put_lamp_by_map(Desk& desk, View& view, const glm::dvec3& place_m);
void change_power(Desk& desk, const std::string& source, double thirds);

}  // namespace undercap::window
