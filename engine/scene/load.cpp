#include "engine/scene/load.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/core/files.h"
#include "engine/scene/loading.h"

namespace undercap {
namespace {

constexpr std::size_t largest_scene_bytes = 4'000'000;

// Every source has a film of its own and every meter a run of its own, so their number costs memory and time.
std::size_t most_blocks(std::string_view list) { return list == "source" ? 64 : list == "prop" ? 4096 : 256; }

void load_top(Loading& loading) {
  std::vector<std::string_view> tables;
  for (const TableRow& table : table_rows()) tables.push_back(table.name);
  TableReader top(&loading.document.root, "", rows_of(""), loading.faults, {.subtables = tables});
  int version = 0;
  top.read("undercap", version);
  top.read("title", loading.scene.title);
  top.read("note", loading.scene.note);
}

// Tables are tables and lists are lists; what is neither is reported here and not read.
void check_shapes(Loading& loading) {
  for (const TableRow& table : table_rows()) {
    const FileEntry* entry = loading.document.root.entry(table.name);
    if (!entry) continue;
    const FileNode& node = entry->value;
    const auto is_table = [](const FileNode& n) { return n.type == FileNode::Type::table; };
    const bool good = table.list ? node.type == FileNode::Type::array &&
                                       std::all_of(node.items.begin(), node.items.end(), is_table)
                                 : is_table(node);
    if (good) continue;
    const bool doubled =
        !table.list && node.type == FileNode::Type::array && !node.items.empty() && is_table(node.items[0]);
    const std::string shown = doubled ? "a list of tables" : loading.document.shown(node);
    loading.faults.add(
        entry->spot, {std::string(table.name)},
        table.list
            ? fmt::format("{} is {}; allowed: blocks that begin with [[{}]]", table.name, shown, table.name)
            : fmt::format("{} is {}; allowed: one table [{}]", table.name, shown, table.name));
  }
}

const FileNode* table_node(const Loading& loading, std::string_view name) {
  const FileNode* node = loading.document.root.find(name);
  return node && node->type == FileNode::Type::table ? node : nullptr;
}

void load_light(Loading& loading) {
  Scene& scene = loading.scene;
  TableReader place(table_node(loading, "place"), "place", rows_of("place"), loading.faults);
  place.read("latitude_deg", scene.place.latitude_deg);
  place.read("longitude_deg", scene.place.longitude_deg);
  place.read("time", scene.place.time);

  TableReader sky(table_node(loading, "sky"), "sky", rows_of("sky"), loading.faults);
  sky.read_choice("model", scene.sky.model);
  sky.read("type", scene.sky.type);
  sky.read("horizontal_lx", scene.sky.horizontal_lx);
  if (const FileNode* card = sky.value("grey_card")) {
    scene.sky.grey_card = Sky::GreyCard{};
    TableReader reader(card, "sky.grey_card", rows_of("sky.grey_card"), loading.faults);
    reader.read("f_number", scene.sky.grey_card->f_number);
    reader.read("shutter_s", scene.sky.grey_card->shutter_s);
    reader.read("iso", scene.sky.grey_card->iso);
  }
  sky.read("cct_k", scene.sky.cct_k);

  TableReader sun(table_node(loading, "sun"), "sun", rows_of("sun"), loading.faults);
  sun.read("on", scene.sun.on);
  sun.read("normal_lx", scene.sun.normal_lx);
  sun.read_choice("availability", scene.sun.availability);
  sun.read("turbidity", scene.sun.turbidity);
  sun.read("azimuth_deg", scene.sun.azimuth_deg);
  sun.read("elevation_deg", scene.sun.elevation_deg);

  TableReader canopy(table_node(loading, "canopy"), "canopy", rows_of("canopy"), loading.faults);
  canopy.read("leaf_area_index", scene.canopy.leaf_area_index);
  canopy.read("clumping", scene.canopy.clumping);
  canopy.read_choice("leaf", scene.canopy.leaf);
  canopy.read("height_m", scene.canopy.height_m);
  canopy.read("gap_deg", scene.canopy.gap_deg);
  canopy.read("seed", scene.canopy.seed);

  TableReader ground(table_node(loading, "ground"), "ground", rows_of("ground"), loading.faults);
  ground.read_choice("kind", scene.ground.kind);
  ground.read("size_m", scene.ground.size_m);
  ground.read("reflectance", scene.ground.reflectance);
  ground.read("wet", scene.ground.wet);
  ground.read("relief_mm", scene.ground.relief_mm);
  ground.read("seed", scene.ground.seed);
}

void load_camera(Loading& loading) {
  Camera& camera = loading.scene.camera;
  TableReader reader(table_node(loading, "camera"), "camera", rows_of("camera"), loading.faults);
  reader.read("format_mm", camera.format_mm);
  reader.read("focal_length_mm", camera.focal_length_mm);
  reader.read("f_number", camera.f_number);
  reader.read("pupil_magnification", camera.pupil_magnification);
  reader.read("principal_separation_mm", camera.principal_separation_mm);
  reader.read("transmission", camera.transmission);
  reader.read("converter", camera.converter);
  reader.read("nd_stops", camera.nd_stops);
  reader.read("polariser_deg", camera.polariser_deg);
  reader.read("polariser_stops", camera.polariser_stops);
  reader.read("blades", camera.blades);
  reader.read("blade_curvature", camera.blade_curvature);
  reader.read("blade_turn_deg", camera.blade_turn_deg);
  reader.read("position_m", camera.position_m);
  reader.read("look_at", camera.look_at);
  reader.read("roll_deg", camera.roll_deg);
  reader.read("focus", camera.focus);
  reader.read("focus_distance_m", camera.focus_distance_m);
  reader.read("magnification", camera.magnification);
  reader.read("minimum_focus_m", camera.minimum_focus_m);
  reader.read("largest_magnification", camera.largest_magnification);
  reader.read("rim_diameter_mm", camera.rim_diameter_mm);
  reader.read("rim_ahead_mm", camera.rim_ahead_mm);
  reader.read_choice("fall_off", camera.fall_off);
  reader.read("spherical_waves", camera.spherical_waves);
  reader.read("circle_of_confusion_mm", camera.circle_of_confusion_mm);
  reader.read_choice("coc_rule", camera.coc_rule);
  reader.read("front_diameter_mm", camera.front_diameter_mm);
  reader.read("barrel_mm", camera.barrel_mm);
  reader.read("front_ahead_mm", camera.front_ahead_mm);
  reader.read("body_shade", camera.body_shade);
  reader.read_choice("support", camera.support);
  reader.read("lowest_axis_m", camera.lowest_axis_m);
  reader.read("stabiliser_stops", camera.stabiliser_stops);

  TableReader sensor(table_node(loading, "sensor"), "sensor", rows_of("sensor"), loading.faults);
  sensor.read("pixel_pitch_um", loading.scene.sensor.pixel_pitch_um);
  sensor.read("read_noise_e", loading.scene.sensor.read_noise_e);
  sensor.read("dark_current_e_s", loading.scene.sensor.dark_current_e_s);
  sensor.read("prnu_pct", loading.scene.sensor.prnu_pct);
}

void load_exposure(Loading& loading) {
  Scene& scene = loading.scene;
  Exposure& exposure = scene.exposure;
  TableReader reader(table_node(loading, "exposure"), "exposure", rows_of("exposure"), loading.faults);
  reader.read("iso", exposure.iso);
  reader.read("shutter_s", exposure.shutter_s);
  reader.read("meter_on", exposure.meter_on);
  reader.read("compensation_stops", exposure.compensation_stops);
  reader.read("white_balance_k", exposure.white_balance_k);
  reader.read("noise", exposure.noise);
  reader.read("diffraction", exposure.diffraction);
  reader.read_choice("tone", exposure.tone);
  reader.read("hand_rule", exposure.hand_rule);

  TableReader stack(table_node(loading, "stack"), "stack", rows_of("stack"), loading.faults);
  stack.read("overlap", scene.stack.overlap);
  stack.read("pause_s", scene.stack.pause_s);

  TableReader render(table_node(loading, "render"), "render", rows_of("render"), loading.faults);
  render.read("seed", scene.seed);

  TableReader subject(table_node(loading, "subject"), "subject", rows_of("subject"), loading.faults);
  subject.read("parts", scene.subject.parts);
  subject.read("backdrop", scene.subject.backdrop);
}

void load_taken(Loading& loading) {
  Taken& taken = loading.scene.taken;
  TableReader reader(table_node(loading, "taken"), "taken", rows_of("taken"), loading.faults);
  reader.read("f_number", taken.f_number);
  reader.read("shutter_s", taken.shutter_s);
  reader.read("iso", taken.iso);
  reader.read("lamp", taken.lamp);
  reader.read("lamp_distance_m", taken.lamp_distance_m);
  if (const FileNode* time = reader.value("time")) taken.time = time->moment;
}

void note_places(Loading& loading) {
  const auto note = [&](const FileNode& table, const std::string& path) {
    for (const FileEntry& entry : table.entries)
      loading.scene.places[path + "." + entry.key] = {loading.document.file, entry.value.spot.line,
                                                      entry.value.spot.column};
  };
  for (const char* table : {"sky", "camera", "exposure", "subject", "taken"})
    if (const FileNode* node = table_node(loading, table)) note(*node, table);
  for (const Loading::Block& block : loading.sources) note(*block.node, block.path);
}

Scene load(const Document& document, Faults& faults, const std::string& file) {
  Loading loading{document, faults, {}, {}, {}, {}};
  loading.scene.file = file;
  load_top(loading);
  check_shapes(loading);
  load_light(loading);
  load_camera(loading);
  load_exposure(loading);
  load_taken(loading);
  load_sources(loading);
  load_props(loading);
  load_meters(loading);
  load_variants(loading);
  check_scene(loading);
  note_places(loading);
  return std::move(loading.scene);
}

}  // namespace

Document open_document(const std::string& text, const std::string& file) {
  Document document = parse_document(text, file);
  const FileEntry* version = document.root.entry("undercap");
  if (version && version->value.type == FileNode::Type::integer && version->value.number > 1)
    throw refusal_at(
        file, version->value.spot,
        fmt::format("made by a newer Undercap: the format is {} and this version reads 1; install a newer "
                    "version",
                    document.shown(version->value)));
  if (document.root.entries.empty())
    throw refusal_at(file, {1, 1}, "the file says nothing; a scene begins with the line 'undercap = 1'");
  for (const TableRow& table : table_rows()) {
    const FileNode* list = table.list ? document.root.find(table.name) : nullptr;
    const std::size_t most = most_blocks(table.name);
    if (list && list->items.size() > most)
      throw refusal_at(
          file, list->items[most].spot,
          fmt::format("more than {} blocks [[{}]], which is the limit; take some out", most, table.name));
  }
  return document;
}

SceneFile SceneFile::open(const std::filesystem::path& file) {
  return from_text(read_file(file, largest_scene_bytes), file);
}

SceneFile SceneFile::from_text(std::string text, std::filesystem::path file) {
  SceneFile scene_file;
  scene_file.text_ = std::move(text);
  scene_file.file_ = std::move(file);
  return scene_file;
}

Scene SceneFile::scene() const {
  const Document document = open_document(text_, file_.string());
  Faults faults(document);
  Scene scene = load(document, faults, file_.string());
  if (faults.all().empty()) {
    // Edits may have added or removed lines; people see the file as it was read.
    for (Prop& prop : scene.props) prop.place.line = lines_.in_file(prop.place.line);
    for (auto& [key, place] : scene.places) place.line = lines_.in_file(place.line);
    for (const AppliedEdit& edit : edits_)
      if (const auto place = scene.places.find(edit.key); place != scene.places.end())
        place->second = {fmt::format("{} {}={}", edit.origin, edit.key, edit.value), 0, 0};
    return scene;
  }
  std::vector<Fault> told;
  for (const KeyFault& fault : faults.all()) {
    // A fault that an edit causes has no place in the file that people see.
    const auto edit = std::find_if(edits_.rbegin(), edits_.rend(), [&](const AppliedEdit& e) {
      return std::find(fault.keys.begin(), fault.keys.end(), e.key) != fault.keys.end();
    });
    Fault& line = told.emplace_back();
    line.message = fault.message;
    if (edit != edits_.rend())
      line.message = fmt::format("{} {}={}: {}", edit->origin, edit->key, edit->value, fault.message);
    else
      line.place = {file_.string(), lines_.in_file(fault.spot.line), fault.spot.column};
  }
  std::stable_sort(told.begin(), told.end(), [](const Fault& a, const Fault& b) {
    return std::pair(a.place.line, a.place.column) < std::pair(b.place.line, b.place.column);
  });
  if (faults.left_out() > 0) {
    Fault& rest = told.emplace_back();
    rest.place.file = file_.string();
    rest.message = fmt::format("and {} more faults; mend these first", faults.left_out());
  }
  throw Refusal(std::move(told));
}

}  // namespace undercap
