#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "engine/scene/loading.h"
#include "engine/scene/resolve.h"

namespace undercap {
namespace {

// Each block of a list with the words that messages call it by: its name, or its number while it has none.
std::vector<Loading::Block> blocks_of(const Loading& loading, const std::string& list) {
  std::vector<Loading::Block> blocks;
  const FileNode* node = loading.document.root.find(list);
  if (!node || node->type != FileNode::Type::array) return blocks;
  for (std::size_t i = 0; i < node->items.size(); ++i) {
    const FileNode& item = node->items[i];
    if (item.type != FileNode::Type::table) continue;
    const FileNode* name = item.find("name");
    const bool named = name && name->type == FileNode::Type::text && !name->text.empty();
    blocks.push_back({&item, fmt::format("{}.{}", list, named ? name->text : fmt::format("#{}", i + 1))});
  }
  return blocks;
}

void refuse_double_names(Loading& loading, const std::string& list,
                         const std::vector<Loading::Block>& blocks) {
  std::map<std::string_view, int> first_line;
  for (const Loading::Block& block : blocks) {
    const FileNode* name = block.node->find("name");
    if (!name || name->type != FileNode::Type::text) continue;
    const auto [first, is_new] = first_line.emplace(name->text, name->spot.line);
    if (!is_new)
      loading.faults.add(name->spot, {},
                         fmt::format("another {} is named \"{}\" (line {}); choose another name", list,
                                     name->text, first->second));
  }
}

std::string text_at(const FileNode& block, std::string_view key) {
  const FileNode* node = block.find(key);
  return node && node->type == FileNode::Type::text ? node->text : std::string();
}

bool is_word(std::string_view listed, std::string_view word) {
  const auto all = words(listed);
  return std::find(all.begin(), all.end(), word) != all.end();
}

void load_material(Loading& loading, const Loading::Block& block, const std::string& part,
                   const FileNode& node, Prop& prop) {
  MaterialChange& change = prop.materials[part];
  TableReader reader(&node, block.path + ".material." + part, rows_of("prop.material"), loading.faults);
  reader.read("of", change.of);
  reader.read("reflectance", change.reflectance);
  reader.read("transmittance", change.transmittance);
  reader.read("roughness", change.roughness);
  reader.read("mirror", change.mirror);
  reader.read("emission_cd_m2", change.emission_cd_m2);
  reader.read("wet", change.wet);
  reader.read("thickness_mm", change.thickness_mm);
  reader.read("pattern", change.pattern);
}

void load_materials(Loading& loading, const Loading::Block& block, Prop& prop) {
  const FileEntry* materials = block.node->entry("material");
  if (!materials) return;
  const std::string path = block.path + ".material";
  const auto refuse_shape = [&](const FileEntry& entry, const std::string& key) {
    loading.faults.add(entry.spot, {key},
                       fmt::format("{} is {}; allowed: blocks [prop.material.PART]", key,
                                   loading.document.shown(entry.value)));
  };
  if (materials->value.type != FileNode::Type::table) return refuse_shape(*materials, path);
  for (const FileEntry& entry : materials->value.entries) {
    const std::string fault = prop.kind ? fault_of_part(*prop.kind, entry.key) : "";
    if (entry.value.type != FileNode::Type::table)
      refuse_shape(entry, path + "." + entry.key);
    else if (!fault.empty())
      loading.faults.add(entry.spot, {}, fmt::format("{}.{}: {}", path, entry.key, fault));
    else
      load_material(loading, block, entry.key, entry.value, prop);
  }
}

// The absolute path of a file that the scene names; nothing, and a fault, when it may not be used.
std::optional<std::string> file_at(Loading& loading, const FileNode& node, const std::string& key) {
  const std::filesystem::path folder = std::filesystem::absolute(loading.document.file).parent_path();
  if (const auto fault = fault_of_path(node.text, folder)) {
    loading.faults.add(node.spot, {key},
                       fmt::format("{} is {}, {}", key, loading.document.shown(node), *fault));
    return std::nullopt;
  }
  return (folder / node.text).lexically_normal().string();
}

// The keys that the prop's kind alone has. File names become absolute paths.
void load_kind_values(Loading& loading, TableReader& reader, Prop& prop) {
  if (!prop.kind) return;
  // The preset comes first, since the defaults of the other keys are its.
  const FileNode* preset = prop.kind->presets.empty() ? nullptr : reader.value("preset");
  prop.values = default_values(*prop.kind, preset ? preset->text : std::string());
  for (const KeyRow& row : of_kind(*prop.kind)) {
    const FileNode* node = reader.value(row.name);
    if (!node) continue;
    KeyValue value = kind_value(row, *node);
    if (row.type == ValueType::text && row.name == "file") {
      const auto path = file_at(loading, *node, reader.key(row.name));
      if (!path) continue;
      value = *path;
    }
    prop.values.insert_or_assign(std::string(row.name), std::move(value));
  }
}

void refuse_unknown_kind(Loading& loading, const FileNode& node, const std::string& key) {
  std::vector<std::string_view> known;
  for (const Kind& kind : kinds()) known.push_back(kind.name);
  const std::string nearest = nearest_word(node.text, known);
  loading.faults.add(node.spot, {key},
                     fmt::format("{} is {}; {}allowed: {}", key, loading.document.shown(node),
                                 nearest.empty() ? "" : fmt::format("did you mean \"{}\"? ", nearest),
                                 fmt::join(known, ", ")));
}

void load_scatter(Loading& loading, const Loading::Block& block, const FileNode& node, Prop& prop) {
  Scatter& scatter = prop.scatter.emplace();
  TableReader reader(&node, block.path + ".scatter", rows_of("prop.scatter"), loading.faults);
  reader.read("count", scatter.count);
  reader.read("per_m2", scatter.per_m2);
  reader.read("radius_m", scatter.radius_m);
  reader.read("seed", scatter.seed);
  reader.read("size_spread", scatter.size_spread);
  reader.read("spacing_mm", scatter.spacing_mm);
}

void load_prop(Loading& loading, const Loading::Block& block) {
  Prop prop;
  prop.kind = kind_of(*block.node);
  prop.place = {loading.document.file, block.node->spot.line, block.node->spot.column};
  {
    TableReader reader(block.node, block.path, prop_rows(prop.kind), loading.faults,
                       {.subtables = {"material"}, .kind = prop.kind ? prop.kind->name : std::string_view()});
    reader.read("name", prop.name);
    if (const FileNode* kind = reader.value("kind"); kind && !prop.kind)
      refuse_unknown_kind(loading, *kind, reader.key("kind"));
    reader.read("on", prop.on);
    if (const FileNode* at = reader.value("at_m")) {
      prop.at_m = {at->items[0].number, at->items[1].number};
      if (at->items.size() == 3) prop.at_z_m = at->items[2].number;
    }
    reader.read("turn_deg", prop.turn_deg);
    reader.read("tilt_deg", prop.tilt_deg);
    reader.read("scale", prop.scale);
    reader.read("visible", prop.visible);
    reader.read("wet", prop.wet);
    reader.read("sway_mm", prop.sway_mm);
    reader.read("sway_hz", prop.sway_hz);
    reader.read("sway_deg", prop.sway_deg);
    reader.read("within", prop.within);
    reader.read("without", prop.without);
    if (const FileNode* scatter = reader.value("scatter")) load_scatter(loading, block, *scatter, prop);
    load_kind_values(loading, reader, prop);
  }
  load_materials(loading, block, prop);
  loading.scene.props.push_back(std::move(prop));
}

void load_variant(Loading& loading, const Loading::Block& block) {
  Variant variant;
  TableReader reader(block.node, block.path, rows_of("variant"), loading.faults);
  reader.read("name", variant.name);
  if (const FileNode* change = reader.value("change")) {
    std::vector<std::pair<std::string, const FileEntry*>> changes;
    list_changes(loading.document, *change, "", changes);
    constexpr std::size_t most = 256;
    if (changes.size() > most) {
      loading.faults.add(changes[most].second->spot, {},
                         fmt::format("{}: more than {} changes, which is the limit; save a scene of its own",
                                     reader.key("change"), most));
      changes.resize(most);
    }
    std::vector<ResolvedKey> seen;
    for (const auto& [key, entry] : changes) {
      const std::string opening = reader.key("change");
      auto resolved = resolve_key(loading.document, key);
      if (const std::string* fault = std::get_if<std::string>(&resolved)) {
        loading.faults.add(entry->spot, {}, fmt::format("{}: {}", opening, *fault));
        continue;
      }
      const ResolvedKey& to = std::get<ResolvedKey>(resolved);
      if (const auto fault = fault_of_edit(to))
        loading.faults.add(entry->spot, {}, fmt::format("{}: {}", opening, *fault));
      else if (const auto wrong = fault_of_value(loading.document, to.row, to.text, entry->value))
        loading.faults.add(entry->value.spot, {}, fmt::format("{}: {}", opening, *wrong));
      for (const ResolvedKey& other : seen)
        if (!to.row.group.empty() && other.row.group == to.row.group && other.table == to.table)
          loading.faults.add(entry->spot, {},
                             fmt::format("{}: {} and {} exclude each other; keep one of them", opening,
                                         to.text, other.text));
      seen.push_back(to);
      variant.change.emplace_back(to.text, std::string(loading.document.source(entry->value)));
    }
  }
  loading.scene.variants.push_back(std::move(variant));
}

void read_source(Loading& loading, TableReader& reader, Source& source) {
  reader.read("on", source.on);
  reader.read("position_m", source.position_m);
  reader.read("aim", source.aim);
  reader.read("flux_lm", source.flux_lm);
  reader.read("intensity_cd", source.intensity_cd);
  reader.read("beam_distance_m", source.beam_distance_m);
  reader.read("guide_number_m", source.guide_number_m);
  reader.read("power_pct", source.power_pct);
  reader.read("on_s", source.on_s);
  reader.read("beam_deg", source.beam_deg);
  reader.read("field_deg", source.field_deg);
  if (const FileNode* node = reader.value("beam_file"))
    source.beam_file = file_at(loading, *node, reader.key("beam_file")).value_or("");
  reader.read("roll_deg", source.roll_deg);
  reader.read("diameter_mm", source.diameter_mm);
  reader.read("size_mm", source.size_mm);
  reader.read("snoot_mm", source.snoot_mm);
  reader.read("cct_k", source.cct_k);
  reader.read("duv", source.duv);
  reader.read("gel_mired", source.gel_mired);
  reader.read("diffuser", source.diffuser);
  reader.read("diffuser_transmission", source.diffuser_transmission);
}

}  // namespace

void load_sources(Loading& loading) {
  const auto blocks = blocks_of(loading, "source");
  refuse_double_names(loading, "source", blocks);
  const auto rows = rows_of("source");
  for (const Loading::Block& block : blocks) {
    Source source;
    const std::string kind = text_at(*block.node, "kind");
    const bool known = is_word(find_row(rows, "kind")->choices, kind);
    {
      TableReader reader(block.node, block.path, rows, loading.faults,
                         {.kind = known ? std::string_view(kind) : ""});
      reader.read("name", source.name);
      reader.read_choice("kind", source.kind);
      read_source(loading, reader, source);
    }
    loading.scene.sources.push_back(std::move(source));
    loading.sources.push_back(block);
  }
}

void load_props(Loading& loading) {
  loading.props = blocks_of(loading, "prop");
  refuse_double_names(loading, "prop", loading.props);
  for (const Loading::Block& block : loading.props) load_prop(loading, block);
  // What grows on a hidden prop goes with it. Hosts stand further up, so that one pass is enough.
  auto& props = loading.scene.props;
  for (auto prop = props.begin(); prop != props.end(); ++prop)
    for (auto host = props.begin(); host != prop; ++host)
      if (!prop->on.empty() && host->name == prop->on) prop->visible = prop->visible && host->visible;
}

void load_meters(Loading& loading) {
  loading.meters = blocks_of(loading, "meter");
  refuse_double_names(loading, "meter", loading.meters);
  const auto rows = rows_of("meter");
  for (const Loading::Block& block : loading.meters) {
    Meter meter;
    const std::string kind = text_at(*block.node, "kind");
    const bool known = is_word(find_row(rows, "kind")->choices, kind);
    TableReader reader(block.node, block.path, rows, loading.faults,
                       {.kind = known ? std::string_view(kind) : ""});
    reader.read("name", meter.name);
    reader.read_choice("kind", meter.kind);
    reader.read("position_m", meter.position_m);
    reader.read("normal", meter.normal);
    reader.read("at", meter.at);
    reader.read("diameter_pct", meter.diameter_pct);
    loading.scene.meters.push_back(std::move(meter));
  }
}

void load_variants(Loading& loading) {
  const auto blocks = blocks_of(loading, "variant");
  refuse_double_names(loading, "variant", blocks);
  for (const Loading::Block& block : blocks) load_variant(loading, block);
}

}  // namespace undercap
