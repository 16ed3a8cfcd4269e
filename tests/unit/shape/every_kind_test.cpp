// Every kind of the registry at twenty seeds: whole, closed where it is a body, within its budget, its size.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <glm/common.hpp>
#include <set>

#include "mesh_rules.h"

namespace undercap {
namespace {

constexpr int seeds = 20;

// A picture 300 mm wide: what most of a set is made for. Full detail is for a few.
constexpr double usual_pixel_m = 0.25e-3;

bool needs_a_file(const Kind& kind) { return default_values(kind).size() < kind.keys.size(); }

Mesh specimen(const Kind& kind, int seed, double pixel_m) {
  KeyValues values;
  if (default_values(kind).contains("seed")) values.emplace("seed", static_cast<double>(seed));
  Setting setting;
  setting.pixel_m = pixel_m;
  return testing::build_with(kind.name, values, setting);
}

std::set<std::string> sheets_of(const Kind& kind) {
  std::set<std::string> sheets;
  for (const KindPart& part : kind.parts)
    if (part.open_sheet) sheets.insert(part.name);
  return sheets;
}

std::string fault_of(const Kind& kind, const Mesh& mesh) {
  if (const std::string fault = testing::well_formed_fault(mesh); !fault.empty()) return fault;
  std::set<std::string> found, wanted;
  for (const MeshTriangle& t : mesh.triangle) found.insert(mesh.parts[t.part].name);
  for (const KindPart& part : kind.parts) wanted.insert(part.name);
  for (const std::string& part : found)
    if (!wanted.contains(part)) return fmt::format("has a part '{}' that the kind does not tell", part);
  // Shading normals of ragged bark and folded leaves may lean over the odd sliver; a flipped sheet is half of
  // it.
  if (!mesh.normal.empty() && testing::share_of_normals_in_front(mesh) < 0.97)
    return fmt::format("{:.3f} of its normals look back", 1 - testing::share_of_normals_in_front(mesh));
  const std::set<std::string> sheets = sheets_of(kind);
  if (const std::size_t open = testing::open_edges(mesh, sheets); open > 0)
    return fmt::format("its closed parts have {} open edges", open);
  Mesh body = mesh;
  std::erase_if(body.triangle,
                [&](const MeshTriangle& t) { return sheets.contains(mesh.parts[t.part].name); });
  // A body that a sheet closes has no volume of its own.
  if (!body.triangle.empty() && testing::open_edges(body) == 0 && !(testing::signed_volume(body) > 0))
    return "its closed parts are inside out";
  return {};
}

// At their defaults and in the usual picture. A scene of ten props has 1.5 million triangles at most.
struct Budget {
  std::string kind;
  std::size_t triangles;
};
const std::vector<Budget> budgets = {
    {"plane", 2}, {"card", 2}, {"box", 12}, {"disc", 400}, {"sphere", 25000}};
constexpr std::size_t largest_budget = 700'000;

std::size_t budget_of(const std::string& kind) {
  for (const Budget& one : budgets)
    if (one.kind == kind) return one.triangles;
  return largest_budget;
}

TEST(EveryKind, IsWholeAtTwentySeeds) {
  for (const Kind& kind : kinds()) {
    if (needs_a_file(kind)) continue;
    const bool grows = default_values(kind).contains("seed");
    std::set<std::string> parts;
    std::string before;
    for (int seed = 1; seed <= (grows ? seeds : 1); ++seed) {
      SCOPED_TRACE(fmt::format("{} seed {}", kind.name, seed));
      const Mesh mesh = specimen(kind, seed, usual_pixel_m);
      EXPECT_EQ(fault_of(kind, mesh), "");
      EXPECT_LE(mesh.triangle.size(), budget_of(kind.name));
      for (const MeshTriangle& t : mesh.triangle) parts.insert(mesh.parts[t.part].name);
      std::string bytes = testing::bytes_of(mesh);
      if (seed <= 2) {
        EXPECT_EQ(bytes, testing::bytes_of(specimen(kind, seed, usual_pixel_m)));
      }
      EXPECT_NE(bytes, before);
      before = std::move(bytes);
    }
    for (const KindPart& part : kind.parts)
      EXPECT_TRUE(parts.contains(part.name) || part.sometimes || !grows)
          << kind.name << " has no " << part.name << " at any seed";
  }
}

}  // namespace
}  // namespace undercap
