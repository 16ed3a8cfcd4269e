#include "mesh_rules.h"

#include <fmt/format.h>

#include <cmath>
#include <cstring>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <glm/matrix.hpp>
#include <map>
#include <tuple>

#include "engine/shape/mesh_build.h"

namespace undercap::testing {
namespace {

bool finite(const glm::vec3& v) { return std::isfinite(v.x) && std::isfinite(v.y) && std::isfinite(v.z); }

}  // namespace

std::string well_formed_fault(const Mesh& mesh) {
  if (mesh.triangle.empty()) return "no triangle";
  if (!mesh.normal.empty() && mesh.normal.size() != mesh.position.size())
    return "normals are not one a position";
  if (!mesh.tint.empty() && mesh.tint.size() != mesh.position.size()) return "tints are not one a position";
  for (std::size_t i = 0; i < mesh.position.size(); ++i) {
    if (!finite(mesh.position[i])) return fmt::format("position {} is not finite", i);
    if (!mesh.normal.empty() && !(std::abs(glm::length(mesh.normal[i]) - 1) < 1e-4f)) {
      return fmt::format("normal {} is not unit", i);
    }
    if (mesh.tint.empty()) continue;
    for (int channel = 0; channel < 3; ++channel) {
      if (!(mesh.tint[i][channel] >= 0 && mesh.tint[i][channel] <= 1.99f)) {
        return fmt::format("tint {} is {}", i, mesh.tint[i][channel]);
      }
    }
  }
  for (std::size_t t = 0; t < mesh.triangle.size(); ++t) {
    const MeshTriangle& one = mesh.triangle[t];
    if (std::max({one.a, one.b, one.c}) >= mesh.position.size())
      return fmt::format("triangle {} leaves the mesh", t);
    if (one.part >= mesh.parts.size()) return fmt::format("triangle {} has no part", t);
    if (!(triangle_area(mesh, one) > 1e-14)) return fmt::format("triangle {} has no area", t);
  }
  return "";
}

Mesh welded(const Mesh& mesh) {
  Mesh result;
  result.parts = mesh.parts;
  std::map<std::tuple<float, float, float>, std::uint32_t> known;
  std::vector<std::uint32_t> here(mesh.position.size());
  for (std::size_t i = 0; i < mesh.position.size(); ++i) {
    const glm::vec3& p = mesh.position[i];
    const auto [found, added] = known.try_emplace({p.x, p.y, p.z}, static_cast<std::uint32_t>(known.size()));
    if (added) result.position.push_back(p);
    here[i] = found->second;
  }
  for (const MeshTriangle& one : mesh.triangle) {
    result.triangle.push_back({here[one.a], here[one.b], here[one.c], one.part});
  }
  return result;
}

Mesh welded_part(const Mesh& mesh, const std::string& part) {
  Mesh chosen = mesh;
  std::erase_if(chosen.triangle, [&](const MeshTriangle& one) { return mesh.parts[one.part].name != part; });
  return welded(chosen);
}

std::size_t open_edges(const Mesh& mesh) {
  const Mesh joined = welded(mesh);
  std::map<std::pair<std::uint32_t, std::uint32_t>, int> runs;
  for (const MeshTriangle& one : joined.triangle) {
    for (const auto& [from, to] : {std::pair{one.a, one.b}, {one.b, one.c}, {one.c, one.a}})
      ++runs[{from, to}];
  }
  std::size_t open = 0;
  for (const auto& [edge, count] : runs) {
    const auto back = runs.find({edge.second, edge.first});
    if (count != 1 || back == runs.end() || back->second != 1) ++open;
  }
  return open;
}

double signed_volume(const Mesh& mesh) {
  double volume = 0;
  for (const MeshTriangle& one : mesh.triangle) {
    volume += glm::dot(glm::dvec3(mesh.position[one.a]),
                       glm::cross(glm::dvec3(mesh.position[one.b]), glm::dvec3(mesh.position[one.c]))) /
              6;
  }
  return volume;
}

double share_of_normals_in_front(const Mesh& mesh) {
  double front = 0, all = 0;
  for (const MeshTriangle& one : mesh.triangle) {
    const glm::dvec3 a(mesh.position[one.a]);
    const glm::dvec3 across =
        glm::cross(glm::dvec3(mesh.position[one.b]) - a, glm::dvec3(mesh.position[one.c]) - a);
    for (const std::uint32_t corner : {one.a, one.b, one.c}) {
      all += glm::length(across);
      if (glm::dot(across, glm::dvec3(mesh.normal[corner])) > 0) front += glm::length(across);
    }
  }
  return front / all;
}

Extent extent(const Mesh& mesh) {
  Extent found;
  for (const glm::vec3& p : mesh.position) {
    found.low = glm::min(found.low, glm::dvec3(p));
    found.high = glm::max(found.high, glm::dvec3(p));
  }
  return found;
}

std::string bytes_of(const Mesh& mesh) {
  std::string bytes;
  const auto add = [&](const auto& list) {
    bytes.append(reinterpret_cast<const char*>(list.data()), list.size() * sizeof(list[0]));
  };
  add(mesh.position);
  add(mesh.normal);
  add(mesh.tint);
  add(mesh.triangle);
  for (const MeshPart& part : mesh.parts) bytes += fmt::format("{}.{} ", part.name, part.individual);
  return bytes;
}

Mesh build_with(const std::string& kind, KeyValues changes, const Setting& setting) {
  const Kind* found = find_kind(kind);
  if (found == nullptr) throw std::runtime_error("no kind " + kind);
  changes.merge(default_values(*found));
  return found->build(changes, setting);
}

const Mesh& build_default(const std::string& kind, double seed) {
  static std::map<std::pair<std::string, double>, Mesh> built;
  const auto [found, added] = built.try_emplace({kind, seed});
  if (added) {
    KeyValues changes;
    if (default_values(*find_kind(kind)).contains("seed")) changes.emplace("seed", seed);
    found->second = build_with(kind, std::move(changes));
  }
  return found->second;
}

}  // namespace undercap::testing
