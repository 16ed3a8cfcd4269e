#include "app/window/watch.h"

#include <nlohmann/json.hpp>

#include "app/window/widgets.h"
#include "engine/core/files.h"

namespace undercap::window {
namespace {

nlohmann::ordered_json told(const SideBySide& how, const SideBySidePane& pane) {
  nlohmann::ordered_json pictures = nlohmann::ordered_json::array();
  for (const Side& side : pane.sides()) {
    nlohmann::ordered_json rows = nlohmann::ordered_json::object();
    for (const SheetRow& row : side.rows) rows[row.label] = row.value;
    pictures.push_back({{"name", side.name},
                        {"differs", side.differs},
                        {"state", side.state},
                        {"current", side.current},
                        {"samples", side.shown.samples},
                        {"width", side.shown.width},
                        {"height", side.shown.height},
                        {"rows", rows}});
  }
  return {{"on", how.on},
          {"zoom", how.zoom},
          {"middle", {how.middle.x, how.middle.y}},
          {"chosen", how.chosen},
          {"pictures", pictures}};
}

}  // namespace

void Watch::write(const Desk& desk, const View& view, const PlacesWindow& places,
                  const SideBySidePane& side_by_side, const Times& times) {
  const auto now = std::chrono::steady_clock::now();
  if (now - last_ < std::chrono::milliseconds(100)) return;
  last_ = now;
  nlohmann::ordered_json all{{"count", ++count_},
                             {"interface_ms", times.interface_ms},
                             {"drawn_ms", times.drawn_ms},
                             {"frame_ms", times.frame_ms},
                             {"worst_ms", times.worst_ms}};
  all["vertices"] = ImGui::GetIO().MetricsRenderVertices;
  all["frames"] = ImGui::GetFrameCount();
  all["typing"] = ImGui::GetIO().WantTextInput;  // a box has the keys
  all["open"] = desk.open();
  if (desk.open()) {
    all["file"] = desk.edited().path().string();
    all["unsaved"] = desk.edited().unsaved();
    all["undo"] = desk.edited().undo_name().value_or("");
    all["redo"] = desk.edited().redo_name().value_or("");
  }
  const Live& live = desk.live();
  const ShownPicture& shown = live.picture().shown();
  all["ready"] = desk.in_step();
  all["building"] = live.building();
  all["samples"] = shown.samples;
  all["traced"] = live.picture().samples();
  all["full"] = shown.full;
  all["width"] = shown.width;
  all["height"] = shown.height;
  all["readings_current"] = live.readings().current();
  all["readings_done"] = live.readings().done();
  all["dragging"] = desk.dragging();
  all["source"] = view.source;
  all["raw"] = view.raw;
  all["map"] = {{"on", view.map.on},
                {"current", desk.places().current()},
                {"number", desk.places().number()},
                {"fault", desk.places().fault()},
                {"here", view.map.on ? view.map.here : ""},
                {"there", view.map.there}};
  all["places"] = {{"searching", places.searching()}, {"offers", places.offers()}};
  all["side_by_side"] = told(view.side_by_side, side_by_side);
  nlohmann::ordered_json readings = nlohmann::ordered_json::object();
  for (const Reading& reading : live.readings().readings()) {
    if (const auto* number = std::get_if<double>(&reading.value)) readings[reading.name] = *number;
    if (const auto* text = std::get_if<std::string>(&reading.value)) readings[reading.name] = *text;
  }
  all["readings"] = readings;
  nlohmann::ordered_json messages = nlohmann::ordered_json::array();
  for (const Message& message : desk.messages()) messages.push_back(message.text);
  all["messages"] = messages;
  nlohmann::ordered_json things = nlohmann::ordered_json::object();
  for (const auto& [name, place] : named_things())
    things[name] = {place.low.x, place.low.y, place.high.x, place.high.y};
  all["things"] = things;
  write_file(file_, all.dump(1) + "\n", true);
}

}  // namespace undercap::window
