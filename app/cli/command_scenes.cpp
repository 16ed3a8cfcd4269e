#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/cli/common.h"
#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/scene/keys.h"
#include "engine/shape/obj.h"
#include "engine/surface/materials.h"

namespace undercap {
namespace {

std::string range_text(const KindKey& key) {
  if (key.type == KeyType::choice) return key.choices;
  if (key.type == KeyType::boolean) return "true or false";
  if (key.type == KeyType::text) return "text";
  if (key.type == KeyType::list) {
    std::string columns;
    for (const ListColumn& one : key.list.columns)
      columns += fmt::format("{}{} {:.10g} to {:.10g}", columns.empty() ? "list of " : ", ", one.name,
                             one.low, one.high);
    return columns;
  }
  return fmt::format("{:.10g} to {:.10g}{}", key.low, key.high,
                     key.type == KeyType::integer ? ", whole" : "");
}

constexpr std::size_t range_column = 22;

void print_kinds(bool json) {
  if (json) {
    nlohmann::ordered_json all = nlohmann::ordered_json::object();
    for (const Kind& kind : kinds()) {
      nlohmann::ordered_json keys = nlohmann::ordered_json::object(), parts = nlohmann::json::array();
      for (const KindKey& key : kind.keys)
        keys[key.name] = {{"default", key.fallback}, {"allowed", range_text(key)}, {"meaning", key.meaning}};
      for (const KindPart& part : kind.parts) parts.push_back(part.name);
      all[kind.name] = {{"meaning", kind.meaning}, {"keys", keys}, {"parts", parts}};
    }
    fmt::print("{}\n", all.dump(2));
    return;
  }
  for (const Kind& kind : kinds()) {
    std::string parts;
    for (const KindPart& part : kind.parts) parts += (parts.empty() ? "" : ", ") + part.name;
    print_hanging(kind.name + ": ", kind.meaning);
    print_hanging("  parts: ", parts);
    for (const KindKey& key : kind.keys) {
      // What no column holds follows the meaning, where lines are broken.
      const std::string range = range_text(key);
      const bool fits = range.size() <= range_column;
      print_hanging(
          fmt::format("  {:<20} {:<15} {:<{}} ", key.name, key.fallback.empty() ? "required" : key.fallback,
                      fits ? range : "", range_column),
          fits ? key.meaning : fmt::format("{}; allowed: {}", key.meaning, range));
    }
    fmt::print("\n");
  }
}

std::array<float, 3> channels(const glm::vec3& colour) { return {colour.r, colour.g, colour.b}; }

void print_materials(bool json) {
  nlohmann::ordered_json all = nlohmann::ordered_json::object();
  for (const MaterialRow& row : material_table()) {
    const Material& material = row.material;
    const bool mirror = material.mirror != glm::vec3(0), sheet = row.thickness_mm > 0;
    std::string words =
        fmt::format("{} {:.3g}", mirror ? "mirror" : "reflectance",
                    fmt::join(channels(mirror ? material.mirror : material.reflectance), " "));
    if (sheet)
      words += fmt::format(", transmittance {:.3g} at {:g} mm",
                           fmt::join(channels(material.transmittance), " "), row.thickness_mm);
    if (material.roughness < 1) words += fmt::format(", roughness {:g}", material.roughness);
    if (json)
      all[row.name] = {{"reflectance", channels(material.reflectance)},
                       {"transmittance", channels(material.transmittance)},
                       {"mirror", channels(material.mirror)},
                       {"roughness", material.roughness},
                       {"thickness_mm", row.thickness_mm},
                       {"origin", origin_word(row.origin)},
                       {"source", row.source}};
    else
      print_hanging(fmt::format("{:<20} {:<9} ", row.name, origin_word(row.origin)),
                    fmt::format("{}; {}", words, row.source));
  }
  if (json) fmt::print("{}\n", all.dump(2));
}

// A prop on level ground, in full detail, as OBJ and the MTL beside it.
int write_kind(const ScenesOptions& options) {
  const std::filesystem::path obj = options.output.empty() ? options.kind + ".obj" : options.output;
  if (obj.extension() != ".obj")
    throw Refusal(fmt::format("-o '{}': the ending says the format; allowed: .obj", obj.string()));
  std::filesystem::path mtl = obj;
  mtl.replace_extension(".mtl");
  if (!find_kind(options.kind)) {
    std::vector<std::string_view> names;
    for (const Kind& kind : kinds()) names.push_back(kind.name);
    const std::string nearest = nearest_word(options.kind, names);
    throw Refusal(fmt::format("--kind {}: there is no such kind; {}allowed: {}", options.kind,
                              nearest.empty() ? "" : fmt::format("did you mean '{}'? ", nearest),
                              fmt::join(names, ", ")));
  }
  // A scene of the one prop, so that its keys are read and refused as everywhere.
  SceneFile scene = SceneFile::from_text(
      fmt::format("undercap = 1\n[[prop]]\nname = \"{0}\"\nkind = \"{0}\"\n", options.kind), "--kind");
  for (const std::string& set : options.sets) {
    const std::size_t equals = set.find('=');
    if (equals == set.npos)
      throw Refusal(fmt::format("--set {}: write it as KEY=VALUE, for example seed=2", set));
    scene.set(fmt::format("prop.{}.{}", options.kind, set.substr(0, equals)), set.substr(equals + 1),
              "--set");
  }
  const Scene read = scene.scene();
  for (const auto& file : {obj, mtl}) check_writable(file, options.force);
  const Prop& prop = read.props.front();
  const Mesh mesh = prop.kind->build(prop.values, {});
  Kind made = *prop.kind;
  made.parts = parts_with(*prop.kind, prop.values);
  const ObjFiles files = obj_of_mesh(mesh, made, mtl.filename().string());
  write_file(mtl, files.mtl, options.force);
  write_file(obj, files.obj, options.force);
  fmt::print("{} and {}: {} triangles, {} part{}\n", obj.string(), mtl.string(), mesh.triangle.size(),
             mesh.parts.size(), mesh.parts.size() == 1 ? "" : "s");
  return exit_done;
}

std::vector<std::filesystem::path> bundled_scenes() {
  std::vector<std::filesystem::path> files;
  std::error_code none;
  for (const auto& entry : std::filesystem::directory_iterator(bundled_scene_folder(), none))
    if (entry.path().extension() == ".toml") files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  return files;
}

std::vector<std::string> variant_names(const Scene& scene) {
  std::vector<std::string> names;
  for (const Variant& variant : scene.variants) names.push_back(variant.name);
  return names;
}

std::string names_of(const std::vector<std::filesystem::path>& files) {
  std::string names;
  for (const auto& file : files) names += (names.empty() ? "" : ", ") + file.stem().string();
  return names;
}

}  // namespace

int run_scenes(const ScenesOptions& options) {
  if (options.kinds) {
    print_kinds(options.json);
    return exit_done;
  }
  if (options.materials) {
    print_materials(options.json);
    return exit_done;
  }
  if (!options.kind.empty()) return write_kind(options);
  if (!options.sets.empty())
    throw Refusal("--set belongs to --kind KIND here; for a scene use render or check");
  const auto files = bundled_scenes();
  if (files.empty())
    throw Trouble(fmt::format("{}: the bundled scenes are not there; install the program anew",
                              bundled_scene_folder()));
  if (!options.copy.empty()) {
    const auto found = std::find_if(files.begin(), files.end(),
                                    [&](const auto& file) { return file.stem() == options.copy; });
    if (found == files.end())
      throw Refusal(fmt::format("--copy {}: no bundled scene has this name; there are: {}", options.copy,
                                names_of(files)));
    const std::string output = options.output.empty() ? options.copy + ".toml" : options.output;
    write_file(output, read_file(*found), options.force);
    fmt::print("{}\n", output);
    return exit_done;
  }
  nlohmann::ordered_json all = nlohmann::json::array();
  for (const auto& file : files) {
    const Scene scene = SceneFile::open(file).scene();
    if (options.json)
      all.push_back({{"name", file.stem().string()},
                     {"title", scene.title},
                     {"note", scene.note},
                     {"variants", variant_names(scene)}});
    else {
      print_hanging(fmt::format("{:<22} ", file.stem().string()), scene.title);
      if (!scene.note.empty()) print_hanging(std::string(23, ' '), scene.note);
      if (!scene.variants.empty())
        print_hanging(std::string(23, ' '),
                      fmt::format("variants: {}", fmt::join(variant_names(scene), ", ")));
    }
  }
  if (options.json) fmt::print("{}\n", all.dump(2));
  return exit_done;
}

}  // namespace undercap
