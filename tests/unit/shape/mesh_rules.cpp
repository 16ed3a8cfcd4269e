#include "mesh_rules.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <glm/matrix.hpp>
#include <map>
#include <unordered_map>

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
  struct Hash {
    std::size_t operator()(const glm::vec3& p) const {
      std::size_t hash = 0;
      for (int axis = 0; axis < 3; ++axis)  // adding zero makes -0 and +0 one
        hash = (hash ^ std::bit_cast<std::uint32_t>(p[axis] + 0.0f)) * 0x9e3779b97f4a7c15u;
      return hash ^ (hash >> 29);
    }
  };
  std::unordered_map<glm::vec3, std::uint32_t, Hash> known;
  known.reserve(mesh.position.size());
  std::vector<std::uint32_t> here(mesh.position.size());
  for (std::size_t i = 0; i < mesh.position.size(); ++i) {
    const glm::vec3& p = mesh.position[i];
    const auto [found, added] = known.try_emplace(p, static_cast<std::uint32_t>(known.size()));
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

std::size_t open_edges(const Mesh& mesh, const std::set<std::string>& sheets) {
  const Mesh joined = welded(mesh);
  std::vector<bool> is_sheet;
  for (const MeshPart& part : mesh.parts) is_sheet.push_back(sheets.contains(part.name));
  // Every run as (lower end, higher end, direction, of a sheet), so that those of an edge come together.
  std::vector<std::uint64_t> runs;
  runs.reserve(3 * joined.triangle.size());
  for (const MeshTriangle& one : joined.triangle) {
    for (const auto& [from, to] : {std::pair{one.a, one.b}, {one.b, one.c}, {one.c, one.a}}) {
      const std::uint64_t low = std::min(from, to), high = std::max(from, to);
      runs.push_back(low << 33 | high << 2 | (from < to ? 0u : 2u) | (is_sheet[one.part] ? 1u : 0u));
    }
  }
  std::sort(runs.begin(), runs.end());
  std::size_t open = 0;
  for (std::size_t first = 0, next = 0; first < runs.size(); first = next) {
    int count[2][2] = {};  // by direction, of bodies and of sheets
    for (; next < runs.size() && runs[next] >> 2 == runs[first] >> 2; ++next)
      ++count[runs[next] >> 1 & 1][runs[next] & 1];
    for (int way = 0; way < 2; ++way)
      if (count[way][0] > 1 || (count[way][0] == 1 && count[1 - way][0] + count[1 - way][1] == 0)) {
        ++open;
        break;
      }
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
  add(mesh.uv);
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
