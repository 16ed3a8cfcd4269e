// A mesh as OBJ and MTL text.
#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "engine/core/errors.h"
#include "engine/shape/obj.h"

namespace undercap {
namespace {

const KindPart& kind_part(const Kind& kind, const MeshPart& part) {
  const auto found = std::find_if(kind.parts.begin(), kind.parts.end(),
                                  [&](const KindPart& known) { return known.name == part.name; });
  UNDERCAP_CHECK(found != kind.parts.end() || kind.name == "mesh",
                 fmt::format("kind {} has the part {} of its mesh", kind.name, part.name));
  return found == kind.parts.end() ? kind.parts.front() : *found;
}

// The shortest text that gives the number back.
void add_line(std::string& text, const char* keyword, const glm::vec3& v) {
  fmt::format_to(std::back_inserter(text), "{} {} {} {}\n", keyword, v.x, v.y, v.z);
}

}  // namespace

ObjFiles obj_of_mesh(const Mesh& mesh, const Kind& kind, const std::string& mtl_name) {
  const bool many = std::any_of(mesh.parts.begin(), mesh.parts.end(),
                                [](const MeshPart& part) { return part.individual > 1; });
  std::vector<std::string> names;
  ObjFiles files;
  for (const MeshPart& part : mesh.parts) {
    names.push_back(many ? fmt::format("{}.{}", part.name, part.individual) : part.name);
    files.mtl += fmt::format("newmtl {}\n", names.back());
    add_line(files.mtl, "Kd", part.reflectance.value_or(kind_part(kind, part).material.reflectance));
  }
  std::string& obj = files.obj;
  obj = fmt::format("# {}; metres, y up\nmtllib {}\n", kind.name, mtl_name);
  const auto y_up = [](const glm::vec3& v) { return glm::vec3(v.x, v.z, -v.y); };
  for (const glm::vec3& place : mesh.position) add_line(obj, "v", y_up(place));
  for (const glm::vec3& normal : mesh.normal) add_line(obj, "vn", y_up(normal));
  const bool shaded = !mesh.normal.empty();
  // By parts: the order of triangles is kept within each.
  for (std::uint32_t part = 0; part < mesh.parts.size(); ++part) {
    fmt::format_to(std::back_inserter(obj), "usemtl {}\n", names[part]);
    for (const MeshTriangle& t : mesh.triangle) {
      if (t.part != part) continue;
      if (shaded)
        fmt::format_to(std::back_inserter(obj), "f {0}//{0} {1}//{1} {2}//{2}\n", t.a + 1, t.b + 1, t.c + 1);
      else
        fmt::format_to(std::back_inserter(obj), "f {} {} {}\n", t.a + 1, t.b + 1, t.c + 1);
    }
  }
  return files;
}

}  // namespace undercap
