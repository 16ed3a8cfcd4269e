// Props and ground: from what the scene says to posed triangles.
#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <exception>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <glm/mat3x3.hpp>
#include <glm/matrix.hpp>
#include <map>
#include <thread>

#include "engine/shape/ground.h"
#include "engine/surface/materials.h"
#include "engine/world/placing.h"

namespace undercap {
namespace {

// A packed triangle has 16 bits for its part. The limit on triangles keeps the memory of the largest scene
// within some 8 GB; the BVH itself could hold 2^29.
constexpr std::size_t most_parts = 0xffff, most_triangles = 16'000'000;

struct PartMaterial {
  Material material;
  std::string row;  // empty once something else than the table says the colour
};

// What the scene says, over the part as it is: first a row of the table, then key by key.
void change_part(PartMaterial& part, const MaterialChange& change, bool open_sheet) {
  Material& material = part.material;
  if (change.of) {
    const MaterialRow* row = find_material(*change.of);
    UNDERCAP_CHECK(row != nullptr, fmt::format("'{}' was found when the scene was loaded", *change.of));
    const Pattern pattern = material.pattern;
    material = material_of(*row, open_sheet);
    material.pattern = pattern;
    part.row = row->name;
  }
  // A body or a mirror: the one that is named takes the other's place.
  if (change.reflectance || change.transmittance) material.mirror = glm::vec3(0);
  if (change.mirror) material.reflectance = material.transmittance = glm::vec3(0);
  if (change.reflectance) material.reflectance = *change.reflectance;
  if (change.transmittance) material.transmittance = *change.transmittance;
  if (change.mirror) material.mirror = *change.mirror;
  if (change.reflectance || change.mirror) part.row.clear();
  if (change.roughness) material.roughness = static_cast<float>(*change.roughness);
  if (change.emission_cd_m2) material.emission_cd_m2 = static_cast<float>(*change.emission_cd_m2);
  if (change.thickness_mm) {
    const MaterialRow* row = find_material(part.row);
    UNDERCAP_CHECK(row != nullptr, fmt::format("a sheet of '{}' is of the table, as was checked", part.row));
    const Material sheet = sheet_of(*row, Length(*change.thickness_mm * 1e-3));
    material.reflectance = sheet.reflectance;
    material.transmittance = sheet.transmittance;
  }
  if (change.wet) material.wet = static_cast<float>(*change.wet);
  if (change.pattern) {
    material.pattern.strength *= static_cast<float>(*change.pattern);
    material.pattern.relief *= static_cast<float>(*change.pattern);
  }
}

// The kind's material, over it what an imported file says, over that what the scene says.
PartMaterial material_of(const Prop& prop, const MeshPart& part) {
  const std::vector<KindPart> known = parts_with(*prop.kind, prop.values);
  auto found =
      std::find_if(known.begin(), known.end(), [&](const KindPart& p) { return p.name == part.name; });
  if (found == known.end()) found = known.begin();
  PartMaterial result{found->material, found->row};
  Material& material = result.material;
  material.pattern = part.pattern;
  if (part.reflectance) {
    material.reflectance = *part.reflectance;
    result.row.clear();
  }
  material.wet = static_cast<float>(prop.wet);
  if (const auto change = prop.materials.find(part.name); change != prop.materials.end())
    change_part(result, change->second, found->open_sheet);
  constexpr float rounding = 1e-5f;  // of sums such as 0.7 + 0.3 in single precision
  for (int channel = 0; channel < 3; ++channel) {
    const float reflectance = material.reflectance[channel], transmittance = material.transmittance[channel];
    if (reflectance + transmittance <= 1 + rounding) continue;
    constexpr const char* channels[] = {"red", "green", "blue"};
    throw Refusal(prop.place,
                  fmt::format("prop.{}.material.{}: reflectance {:.4g}{} + transmittance {:.4g} is {:.4g} in "
                              "{}; allowed: 1 at most",
                              prop.name, part.name, reflectance,
                              part.reflectance ? " (the file's own unless the scene gives one)" : "",
                              transmittance, reflectance + transmittance, channels[channel]));
  }
  return result;
}

// The parts of an imported file are known only now.
void refuse_stray_materials(const Prop& prop, const Mesh& mesh) {
  if (prop.kind->name != "mesh") return;
  std::string parts;
  for (const MeshPart& part : mesh.parts) parts += (parts.empty() ? "" : ", ") + part.name;
  for (const auto& [name, change] : prop.materials) {
    const auto is_it = [&wanted = name](const MeshPart& part) { return part.name == wanted; };
    if (std::none_of(mesh.parts.begin(), mesh.parts.end(), is_it))
      throw Refusal(prop.place,
                    fmt::format("prop.{}.material.{}: the file has no such material; its parts: {}",
                                prop.name, name, parts));
  }
}

// An address names a part that an imported file does not have.
void refuse_stray_addresses(const World& world) {
  const Scene& scene = world.scene;
  const auto check = [&](const Address& address, std::string_view key) {
    const auto prop = std::find_if(scene.props.begin(), scene.props.end(),
                                   [&](const Prop& p) { return p.name == address.name; });
    if (address.of != Address::Of::prop || address.part.empty() || prop == scene.props.end() ||
        prop->kind->name != "mesh" || !prop->visible || !parts_of(world, address).empty())
      return;
    std::string parts;
    for (const WorldPart& part : world.parts)
      if (part.prop == prop->name) parts += (parts.empty() ? "" : ", ") + part.part;
    throw Refusal(scene.place_of(key),
                  fmt::format("{}: '{}': the file of '{}' has no material \"{}\"; its parts: {}", key,
                              address.text(), prop->name, address.part, parts));
  };
  const auto check_target = [&](const std::optional<Target>& target, std::string_view key) {
    if (const Address* address = target ? std::get_if<Address>(&*target) : nullptr) check(*address, key);
  };
  check_target(scene.camera.look_at, "camera.look_at");
  check_target(scene.camera.focus, "camera.focus");
  for (const Address& address : scene.subject.parts) check(address, "subject.parts");
  for (const Address& address : scene.subject.backdrop) check(address, "subject.backdrop");
  if (scene.exposure.meter_on) check(*scene.exposure.meter_on, "exposure.meter_on");
  for (const Source& source : scene.sources)
    check_target(source.aim, fmt::format("source.{}.aim", source.name));
}

GroundShape ground_shape(const Ground& ground) {
  return {ground.size_m, ground.relief_mm, static_cast<std::uint32_t>(ground.seed)};
}

void add_ground(World& world) {
  const Ground& ground = world.scene.ground;
  if (ground.kind == Ground::Kind::none) return;
  // The ground's default is the table's damp litter; a scene that gives the same numbers shares the guess.
  const MaterialRow* litter = find_material("litter_damp");
  const bool is_litter = litter && litter->material.reflectance == ground.reflectance;
  const Mesh mesh = build_ground(ground_shape(ground));
  // Ground without unevenness is a plain plane.
  const Pattern pattern = ground.relief_mm > 0 ? mesh.parts[0].pattern : Pattern{};
  append_mesh(
      world, mesh, {}, "ground",
      {Material{
          .reflectance = ground.reflectance, .wet = static_cast<float>(ground.wet), .pattern = pattern}},
      {is_litter ? litter->name : std::string()});
}

// A mesh to be built, and what went wrong while it was.
struct Job {
  Stand stand;
  Mesh mesh{};
  std::exception_ptr fault{};
};

void build(Job& job, const Scene& scene, const View& view) {
  try {
    job.mesh = job.stand.prop->kind->build(job.stand.values, setting_of(scene, job.stand, view));
    settle(job.mesh, job.stand);
  } catch (const Refusal& refusal) {
    // A fault without a place of its own is the scene's.
    std::vector<Fault> faults = refusal.faults();
    for (Fault& fault : faults)
      if (fault.place.file.empty()) fault.place = job.stand.prop->place;
    job.fault = std::make_exception_ptr(Refusal(faults));
  } catch (...) {
    job.fault = std::current_exception();
  }
}

[[noreturn]] void refuse_crowd(const std::string& prop) {
  throw Refusal(
      fmt::format("with '{}' the scene has more than {} triangles, which is the limit; use fewer "
                  "props or thin their meshes out",
                  prop, most_triangles));
}

// Meshes are independent of each other, so that as many threads as there are cores take one after the other.
// The order of the results, and of what is refused, is that of the file.
void build_all(std::vector<Job>& jobs, const Scene& scene, const View& view,
               const std::atomic<bool>* cancelled) {
  std::atomic<std::size_t> next{0}, triangles{0};
  const auto work = [&] {
    for (std::size_t i = next++; i < jobs.size() && triangles <= most_triangles; i = next++) {
      if (cancelled && *cancelled) return;
      build(jobs[i], scene, view);
      triangles += jobs[i].mesh.triangle.size();
    }
  };
  std::vector<std::jthread> helpers;
  const std::size_t cores = std::max(1u, std::thread::hardware_concurrency());
  for (std::size_t i = 1; i < std::min(cores, jobs.size()); ++i) helpers.emplace_back(work);
  work();
  helpers.clear();
  if (cancelled && *cancelled) throw Cancelled();
  // What was begun is done, so that the first jobs are whole up to the one that was too much.
  std::size_t sum = 0;
  for (const Job& job : jobs) {
    if (job.fault) std::rethrow_exception(job.fault);
    sum += job.mesh.triangle.size();
    if (sum > most_triangles) refuse_crowd(job.stand.prop->name);
  }
}

std::shared_ptr<const HostSurface> surface_of(const std::vector<Job>& jobs, const Prop& host) {
  std::vector<HostSurface::Corners> triangles;
  for (const Job& job : jobs) {
    if (job.stand.prop != &host) continue;
    const Placement& p = job.stand.placement;
    const auto posed = [&](std::uint32_t corner) {
      return glm::vec3(p.turn * (glm::dvec3(job.mesh.position[corner]) * p.scale) + p.origin_m);
    };
    for (const MeshTriangle& t : job.mesh.triangle) triangles.push_back({posed(t.a), posed(t.b), posed(t.c)});
  }
  if (triangles.empty()) return nullptr;
  return std::make_shared<HostSurface>(std::move(triangles));
}

void append(World& world, Job& job, int before) {
  const Prop& prop = *job.stand.prop;
  std::vector<Material> material;
  std::vector<std::string> row;
  refuse_stray_materials(prop, job.mesh);
  for (const MeshPart& part : job.mesh.parts) {
    PartMaterial made = material_of(prop, part);
    material.push_back(made.material);
    row.push_back(std::move(made.row));
  }
  append_mesh(world, job.mesh, job.stand.placement, prop.name, material, row, before);
  job.mesh = {};
}

// Props in layers: first those on the ground, then those on them, and so on. A layer is built at once.
void build_props(World& world, const View& view, const std::atomic<bool>* cancelled) {
  const Scene& scene = world.scene;
  std::map<const Prop*, std::size_t> layer;
  std::size_t layers = 0;
  const auto host_of = [&](const Prop& prop) -> const Prop* {
    const auto found = std::find_if(scene.props.begin(), scene.props.end(),
                                    [&](const Prop& other) { return other.name == prop.on; });
    return prop.on.empty() || found == scene.props.end() ? nullptr : &*found;
  };
  for (const Prop& prop : scene.props) {
    if (!prop.visible) continue;
    const Prop* host = host_of(prop);
    layer[&prop] = host ? layer.at(host) + 1 : 0;
    layers = std::max(layers, layer[&prop] + 1);
  }
  std::vector<Job> done;
  for (std::size_t number = 0; number < layers; ++number) {
    std::map<const Prop*, std::shared_ptr<const HostSurface>> surfaces;
    std::vector<Job> jobs;
    for (const auto& prop : scene.props) {
      if (!prop.visible || layer[&prop] != number) continue;
      const Prop* host = host_of(prop);
      if (host && !surfaces.contains(host)) surfaces[host] = surface_of(done, *host);
      if (host && !surfaces[host])
        throw Refusal(prop.place,
                      fmt::format("prop.{}.on: '{}' has no surface to grow on", prop.name, prop.on));
      for (Stand& stand : stands_of(scene, prop, host ? surfaces[host] : nullptr, world.notes))
        jobs.push_back({std::move(stand)});
    }
    build_all(jobs, scene, view, cancelled);
    for (Job& job : jobs) {
      job.stand.host.reset();
      done.push_back(std::move(job));
    }
  }
  // In the file's order, whatever grows on what.
  std::stable_sort(done.begin(), done.end(),
                   [](const Job& a, const Job& b) { return a.stand.prop < b.stand.prop; });
  int before = 0;
  for (std::size_t i = 0; i < done.size(); ++i) {
    if (i > 0 && done[i].stand.prop != done[i - 1].stand.prop) before = 0;
    int individuals = 1;
    for (const MeshPart& part : done[i].mesh.parts) individuals = std::max(individuals, part.individual);
    append(world, done[i], before);
    before += individuals;
  }
}

}  // namespace

double floor_height_m(const Ground& ground, double x_m, double y_m) {
  return ground.kind == Ground::Kind::none ? 0.0 : ground_height_m(ground_shape(ground), x_m, y_m);
}

void append_mesh(World& world, const Mesh& mesh, const Placement& placement, const std::string& prop,
                 const std::vector<Material>& material, const std::vector<std::string>& row, int before) {
  const auto first_vertex = static_cast<std::uint32_t>(world.position.size());
  const auto first_part = static_cast<std::uint32_t>(world.parts.size());
  for (std::size_t i = 0; i < mesh.parts.size(); ++i) {
    world.parts.push_back({prop, before + mesh.parts[i].individual, mesh.parts[i].name,
                           static_cast<std::uint32_t>(world.materials.size()),
                           row.empty() ? std::string() : row[i]});
    world.materials.push_back(material[i]);
  }
  if (world.parts.size() > most_parts)
    throw Refusal(
        fmt::format("the scene has more than {} parts, which is the limit; use fewer props", most_parts));
  if (mesh.triangle.size() > most_triangles - world.triangle.size()) refuse_crowd(prop);
  const glm::dmat3& turn = placement.turn;
  const glm::dmat3 back = glm::transpose(turn) * (1e3 / placement.scale);
  for (std::size_t i = first_part; i < world.parts.size(); ++i)
    world.parts[i].to_own = glm::mat4x3(back[0], back[1], back[2], -(back * placement.origin_m));
  for (std::size_t i = 0; i < mesh.position.size(); ++i) {
    world.position.emplace_back(turn * (glm::dvec3(mesh.position[i]) * placement.scale) + placement.origin_m);
    world.normal.emplace_back(mesh.normal.empty() ? glm::dvec3(0) : turn * glm::dvec3(mesh.normal[i]));
    world.tint.push_back(mesh.tint.empty() ? glm::vec3(1) : mesh.tint[i]);
    world.uv.push_back(mesh.uv.empty() ? glm::vec2(0) : mesh.uv[i]);
  }
  for (const MeshTriangle& t : mesh.triangle) {
    world.triangle.push_back(
        {t.a + first_vertex, t.b + first_vertex, t.c + first_vertex, t.part + first_part});
    if (mesh.tint.empty()) continue;
    // A tint may not lift a part over what it receives: R + T stays within 1 in each channel.
    const glm::vec3 limit =
        1.f / glm::max(material[t.part].reflectance + material[t.part].transmittance, glm::vec3(1e-3f));
    for (const std::uint32_t v : {t.a, t.b, t.c})
      world.tint[first_vertex + v] = glm::min(world.tint[first_vertex + v], limit);
  }
}

void add_props(World& world, const BuildOptions& options) {
  build_props(world, nominal_view(world.scene, options.draft), options.cancelled);
  refuse_stray_addresses(world);
  add_ground(world);
}

World build_world(const Scene& scene, const BuildOptions& options) {
  World world;
  world.scene = scene;
  add_props(world, options);
  set_camera(world);
  add_barrel(world);
  if (scene.camera.body_shade) add_photographer(world);
  add_lights(world);
  return world;
}

World without_barrel(World world) {
  const auto is_kit = [](const WorldPart& part) { return part.prop.empty(); };
  const auto first = std::find_if(world.parts.begin(), world.parts.end(), is_kit) - world.parts.begin();
  const auto begins = std::find_if(world.triangle.begin(), world.triangle.end(), [&](const WorldTriangle& t) {
    return t.part >= static_cast<std::size_t>(first);
  });
  std::size_t positions = world.position.size();
  for (auto t = begins; t != world.triangle.end(); ++t)
    positions = std::min<std::size_t>({positions, t->a, t->b, t->c});
  world.triangle.erase(begins, world.triangle.end());
  world.parts.resize(static_cast<std::size_t>(first));
  for (auto* list : {&world.position, &world.normal, &world.tint}) list->resize(positions);
  world.uv.resize(positions);
  return world;
}

void leave_patterns_out(World& world) {
  for (Material& material : world.materials) material.pattern = {};
}

}  // namespace undercap
