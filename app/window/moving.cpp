// Moving things by hand, whatever pane they are taken hold of in.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "app/window/panes.h"

namespace undercap::window {
namespace {

const Source* find_source(const Scene& scene, const std::string& name) {
  for (const Source& source : scene.sources)
    if (source.name == name) return &source;
  return nullptr;
}

const Prop* find_prop(const Scene& scene, const std::string& name) {
  for (const Prop& prop : scene.props)
    if (prop.name == name) return &prop;
  return nullptr;
}

// "source" and "torch" of "source:torch".
std::pair<std::string, std::string> parts_of_handle(const std::string& handle) {
  const std::size_t colon = handle.find(':');
  if (colon == std::string::npos) return {handle, {}};
  return {handle.substr(0, colon), handle.substr(colon + 1)};
}

}  // namespace

std::optional<glm::dvec3> place_of(const Desk& desk, const std::string& handle) {
  const auto [kind, name] = parts_of_handle(handle);
  const World& world = desk.live().world();
  const Scene& scene = desk.scene();
  if (kind == "camera") return world.camera.pupil_m;
  if (kind == "focus") return world.camera.focus_point_m;
  if (kind == "look_at") {
    if (const auto* point = scene.camera.look_at ? std::get_if<glm::dvec3>(&*scene.camera.look_at) : nullptr)
      return *point;
    return world.camera.pupil_m + world.camera.forward * world.camera.pupil_distance.value();
  }
  if (kind == "source")
    if (const Source* source = find_source(scene, name)) return source->position_m;
  if (kind == "aim")
    if (const Source* source = find_source(scene, name)) {
      if (const auto* point = std::get_if<glm::dvec3>(&source->aim)) return *point;
      if (const auto* address = std::get_if<Address>(&source->aim);
          address && address->of == Address::Of::prop)
        return centroid(world, parts_of(world, *address));
    }
  if (kind == "meter")
    for (const Meter& meter : scene.meters)
      if (meter.name == name && meter.kind == Meter::Kind::incident) return meter.position_m;
  if (kind == "prop")
    if (const Prop* prop = find_prop(scene, name))
      return glm::dvec3(prop->at_m[0], prop->at_m[1], prop->at_z_m.value_or(0));
  return std::nullopt;
}

std::string step_name(const std::string& handle) {
  const auto [kind, name] = parts_of_handle(handle);
  if (kind == "aim") return "Aim " + name;
  if (kind == "look_at") return "Turn camera";
  if (kind == "focus") return "Focus";
  return "Move " + (name.empty() ? kind : name);
}

void move_thing(Desk& desk, const std::string& handle, const glm::dvec3& place_m) {
  const auto [kind, name] = parts_of_handle(handle);
  const std::string step = step_name(handle);
  if (kind == "source") desk.set(fmt::format("source.{}.position_m", name), toml(place_m), step);
  if (kind == "aim") desk.set(fmt::format("source.{}.aim", name), toml(place_m), step);
  if (kind == "meter") desk.set(fmt::format("meter.{}.position_m", name), toml(place_m), step);
  if (kind == "look_at") desk.set("camera.look_at", toml(place_m), step);
  if (kind == "focus") {
    std::vector<Edit> edits;
    // A magnification would have moved the camera along its axis: it stays where it stands.
    if (desk.scene().camera.magnification)
      edits.push_back({"camera.position_m", toml(desk.live().world().camera.pupil_m)});
    edits.push_back({"camera.focus", toml(place_m)});
    desk.change(edits, step);
  }
  if (kind == "camera") desk.set("camera.position_m", toml(place_m), step);
  if (kind == "prop") {
    const Prop* prop = find_prop(desk.scene(), name);
    if (!prop) return;
    const auto r = [](double v) { return std::round(v * 1e4) / 1e4 + 0.0; };
    desk.set(fmt::format("prop.{}.at_m", name),
             prop->at_z_m ? toml(place_m) : fmt::format("[{:.6g}, {:.6g}]", r(place_m.x), r(place_m.y)),
             step);
  }
}

void hide_part(Desk& desk, const WorldPart& part) {
  const Prop* prop = find_prop(desk.scene(), part.prop);
  if (!prop) return;
  if (const auto found = prop->values.find("hidden"); found != prop->values.end() && part.part == "leaf") {
    std::string leaves;
    for (const auto& row : std::get<Rows>(found->second))
      leaves += fmt::format("{}{:.0f}", leaves.empty() ? "" : ", ", row[0]);
    leaves += fmt::format("{}{}", leaves.empty() ? "" : ", ", part.individual);
    desk.set(fmt::format("prop.{}.hidden", prop->name), "[" + leaves + "]",
             fmt::format("Take a leaf of {} away", prop->name));
    return;
  }
  desk.set(fmt::format("prop.{}.visible", prop->name), "false", "Hide " + prop->name);
}

void change_power(Desk& desk, const std::string& source, double thirds) {
  const Source* found = find_source(desk.scene(), source);
  if (!found) return;
  const double power = std::clamp(found->power_pct * std::exp2(thirds / 3), 0.1, 100.0);
  desk.set(fmt::format("source.{}.power_pct", source), toml(std::round(power * 100) / 100),
           fmt::format("Power of {}", source));
}

}  // namespace undercap::window
