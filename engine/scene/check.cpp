// What no single value shows: addresses, pairs of keys, whole materials.
#include <fmt/format.h>

#include <algorithm>

#include "engine/scene/loading.h"
#include "engine/scene/resolve.h"
#include "engine/surface/materials.h"

namespace undercap {
namespace {

// What an address may stand for where it stands.
enum class Use {
  place,    // a point in the world is needed
  surface,  // a prop or its part
  reading   // a surface or a spot of the picture
};

template <class Named>
const Named* by_name(const std::vector<Named>& all, std::string_view name) {
  const auto found = std::find_if(all.begin(), all.end(), [&](const Named& one) { return one.name == name; });
  return found == all.end() ? nullptr : &*found;
}

template <class Named>
std::string names_of(const std::vector<Named>& all) {
  std::string names;
  for (const Named& one : all)
    if (!one.name.empty()) names += (names.empty() ? "" : ", ") + one.name;
  return names.empty() ? "none" : names;
}

std::string suggested_material(std::string_view wanted) {
  std::vector<std::string_view> names;
  for (const MaterialRow& row : material_table()) names.push_back(row.name);
  const std::string nearest = nearest_word(wanted, names);
  return nearest.empty() ? "" : fmt::format(" (did you mean {}?)", toml_quoted(nearest));
}

// Empty when a part may be of the thickness that the scene gives.
std::string fault_of_thickness(const MaterialChange& change, const MaterialRow* row, bool open_sheet) {
  if (!open_sheet) return "is for open sheets; this part is a closed shape, which is solid";
  if (change.reflectance || change.transmittance || change.mirror)
    return "works on a material of the table; leave out reflectance, transmittance and mirror beside it";
  if (!row) return "needs a material of the table: give 'of' beside it";
  if (row->thickness_mm <= 0)
    return fmt::format("needs a material that is a sheet; \"{}\" is a solid", row->name);
  return {};
}

std::optional<std::string> fault_of_prop_address(const Scene& scene, const Address& address) {
  const Prop* prop = by_name(scene.props, address.name);
  if (!prop) {
    std::vector<std::string_view> names;
    for (const Prop& one : scene.props) names.push_back(one.name);
    const std::string nearest = nearest_word(address.name, names);
    return fmt::format("there is no prop \"{}\"; {}props: {}", address.name,
                       nearest.empty() ? "" : fmt::format("did you mean \"{}\"? ", nearest),
                       names_of(scene.props));
  }
  if (!prop->kind) return std::nullopt;
  if (!address.part.empty())
    if (const std::string fault = fault_of_part(*prop->kind, address.part); !fault.empty()) return fault;
  const auto count = prop->values.find("count");
  const double* counted = count == prop->values.end() ? nullptr : std::get_if<double>(&count->second);
  // How many a kind that spreads has, shows only when it is built.
  if (prop->kind->spreads) return std::nullopt;
  const double individuals = (counted ? *counted : 1) * (prop->scatter ? prop->scatter->wanted() : 1);
  if (address.individual > individuals)
    return fmt::format("\"{}\" has {} individual{}", address.name, individuals, individuals == 1 ? "" : "s");
  return std::nullopt;
}

std::optional<std::string> fault_of_address(const Scene& scene, const Address& address, Use use) {
  if (address.of == Address::Of::prop) return fault_of_prop_address(scene, address);
  if (address.of == Address::Of::source) {
    if (!by_name(scene.sources, address.name))
      return fmt::format("there is no source \"{}\"; sources: {}", address.name, names_of(scene.sources));
    if (use != Use::place) return "a source is not a surface; name a prop or a part";
    return std::nullopt;
  }
  const Meter* meter = by_name(scene.meters, address.name);
  if (!meter)
    return fmt::format("there is no meter \"{}\"; meters: {}", address.name, names_of(scene.meters));
  const bool spot = meter->kind == Meter::Kind::spot;
  if (use == Use::place && spot)
    return "a spot meter has no place in the scene; name a prop, a part or a point";
  if (use == Use::surface) return "a meter is not a surface; name a prop or a part";
  if (use == Use::reading && !spot)
    return "an incident meter is not in the picture; name a part or a spot meter";
  return std::nullopt;
}

class Checker {
 public:
  explicit Checker(Loading& loading) : loading_(loading), scene_(loading.scene) {}

  void address(const FileNode& node, const std::string& key, const Address& address, Use use) {
    if (const auto fault = fault_of_address(scene_, address, use))
      add(node, {key}, fmt::format("{} is {}: {}", key, toml_quoted(address.text()), *fault));
  }

  void target(const FileNode& node, const std::string& key, const Target& target, const glm::dvec3& from,
              const std::string& from_key) {
    if (const Address* to = std::get_if<Address>(&target)) return address(node, key, *to, Use::place);
    if (std::get<glm::dvec3>(target) == from && !loading_.faults.concern(from_key))
      add(node, {key, from_key},
          fmt::format("{} is the same point as {}; a direction needs two points", key, from_key));
  }

  void camera();
  void sky();
  void sun();
  void exposure();
  void subject();
  void sources();
  void source(const Loading::Block& block, const Source& source);
  void materials();
  void placing();
  void taken();

 private:
  void add(const FileNode& node, std::vector<std::string> keys, std::string message) {
    loading_.faults.add(node.spot, std::move(keys), std::move(message));
  }
  const FileNode* find(const TextPath& path) const { return loading_.document.find(path); }
  // The value of a key that is there and at no fault so far.
  const FileNode* good(const std::string& table, const std::string& name) const {
    const FileNode* block = loading_.document.root.find(table);
    const FileNode* node = block ? block->find(name) : nullptr;
    return node && !loading_.faults.concern(table + "." + name) ? node : nullptr;
  }
  void part(const Loading::Block& block, const Prop& prop, const std::string& name,
            const MaterialChange& change);
  void host(const Loading::Block& block, std::size_t number);
  void scatter(const Loading::Block& block, const Prop& prop);

  Loading& loading_;
  const Scene& scene_;
};

void Checker::camera() {
  const Camera& camera = scene_.camera;
  if (const FileNode* node = good("camera", "look_at"))
    target(*node, "camera.look_at", *camera.look_at, camera.position_m, "camera.position_m");
  if (const FileNode* node = good("camera", "focus"))
    target(*node, "camera.focus", *camera.focus, camera.position_m, "camera.position_m");
  if (const FileNode* node = good("camera", "blades"); node && (camera.blades == 1 || camera.blades == 2))
    add(*node, {"camera.blades"},
        fmt::format("camera.blades is {}; allowed: {}", camera.blades,
                    allowed_text(*find_row(rows_of("camera"), "blades"))));
  const FileNode* distance = good("camera", "focus_distance_m");
  if (!distance || loading_.faults.concern("camera.focal_length_mm") ||
      loading_.faults.concern("camera.principal_separation_mm"))
    return;
  // A lens that shortens comes nearer than its marked focal length can; the world knows how near.
  if (camera.minimum_focus_m && camera.largest_magnification) return;
  // T = f (2 + m + 1/m) + separation is least at m = 1, where it is 4 f + separation.
  const double least_m = (4 * camera.focal_length_mm + camera.principal_separation_mm) * 1e-3;
  if (*camera.focus_distance_m < least_m)
    add(*distance, {"camera.focus_distance_m", "camera.focal_length_mm", "camera.principal_separation_mm"},
        fmt::format(
            "camera.focus_distance_m is {}; allowed: at least {:.6g} m, which is 4 focal lengths and the "
            "separation of the principal planes (scale 1); for a larger scale set camera.magnification",
            *camera.focus_distance_m, least_m));
}

void Checker::sky() {
  const FileNode* type = good("sky", "type");
  if (!type || loading_.faults.concern("sky.model") || scene_.sky.model == Sky::Model::general) return;
  const FileNode* model = find({"sky", "model"});
  add(*type, {"sky.type", "sky.model"},
      fmt::format("sky.type is {} and sky.model is {}; a type needs sky.model = \"general\"", scene_.sky.type,
                  model ? loading_.document.shown(*model) : "\"overcast\""));
}

void Checker::sun() {
  const FileNode* table = find({"sun"});
  if (!table) return;
  const FileNode* azimuth = table->find("azimuth_deg");
  const FileNode* elevation = table->find("elevation_deg");
  if (bool(azimuth) == bool(elevation)) return;
  const std::string given = azimuth ? "sun.azimuth_deg" : "sun.elevation_deg";
  const std::string missing = azimuth ? "sun.elevation_deg" : "sun.azimuth_deg";
  add(azimuth ? *azimuth : *elevation, {given},
      fmt::format("{} stands without {}; give both, or none for the true sun", given, missing));
}

void Checker::exposure() {
  if (const FileNode* node = good("exposure", "meter_on"); node && scene_.exposure.meter_on)
    address(*node, "exposure.meter_on", *scene_.exposure.meter_on, Use::reading);
}

void Checker::subject() {
  const auto check = [&](const std::string& name, const std::vector<Address>& addresses) {
    const FileNode* node = good("subject", name);
    for (std::size_t i = 0; node && i < addresses.size(); ++i)
      address(node->items[i], "subject." + name, addresses[i], Use::surface);
  };
  check("parts", scene_.subject.parts);
  check("backdrop", scene_.subject.backdrop);
}

void Checker::source(const Loading::Block& block, const Source& source) {
  const auto key = [&](const char* name) { return fmt::format("{}.{}", block.path, name); };
  const auto value = [&](const char* name) {
    const FileNode* node = block.node->find(name);
    return node && !loading_.faults.concern(key(name)) ? node : nullptr;
  };
  if (const FileNode* field = value("field_deg"); field && block.node->find("beam_file"))
    add(*field, {key("field_deg"), key("beam_file")},
        fmt::format("{} and {} exclude each other; keep one of them", key("field_deg"), key("beam_file")));
  else if (field && !loading_.faults.concern(key("beam_deg")) && *source.field_deg <= source.beam_deg)
    add(*field, {key("field_deg"), key("beam_deg")},
        fmt::format(
            "{} is {}; allowed: above {} up to 179 deg, since the beam at half its peak is {} deg wide",
            key("field_deg"), *source.field_deg, source.beam_deg, source.beam_deg));
  if (const FileNode* gel = value("gel_mired"); gel && !loading_.faults.concern(key("cct_k"))) {
    // The Planck locus is served from 1667 to 25000 K.
    const double coolest = 1e6 / 25000, warmest = 1e6 / 1667, own = 1e6 / source.cct_k;
    constexpr double rounding = 1e-6;
    if (own + source.gel_mired < coolest - rounding || own + source.gel_mired > warmest + rounding)
      add(*gel, {key("gel_mired"), key("cct_k")},
          fmt::format(
              "{} is {}; allowed: from {:.1f} to {:.1f} mired, which leads from {} K to 25000 and 1667 K",
              key("gel_mired"), source.gel_mired, coolest - own, warmest - own, source.cct_k));
  }
}

void Checker::sources() {
  for (std::size_t i = 0; i < scene_.sources.size(); ++i) {
    const Loading::Block& block = loading_.sources[i];
    source(block, scene_.sources[i]);
    const std::string key = block.path + ".aim";
    const FileNode* aim = block.node->find("aim");
    if (!aim || loading_.faults.concern(key)) continue;
    const Source& source = scene_.sources[i];
    target(*aim, key, source.aim, source.position_m, block.path + ".position_m");
    const Address* at = std::get_if<Address>(&source.aim);
    if (at && at->of == Address::Of::source && at->name == source.name)
      add(*aim, {key}, fmt::format("{} is the source itself; aim at a part or a point", key));
  }
}

void Checker::part(const Loading::Block& block, const Prop& prop, const std::string& name,
                   const MaterialChange& change) {
  const std::string path = block.path + ".material." + name;
  const std::vector<std::string> keys{path + ".reflectance", path + ".transmittance"};
  if (loading_.faults.concern(keys[0]) || loading_.faults.concern(keys[1])) return;
  const std::vector<KindPart> parts = parts_with(*prop.kind, prop.values);
  const auto known =
      std::find_if(parts.begin(), parts.end(), [&](const KindPart& p) { return p.name == name; });
  // The parts of a mesh file are not known yet: what the scene itself says is held against the rules.
  const bool is_known = known != parts.end();
  const bool open_sheet = is_known ? known->open_sheet : parts.empty() || parts[0].open_sheet;
  const FileNode& material = *block.node->find("material")->find(name);
  const FileNode *of = material.find("of"), *thickness = material.find("thickness_mm");
  const MaterialRow* row = find_material(change.of ? *change.of : is_known ? known->row : std::string());
  if (of && change.of && !row)
    return add(
        *of, {path + ".of"},
        fmt::format("{}.of is {}: there is no such material{}; 'undercap scenes --materials' lists them",
                    path, toml_quoted(*change.of), suggested_material(*change.of)));
  if (thickness && change.thickness_mm)
    if (const std::string fault = fault_of_thickness(change, row, open_sheet); !fault.empty())
      return add(*thickness, {path + ".thickness_mm"}, fmt::format("{}.thickness_mm {}", path, fault));
  Material fallback = is_known ? known->material : Material{.reflectance = glm::vec3(0)};
  if (of && row) fallback = material_of(*row, open_sheet);
  const glm::vec3 reflectance = change.reflectance.value_or(fallback.reflectance);
  const glm::vec3 transmittance = change.transmittance.value_or(fallback.transmittance);

  if (const FileNode* mirror = material.find("mirror"))
    for (const char* other : {"reflectance", "transmittance", "emission_cd_m2"})
      if (material.find(other))
        return add(
            *mirror, {path + ".mirror", path + "." + other},
            fmt::format("{}.mirror and {}.{} exclude each other; keep one of them", path, path, other));
  const FileNode* node = material.find("transmittance");
  if (!node) node = material.find("reflectance");
  if (!node) return;
  const bool transmits = transmittance != glm::vec3(0);
  if (change.transmittance && transmits && !open_sheet)
    return add(*node, {keys[1]},
               fmt::format("{} is {}; allowed: 0, since a {}'s {} is a closed shape", keys[1],
                           loading_.document.shown(*node), prop.kind->name, name));
  constexpr float rounding = 1e-5f;  // of sums such as 0.7 + 0.3 in single precision
  for (int channel = 0; channel < 3; ++channel) {
    const float sum = reflectance[channel] + transmittance[channel];
    if (sum <= 1 + rounding) continue;
    constexpr std::string_view channels[] = {"red", "green", "blue"};
    const bool by_kind = !change.reflectance || !change.transmittance;
    return add(
        *node, keys,
        fmt::format("{}: reflectance {:.4g} + transmittance {:.4g} is {:.4g} in {}; allowed: 1 at most{}",
                    path, reflectance[channel], transmittance[channel], sum, channels[channel],
                    !by_kind ? ""
                             : fmt::format(" (the {} is the {}'s own)",
                                           change.reflectance ? "transmittance" : "reflectance",
                                           of ? "material" : "kind")));
  }
}

void Checker::materials() {
  for (std::size_t i = 0; i < scene_.props.size(); ++i)
    if (const Prop& prop = scene_.props[i]; prop.kind)
      for (const auto& [name, change] : prop.materials) part(loading_.props[i], prop, name, change);
}

// A prop grows on one that stands further up in the file, which rules out rings.
void Checker::host(const Loading::Block& block, std::size_t number) {
  const Prop& prop = scene_.props[number];
  const std::string key = block.path + ".on";
  if (prop.on.empty() || loading_.faults.concern(key)) return;
  std::vector<std::string_view> before;
  for (std::size_t i = 0; i < number; ++i) before.push_back(scene_.props[i].name);
  if (std::find(before.begin(), before.end(), prop.on) != before.end()) return;
  std::string what;
  if (prop.on == prop.name)
    what = "a prop cannot grow on itself";
  else if (by_name(scene_.props, prop.on))
    what = "which stands further down; move its block above this one";
  else if (const std::string nearest = nearest_word(prop.on, before); !nearest.empty())
    what = fmt::format("and there is no such prop; did you mean {}?", toml_quoted(nearest));
  else
    what = fmt::format("and there is no such prop; props above this one: {}",
                       before.empty() ? "none" : fmt::format("{}", fmt::join(before, ", ")));
  add(*block.node->find("on"), {key}, fmt::format("{} is {}, {}", key, toml_quoted(prop.on), what));
}

void Checker::scatter(const Loading::Block& block, const Prop& prop) {
  constexpr double most = 4000;  // as 'count' allows: each is a mesh of its own
  const std::string path = block.path + ".scatter";
  if (!prop.scatter || !prop.scatter->per_m2 || loading_.faults.concern(path + ".per_m2") ||
      loading_.faults.concern(path + ".radius_m") || prop.scatter->wanted() <= most)
    return;
  add(*block.node->find("scatter")->find("per_m2"), {path + ".per_m2", path + ".radius_m"},
      fmt::format("{}: {:g} on a square metre within {:g} m are {:.0f}; allowed: {:g} at most", path,
                  *prop.scatter->per_m2, prop.scatter->radius_m, prop.scatter->wanted(), most));
}

void Checker::placing() {
  for (std::size_t i = 0; i < scene_.props.size(); ++i) {
    const Loading::Block& block = loading_.props[i];
    const Prop& prop = scene_.props[i];
    host(block, i);
    scatter(block, prop);
    if (!prop.kind || prop.kind->spreads || prop.scatter) continue;
    for (const char* mask : {"within", "without"})
      if (const FileNode* node = block.node->find(mask))
        add(*node, {block.path + "." + mask},
            fmt::format("{}.{} masks what is spread over an area; a {} needs 'scatter' beside it", block.path,
                        mask, prop.kind->name));
  }
}

// A lamp's distance is that of a lamp; without a name of the first.
void Checker::taken() {
  const FileNode* distance = good("taken", "lamp_distance_m");
  if (distance && scene_.sources.empty())
    add(*distance, {"taken.lamp_distance_m"},
        "taken.lamp_distance_m is of a source, and this scene has none; take it out");
  const FileNode* lamp = good("taken", "lamp");
  if (lamp && !by_name(scene_.sources, *scene_.taken.lamp))
    add(*lamp, {"taken.lamp"},
        fmt::format("taken.lamp is {}; there is no such source; sources: {}", toml_quoted(*scene_.taken.lamp),
                    names_of(scene_.sources)));
  else if (lamp && !scene_.taken.lamp_distance_m && !loading_.faults.concern("taken.lamp_distance_m"))
    add(*lamp, {"taken.lamp"}, "taken.lamp stands alone; say taken.lamp_distance_m beside it");
}

}  // namespace

void check_scene(Loading& loading) {
  Checker check(loading);
  check.camera();
  check.sky();
  check.sun();
  check.exposure();
  check.subject();
  check.sources();
  check.materials();
  check.placing();
  check.taken();
}

}  // namespace undercap
