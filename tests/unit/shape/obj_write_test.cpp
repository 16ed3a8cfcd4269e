// A prop written as OBJ and MTL reads back the same.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <glm/geometric.hpp>
#include <map>

#include "engine/core/errors.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/obj.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

// Corners of a part's triangles in the order of the mesh.
std::map<std::string, std::vector<glm::vec3>> corners_by_part(const Mesh& mesh, bool numbered) {
  std::map<std::string, std::vector<glm::vec3>> corners;
  for (const MeshTriangle& t : mesh.triangle) {
    const MeshPart& part = mesh.parts[t.part];
    auto& list = corners[numbered ? fmt::format("{}.{}", part.name, part.individual) : part.name];
    for (const std::uint32_t corner : {t.a, t.b, t.c}) list.push_back(mesh.position[corner]);
  }
  return corners;
}

Mesh read_back(const ObjFiles& files) {
  return mesh_of_obj(files.obj, "prop.obj", 1, true, [&](const std::filesystem::path& path) {
    if (path.filename() != "prop.mtl") throw Refusal("there is no " + path.string());
    return files.mtl;
  });
}

// A tenth of a micrometre on a metre is what single precision keeps on its way through the text.
void expect_same(const Kind& kind, const Mesh& mesh) {
  const bool numbered =
      std::any_of(mesh.parts.begin(), mesh.parts.end(), [](const MeshPart& p) { return p.individual > 1; });
  const Mesh back = read_back(obj_of_mesh(mesh, kind, "prop.mtl"));
  const auto wanted = corners_by_part(mesh, numbered), found = corners_by_part(back, false);
  ASSERT_EQ(found.size(), wanted.size()) << kind.name;
  ASSERT_EQ(back.triangle.size(), mesh.triangle.size()) << kind.name;
  for (const auto& [name, corners] : wanted) {
    ASSERT_TRUE(found.contains(name)) << kind.name << " " << name;
    const auto& again = found.at(name);
    ASSERT_EQ(again.size(), corners.size()) << kind.name << " " << name;
    for (std::size_t i = 0; i < corners.size(); ++i)
      ASSERT_LE(glm::distance(again[i], corners[i]), 1e-6f) << kind.name << " " << name << " corner " << i;
  }
  for (const MeshPart& part : back.parts) {
    const std::string own = numbered ? part.name.substr(0, part.name.rfind('.')) : part.name;
    const auto known =
        std::find_if(kind.parts.begin(), kind.parts.end(), [&](const KindPart& p) { return p.name == own; });
    ASSERT_NE(known, kind.parts.end()) << own;
    ASSERT_TRUE(part.reflectance);
    EXPECT_LE(glm::distance(*part.reflectance, known->material.reflectance), 1e-6f)
        << kind.name << " " << own;
  }
}

TEST(ObjWrite, EveryKindReadsBackTheSame) {
  Setting coarse;  // the text of a mesh, not its detail, is what is tried
  coarse.pixel_m = 1e-3;
  for (const Kind& kind : kinds()) {
    if (kind.name == "mesh") continue;
    expect_same(kind, testing::build_with(kind.name, {}, coarse));
  }
}

TEST(ObjWrite, IndividualsStayApart) {
  Setting coarse;
  coarse.pixel_m = 1e-3;
  expect_same(*find_kind("mushroom"),
              testing::build_with("mushroom", {{"count", 3.0}, {"spread_mm", 60.0}}, coarse));
}

// A box of 100 x 60 x 40 mm: its height becomes y, its front z.
TEST(ObjWrite, StandsOnItsYAxisInMetres) {
  const ObjFiles files =
      obj_of_mesh(testing::build_with("box", {{"size_mm", std::array<double, 3>{100, 60, 40}}}),
                  *find_kind("box"), "a b.mtl");
  EXPECT_NE(files.obj.find("\nmtllib a b.mtl\n"), std::string::npos);
  EXPECT_NE(files.obj.find("\nv 0.05 0.02 0.03\n"), std::string::npos) << files.obj;
  EXPECT_NE(files.obj.find("\nusemtl surface\n"), std::string::npos);
  EXPECT_EQ(files.mtl.find("newmtl surface\nKd "), 0u) << files.mtl;
}

}  // namespace
}  // namespace undercap
