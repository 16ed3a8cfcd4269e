// Plan, elevation and the view from the source: where things are moved and measured.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>

#include "app/window/paint.h"
#include "app/window/panes.h"
#include "app/window/widgets.h"
#include "engine/report/from_source.h"

namespace undercap::window {
namespace {

// What the mouse has hold of, in whichever drawing.
struct Held {
  std::string handle;
  const DrawnView* in = nullptr;
  glm::dvec2 offset_m{0};  // from the mouse to the thing, drawing axes
  bool moved = false;
} held;

struct TypedDimension {
  std::string handle;
  double value_cm = 0;
  bool open = false;
} dimension;

bool pressed_handle = false;  // the last press was on a thing

bool is_dimension(const std::string& handle) { return handle.starts_with("dimension:"); }

// kind and name of "dimension:height:torch".
std::pair<std::string, std::string> dimension_parts(const std::string& handle) {
  const std::string rest = handle.substr(std::string("dimension:").size());
  const std::size_t colon = rest.find(':');
  return {rest.substr(0, colon), colon == std::string::npos ? std::string() : rest.substr(colon + 1)};
}

// Ground height below a place, from what its words say of it: the dimension itself is told in cm above
// ground.
double floor_below(const Desk& desk, const glm::dvec3& place) {
  const World& world = desk.live().world();
  if (place == world.camera.pupil_m) return place.z - world.camera.axis_height.value();
  return 0;
}

// The length that a dimension line shows now, m; nothing when it cannot be typed over.
std::optional<double> dimension_length(const Desk& desk, const std::string& handle) {
  const auto [kind, name] = dimension_parts(handle);
  const World& world = desk.live().world();
  if (kind == "axis_height") return world.camera.axis_height.value();
  if (kind == "front_to_subject")
    return (world.camera.pupil_distance - Length(world.scene.camera.front_ahead_mm * 1e-3)).value();
  const auto place = place_of(desk, "source:" + name);
  if (!place) return std::nullopt;
  if (kind == "height") return place->z - floor_below(desk, *place);
  if (const auto aim = place_of(desk, "aim:" + name); kind == "distance" && aim)
    return glm::distance(*place, *aim);
  return std::nullopt;
}

void set_dimension(Desk& desk, const std::string& handle, double metres) {
  const auto [kind, name] = dimension_parts(handle);
  const World& world = desk.live().world();
  if (kind == "axis_height") {
    glm::dvec3 place = world.camera.pupil_m;
    place.z += metres - world.camera.axis_height.value();
    move_thing(desk, "camera", place);
    return;
  }
  if (kind == "front_to_subject") {
    const double ahead = world.scene.camera.front_ahead_mm * 1e-3;
    move_thing(
        desk, "camera",
        world.camera.pupil_m + world.camera.forward * (world.camera.pupil_distance.value() - ahead - metres));
    return;
  }
  const auto place = place_of(desk, "source:" + name);
  if (!place) return;
  glm::dvec3 moved = *place;
  if (kind == "height") moved.z = metres + floor_below(desk, *place);
  if (const auto aim = place_of(desk, "aim:" + name); kind == "distance" && aim && metres > 0.002)
    moved = *aim + glm::normalize(*place - *aim) * metres;
  move_thing(desk, "source:" + name, moved);
}

// To the nearest centimetre of the drawing's axes, about the world's origin.
glm::dvec2 snapped(const glm::dvec2& place) { return glm::round(place * 100.0) / 100.0; }

void type_over(Desk& desk) {
  if (std::exchange(dimension.open, false)) ImGui::OpenPopup("dimension");
  if (!ImGui::BeginPopup("dimension")) return;
  const auto [kind, name] = dimension_parts(dimension.handle);
  heading(kind == "distance"      ? (name + ": lamp front to what it aims at").c_str()
          : kind == "height"      ? (name + ": height above the ground").c_str()
          : kind == "axis_height" ? "Height of the lens axis"
                                  : "Lens front to the plane in focus");
  static std::string text;
  if (ImGui::IsWindowAppearing()) {
    text = shown(dimension.value_cm, 4);
    ImGui::SetKeyboardFocusHere();
  }
  ImGui::SetNextItemWidth(em(7));
  const bool enter =
      input_text("cm", text, ImGuiInputTextFlags_EnterReturnsTrue | ImGuiInputTextFlags_AutoSelectAll);
  name_item("dimension box");
  if (enter) {
    if (const auto value = typed(text)) set_dimension(desk, dimension.handle, *value * 0.01);
    ImGui::CloseCurrentPopup();
  }
  ImGui::EndPopup();
}

void start_hold(Desk& desk, DrawnView& drawn, const std::string& handle, const glm::dvec2& mouse_m,
                View& view) {
  if (is_dimension(handle)) {
    if (const auto length = dimension_length(desk, handle)) dimension = {handle, *length * 100, true};
    return;
  }
  if (handle.starts_with("source:")) view.source = handle.substr(7);
  if (handle.starts_with("prop:")) view.prop = handle.substr(5);
  const auto place = place_of(desk, handle);
  if (!place) return;
  held = {handle, &drawn, drawing_place(axes_of(desk.live().world()), drawn.view.kind, *place) - mouse_m,
          false};
}

void drag_held(Desk& desk, const DrawnView& drawn, const glm::dvec2& mouse_m) {
  if (!held.moved) {
    held.moved = true;
    desk.begin_drag(step_name(held.handle));
  }
  const auto place = place_of(desk, held.handle);
  if (!place) return;
  glm::dvec2 to = mouse_m + held.offset_m;
  if (ImGui::GetIO().KeyShift) to = snapped(to);
  move_thing(desk, held.handle, world_place(axes_of(desk.live().world()), drawn.view.kind, to, *place));
}

void zoom(DrawnView& drawn, double steps, const glm::dvec2& mouse_mm) {
  const glm::dvec2 before = from_paper(drawn.view, mouse_mm);
  drawn.view.mm_per_m = std::clamp(drawn.view.mm_per_m * std::exp2(steps / 3), 10.0, 3000.0);
  drawn.view.centre_m += before - from_paper(drawn.view, mouse_mm);
  drawn.dirty = true;
}

// At the foot of a pane, or at its head where the mouse is down there.
void tell(const std::string& text, ImVec2 low, ImVec2 high) {
  ImDrawList* list = ImGui::GetWindowDrawList();
  const float wrap = high.x - low.x - em(0.8f);
  const ImVec2 size = fonts().small->CalcTextSizeA(small_px * scale(), FLT_MAX, wrap, text.c_str());
  const float tall = size.y + em(0.5f);
  const float top = ImGui::GetIO().MousePos.y > high.y - tall - em(1) ? low.y : high.y - tall;
  list->AddRectFilled({low.x, top}, {high.x, top + tall}, IM_COL32(30, 30, 30, 235));
  list->AddText(fonts().small, small_px * scale(), {low.x + em(0.4f), top + em(0.25f)}, ink::plain,
                text.c_str(), nullptr, wrap);
}

void tell_place(Desk& desk, const std::string& handle, ImVec2 low, ImVec2 high) {
  const auto place = place_of(desk, handle);
  if (!place) return;
  const std::size_t colon = handle.find(':');
  tell((colon == std::string::npos ? handle : handle.substr(colon + 1)) + ": " +
           place_words(desk.live().world(), *place),
       low, high);
}

// The place that a drawing shows there in the slice of the map, which goes through the lamp.
std::optional<glm::dvec3> place_on_map(const Desk& desk, const View& view, const DrawnView& drawn,
                                       const glm::dvec2& mouse_m) {
  if (!view.map.on) return std::nullopt;
  const auto lamp = place_of(desk, "source:" + map_asked(desk, view).source);
  if (!lamp) return std::nullopt;
  return world_place(axes_of(desk.live().world()), drawn.view.kind, mouse_m, *lamp);
}

// At the right of the drawing's title.
void tell_map_state(const Desk& desk, ImVec2 low, ImVec2 high) {
  const std::string text = !desk.places().fault().empty()
                               ? "no map"
                               : fmt::format("map {:.0f} %", 100 * desk.places().share_done());
  const float width = fonts().small->CalcTextSizeA(small_px * scale(), FLT_MAX, 0, text.c_str()).x;
  ImGui::GetWindowDrawList()->AddText(fonts().small, small_px * scale(),
                                      {high.x - width - em(0.5f), low.y + em(0.3f)}, ink::accent,
                                      text.c_str());
}

// Draws the set anew where it, its paper or its map has changed.
void follow_set(Desk& desk, const View& view, DrawnView& drawn, double width_mm, double height_mm) {
  const World& world = desk.live().world();
  const PlaceMap* map = view.map.on ? desk.places().map() : nullptr;
  const std::uint64_t number = map ? desk.places().number() : 0;
  if (!drawn.fitted) {
    drawn.view = fitted_view(world, drawn.view.kind, width_mm, height_mm);
    drawn.fitted = drawn.dirty = true;
  }
  if (drawn.view.width_mm != width_mm || drawn.view.height_mm != height_mm ||
      drawn.version != desk.live().version() || drawn.map != number) {
    drawn.view.width_mm = width_mm;
    drawn.view.height_mm = height_mm;
    drawn.version = desk.live().version();
    drawn.map = number;
    drawn.dirty = true;
  }
  if (!std::exchange(drawn.dirty, false)) return;
  const SetOutlines& outlines = desk.live().outlines();
  const bool plan = drawn.view.kind == DrawingView::Kind::plan;
  drawn.drawing = set_drawing(world, plan ? outlines.plan : outlines.elevation, drawn.view, map);
}

}  // namespace

void drawing_pane(Desk& desk, View& view, DrawnView& drawn) {
  const bool plan = drawn.view.kind == DrawingView::Kind::plan;
  const std::string name = plan ? "plan" : "elevation";
  const ImVec2 corner = ImGui::GetCursorScreenPos(), size = ImGui::GetContentRegionAvail();
  const ImVec2 end(corner.x + size.x, corner.y + size.y);
  ImDrawList* list = ImGui::GetWindowDrawList();
  list->AddRectFilled(corner, end, ink::ground);
  name_place(name, corner, end);
  if (!desk.in_step() || size.x < em(3) || size.y < em(3)) return;
  const double px = static_cast<double>(pixels_per_mm()), width = static_cast<double>(size.x) / px,
               height = static_cast<double>(size.y) / px;
  follow_set(desk, view, drawn, width, height);

  ImGui::SetCursorScreenPos(corner);
  ImGui::InvisibleButton(name.c_str(), size,
                         ImGuiButtonFlags_MouseButtonLeft | ImGuiButtonFlags_MouseButtonMiddle);
  const bool hovered = ImGui::IsItemHovered(), active = ImGui::IsItemActive();
  const ImGuiIO& io = ImGui::GetIO();
  const glm::dvec2 mouse_mm(static_cast<double>(io.MousePos.x - corner.x) / px,
                            static_cast<double>(io.MousePos.y - corner.y) / px);
  const glm::dvec2 mouse_m = from_paper(drawn.view, mouse_mm);
  const std::string over = hovered && !ImGui::IsAnyMouseDown() ? handle_at(drawn.drawing, mouse_mm, 2.2)
                           : held.in == &drawn                 ? held.handle
                                                               : std::string();
  if (ImGui::IsItemActivated()) {
    const std::string handle = handle_at(drawn.drawing, mouse_mm, 2.2);
    pressed_handle = !handle.empty();
    if (!handle.empty() && io.MouseDown[0]) start_hold(desk, drawn, handle, mouse_m, view);
  }
  const bool drags = active && (io.MouseDelta.x != 0 || io.MouseDelta.y != 0);
  if (drags && held.in == &drawn) {
    drag_held(desk, drawn, mouse_m);
  } else if (drags && !dimension.open) {
    drawn.view.centre_m +=
        from_paper(drawn.view, {0, 0}) - from_paper(drawn.view, {static_cast<double>(io.MouseDelta.x) / px,
                                                                 static_cast<double>(io.MouseDelta.y) / px});
    drawn.dirty = true;
  }
  if (ImGui::IsItemDeactivated() && held.in == &drawn) {
    if (held.moved) desk.end_drag();
    held = {};
  }
  if (hovered && io.MouseWheel != 0) {
    if (over.starts_with("source:"))
      change_power(desk, over.substr(7), static_cast<double>(io.MouseWheel));
    else
      zoom(drawn, static_cast<double>(io.MouseWheel), mouse_mm);
  }
  // On the map a click means the lamp, so that Home alone fits.
  const auto on_map = hovered && over.empty() ? place_on_map(desk, view, drawn, mouse_m) : std::nullopt;
  constexpr float still_px = 3;
  if (on_map && ImGui::IsItemDeactivated() && ImGui::IsMouseReleased(0) && !pressed_handle &&
      io.MouseDragMaxDistanceSqr[0] < still_px * still_px)
    put_lamp_by_map(desk, view, *on_map);
  if (hovered && over.empty() && !view.map.on && ImGui::IsMouseDoubleClicked(0)) drawn.fitted = false;
  if (hovered && !over.empty())
    ImGui::SetMouseCursor(is_dimension(over) ? ImGuiMouseCursor_TextInput : ImGuiMouseCursor_Hand);

  list->PushClipRect(corner, end, true);
  const std::string lit = !over.empty()         ? over
                          : view.source.empty() ? std::string()
                                                : "source:" + view.source;
  paint(drawn.drawing, corner, lit);
  for (const Mark& mark : drawn.drawing.marks) {
    if (mark.handle.empty()) continue;
    const auto at = place_of(desk, mark.handle);
    if (!at) continue;
    const glm::dvec2 mm =
        to_paper(drawn.view, drawing_place(axes_of(desk.live().world()), drawn.view.kind, *at));
    const ImVec2 p(corner.x + static_cast<float>(mm.x * px), corner.y + static_cast<float>(mm.y * px));
    name_place(name + " " + mark.handle, p, p);
  }
  for (const Mark& mark : drawn.drawing.marks)
    if (const auto* text = std::get_if<Text>(&mark.shape); text && is_dimension(mark.handle)) {
      const Box box = box_of(*text);
      name_place(
          name + " " + mark.handle,
          {corner.x + static_cast<float>(box.low.x * px), corner.y + static_cast<float>(box.low.y * px)},
          {corner.x + static_cast<float>(box.high.x * px), corner.y + static_cast<float>(box.high.y * px)});
    }
  if (hovered || held.in == &drawn) tell_place(desk, over, corner, end);
  if (on_map && !ImGui::IsAnyMouseDown()) {
    view.map.there = words_of_place(desk, *on_map);
    if (!view.map.there.empty()) tell(view.map.there, corner, end);
  }
  if (view.map.on && !desk.places().current()) tell_map_state(desk, corner, end);
  list->PopClipRect();
  if (plan || held.in == &drawn || dimension.open || ImGui::IsPopupOpen("dimension")) type_over(desk);
}

void from_source_pane(Desk& desk, View& view) {
  const ImVec2 corner = ImGui::GetCursorScreenPos(), size = ImGui::GetContentRegionAvail();
  const ImVec2 end(corner.x + size.x, corner.y + size.y);
  ImDrawList* list = ImGui::GetWindowDrawList();
  list->AddRectFilled(corner, end, ink::ground);
  name_place("from the source", corner, end);
  ImGui::Dummy(size);
  if (!desk.in_step() || size.x < em(3) || size.y < em(3)) return;
  const World& world = desk.live().world();
  if (world.lamps.empty()) {
    const char* none = "No source yet: add a torch below.";
    list->AddText(fonts().small, small_px * scale(), {corner.x + em(0.5f), corner.y + em(1.8f)}, ink::soft,
                  none);
    return;
  }
  const std::size_t first = world.groups.size() - world.lamps.size();
  std::size_t lamp = 0;
  for (std::size_t i = 0; i < world.lamps.size(); ++i)
    if (world.groups[first + i].name == view.source) lamp = i;
  // The raster takes a tenth of a second: while something moves it waits for a pause.
  static Drawing drawing;
  static std::uint64_t version = 0;
  static std::size_t drawn_lamp = SIZE_MAX;
  static ImVec2 drawn_size{0, 0};
  static double changed_at = 0;
  static std::uint64_t seen_version = 0;
  const double now = ImGui::GetTime();
  if (seen_version != desk.live().version()) {
    seen_version = desk.live().version();
    changed_at = now;
  }
  const bool stale = version != desk.live().version() || drawn_lamp != lamp || drawn_size.x != size.x ||
                     drawn_size.y != size.y;
  if (stale && (now - changed_at > 0.15 || drawn_lamp == SIZE_MAX) && !desk.dragging()) {
    const double px = static_cast<double>(pixels_per_mm());
    drawing = from_source_drawing(world, static_cast<int>(lamp), static_cast<double>(size.x) / px,
                                  static_cast<double>(size.y) / px);
    version = desk.live().version();
    drawn_lamp = lamp;
    drawn_size = size;
  }
  list->PushClipRect(corner, end, true);
  paint(drawing, corner, {});
  list->PopClipRect();
}

}  // namespace undercap::window
