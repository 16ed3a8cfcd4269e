// The kind 'mesh': a shape from an OBJ file, its parts named after the materials.
#include "engine/shape/obj.h"

#include <fmt/format.h>
#include <tiny_obj_loader.h>

#include <array>
#include <cmath>
#include <glm/geometric.hpp>
#include <istream>
#include <map>
#include <numbers>
#include <optional>
#include <set>
#include <streambuf>
#include <unordered_map>

#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/obj_check.h"
#include "engine/shape/polygon.h"

namespace undercap {
namespace {

// More faces than this at one place are not compared with one another.
constexpr std::uint32_t crowd = 1000;

// Faces that meet at a sharper angle than this keep their edge where a file gives no normals.
constexpr double crease_angle = 50 * std::numbers::pi / 180;

using Colours = std::map<std::string, std::optional<glm::vec3>>;

// The Kd of each material that the MTL files define. The first file that defines a name has it.
Colours colours_of(const ObjCensus& census, const std::filesystem::path& file, const TextReader& read) {
  Colours all;
  std::set<std::filesystem::path> seen;
  for (const ObjUse& use : census.material_files) {
    const std::filesystem::path path = path_beside(file, use, "the path of an MTL file");
    if (!seen.insert(path).second) continue;
    std::string text;
    try {
      text = read(path);
    } catch (const Refusal& unreadable) {
      throw refusal_at(file, use.line, fmt::format("mtllib {}: {}", use.name, unreadable.what()));
    }
    all.merge(check_mtl(text, path));
  }
  for (const ObjUse& use : census.materials)
    if (!census.material_files.empty() && !all.contains(use.name))
      throw refusal_at(file, use.line,
                       fmt::format("usemtl {}: the MTL file defines no such material", use.name));
  return all;
}

struct Loaded {
  tinyobj::attrib_t attributes;
  std::vector<tinyobj::shape_t> shapes;
  std::vector<tinyobj::material_t> materials;
};

// A text as a stream, without a copy of it.
class TextBuffer : public std::streambuf {
 public:
  explicit TextBuffer(std::string& text) { setg(text.data(), text.data(), text.data() + text.size()); }
};

// The library sees lines that check_obj() has let pass, and of the materials nothing but their names.
Loaded load(std::string& obj_text, const ObjCensus& census, const std::filesystem::path& file) {
  Loaded loaded;
  std::string names;
  for (const ObjUse& use : census.materials) names += fmt::format("newmtl {}\n", use.name);
  // Our own first line makes the reader take them, once, whatever the file says.
  obj_text.insert(0, "mtllib names\n");
  TextBuffer obj_buffer(obj_text), name_buffer(names);
  std::istream obj_stream(&obj_buffer), name_stream(&name_buffer);
  tinyobj::MaterialStreamReader reader(name_stream);
  std::string warning, error;
  if (!tinyobj::LoadObj(&loaded.attributes, &loaded.shapes, &loaded.materials, &warning, &error, &obj_stream,
                        &reader, false, false)) {
    throw refusal_at(file, 0, error.empty() ? "is not a readable OBJ file" : error);
  }
  return loaded;
}

glm::dvec3 turned(double x, double y, double z, bool y_up) {
  return y_up ? glm::dvec3(x, -z, y) : glm::dvec3(x, y, z);
}

// A loaded triangle: corners into the file's positions, twice its area along its normal.
struct Face {
  std::array<std::uint32_t, 3> position{};
  std::array<int, 3> file_normal{};  // -1 = none
  glm::dvec3 across{};
  std::uint32_t part = 0;
};

class Assembly {
 public:
  Assembly(const Loaded& loaded, const Colours& colours, const ObjCensus& census,
           const std::filesystem::path& file, double unit_m, bool y_up)
      : loaded_(loaded), colours_(colours), census_(census), file_(file), y_up_(y_up) {
    const auto& flat = loaded.attributes.vertices;
    for (std::size_t i = 0; i + 2 < flat.size(); i += 3) {
      // Rounded as the mesh will hold them, so that an area above 0 here is one there.
      places_.emplace_back(
          glm::vec3(unit_m * turned(static_cast<double>(flat[i]), static_cast<double>(flat[i + 1]),
                                    static_cast<double>(flat[i + 2]), y_up)));
    }
    collect_faces();
    if (!all_normals_given_) meet_at_positions();
  }

  Mesh mesh() {
    for (const Face& face : faces_) {
      std::array<std::uint32_t, 3> made{};
      for (std::size_t k = 0; k < 3; ++k) made[k] = emitted(face, k);
      mesh_.triangle.push_back({made[0], made[1], made[2], face.part});
    }
    return std::move(mesh_);
  }

 private:
  void collect_faces() {
    std::size_t number = 0;
    for (const tinyobj::shape_t& shape : loaded_.shapes) {
      std::size_t first = 0;
      for (std::size_t f = 0; f < shape.mesh.num_face_vertices.size(); ++f, ++number) {
        const std::size_t corners = shape.mesh.num_face_vertices[f];
        add_polygon(&shape.mesh.indices[first], corners, shape.mesh.material_ids[f], number);
        first += corners;
      }
    }
  }

  void add_polygon(const tinyobj::index_t* index, std::size_t corners, int material, std::size_t number) {
    if (corners == 3) return add_triangle({index[0], index[1], index[2]}, material);
    outline_.clear();
    for (std::size_t k = 0; k < corners; ++k)
      outline_.push_back(places_[static_cast<std::size_t>(index[k].vertex_index)]);
    const auto cut = cut_polygon(outline_);
    if (!cut)
      throw refusal_at(file_, number < census_.face_line.size() ? census_.face_line[number] : 0,
                       "the outline of this face crosses itself: cut it into triangles");
    for (const auto& [a, b, c] : *cut) add_triangle({index[a], index[b], index[c]}, material);
  }

  void add_triangle(const std::array<tinyobj::index_t, 3>& index, int material) {
    Face face;
    for (std::size_t k = 0; k < 3; ++k) {
      face.position[k] = static_cast<std::uint32_t>(index[k].vertex_index);
      face.file_normal[k] = usable_normal(index[k].normal_index);
      all_normals_given_ = all_normals_given_ && face.file_normal[k] >= 0;
    }
    const glm::dvec3& origin = places_[face.position[0]];
    face.across = glm::cross(places_[face.position[1]] - origin, places_[face.position[2]] - origin);
    // A face without area is neither seen nor lit.
    if (!(glm::length(face.across) > 0)) return;
    face.part = part_of(material);
    faces_.push_back(face);
  }

  // Index -1 stands for faces without a material.
  std::uint32_t part_of(int material) {
    const auto at = static_cast<std::size_t>(material + 1);
    if (part_.size() <= at) part_.resize(at + 1);
    if (part_[at]) return *part_[at];
    const std::string name =
        material < 0 ? "surface" : loaded_.materials[static_cast<std::size_t>(material)].name;
    // Names differ but for 'surface', which faces without a material have too; looking thousands up takes
    // long.
    if (name == "surface") {
      part_[at] = mesh_.part_index(name);
    } else {
      part_[at] = static_cast<std::uint32_t>(mesh_.parts.size());
      mesh_.parts.push_back({.name = name});
    }
    if (const auto colour = colours_.find(name); material >= 0 && colour != colours_.end())
      mesh_.parts[*part_[at]].reflectance = colour->second;
    return *part_[at];
  }

  glm::dvec3 file_normal(int index) const {
    const auto at = static_cast<std::size_t>(index) * 3;
    const auto& flat = loaded_.attributes.normals;
    return turned(static_cast<double>(flat[at]), static_cast<double>(flat[at + 1]),
                  static_cast<double>(flat[at + 2]), y_up_);
  }

  int usable_normal(int index) const {
    return index >= 0 && glm::length(file_normal(index)) > 1e-6 ? index : -1;
  }

  // For each position, the faces that meet there: faces_at_ from first_at_[p] to first_at_[p + 1].
  void meet_at_positions() {
    first_at_.assign(places_.size() + 1, 0);
    for (const Face& face : faces_) {
      for (const std::uint32_t p : face.position) ++first_at_[p + 1];
    }
    for (std::size_t p = 1; p < first_at_.size(); ++p) first_at_[p] += first_at_[p - 1];
    faces_at_.resize(faces_.size() * 3);
    std::vector<std::uint32_t> next(first_at_.begin(), first_at_.end() - 1);
    for (std::size_t f = 0; f < faces_.size(); ++f) {
      for (const std::uint32_t p : faces_[f].position) faces_at_[next[p]++] = static_cast<std::uint32_t>(f);
    }
  }

  // Comparing each with each, thousands of faces at one place would take hours. There every face keeps a
  // normal of its own; the pole of a finely cut dome is the only honest case, and its slivers are too thin to
  // be seen.
  bool is_crowded(std::uint32_t position) const {
    return !first_at_.empty() && first_at_[position + 1] - first_at_[position] > crowd;
  }

  double corner_angle(const Face& face, std::uint32_t position) const {
    std::size_t k = 0;
    while (face.position[k] != position) ++k;
    const glm::dvec3 to_next = places_[face.position[(k + 1) % 3]] - places_[position];
    const glm::dvec3 to_last = places_[face.position[(k + 2) % 3]] - places_[position];
    return std::atan2(glm::length(face.across), glm::dot(to_next, to_last));
  }

  // A made normal is weighted by the angle of each face at the corner, which does not depend on how polygons
  // are cut into triangles (Thuermer & Wuethrich 1998, "Computing vertex normals from polygonal facets").
  glm::vec3 corner_normal(const Face& face, std::size_t k) const {
    if (face.file_normal[k] >= 0) return glm::vec3(glm::normalize(file_normal(face.file_normal[k])));
    const std::uint32_t p = face.position[k];
    if (is_crowded(p)) return glm::vec3(glm::normalize(face.across));
    const double least = std::cos(crease_angle);
    glm::dvec3 sum(0);
    for (std::uint32_t at = first_at_[p]; at < first_at_[p + 1]; ++at) {
      const Face& other = faces_[faces_at_[at]];
      const glm::dvec3 normal = glm::normalize(other.across);
      if (glm::dot(glm::normalize(face.across), normal) >= least) sum += corner_angle(other, p) * normal;
    }
    return glm::vec3(glm::normalize(sum));
  }

  // The mesh's index for a corner, shared between corners of the same position and normal.
  std::uint32_t emitted(const Face& face, std::size_t k) {
    const glm::vec3 normal = corner_normal(face, k);
    auto [at, end] = known_.equal_range(face.position[k]);
    for (std::uint32_t tried = 0; at != end && tried < crowd; ++at, ++tried) {
      const glm::vec3 difference = mesh_.normal[at->second] - normal;
      if (glm::dot(difference, difference) < 1e-10f) return at->second;
    }
    const auto index = static_cast<std::uint32_t>(mesh_.position.size());
    mesh_.position.emplace_back(places_[face.position[k]]);
    mesh_.normal.push_back(normal);
    known_.emplace(face.position[k], index);
    return index;
  }

  const Loaded& loaded_;
  const Colours& colours_;
  const ObjCensus& census_;
  const std::filesystem::path& file_;
  bool y_up_;
  bool all_normals_given_ = true;
  std::vector<glm::dvec3> places_;
  std::vector<glm::dvec3> outline_;
  std::vector<std::optional<std::uint32_t>> part_;  // by material + 1
  std::vector<Face> faces_;
  std::vector<std::uint32_t> first_at_, faces_at_;
  std::unordered_multimap<std::uint32_t, std::uint32_t> known_;
  Mesh mesh_;
};

double unit_in_metres(const std::string& unit) {
  static const std::map<std::string, double> units = {{"mm", 1e-3}, {"cm", 1e-2}, {"m", 1.0}, {"in", 0.0254}};
  const auto found = units.find(unit);
  UNDERCAP_CHECK(found != units.end(), fmt::format("unit is mm, cm, m or in, is {}", unit));
  return found->second;
}

Mesh build(const KeyValues& values, const Setting&) {
  const std::filesystem::path file = text(values, "file");
  const TextReader read = [&](const std::filesystem::path& path) {
    if (!stays_inside(file.parent_path(), path))
      throw Refusal("a link that leads out of the OBJ file's folder; put the file itself there");
    return read_file(path);
  };
  return mesh_of_obj(read_file(file), file, unit_in_metres(text(values, "unit")), text(values, "up") == "y",
                     read);
}

}  // namespace

Mesh mesh_of_obj(std::string text, const std::filesystem::path& file, double unit_m, bool y_up,
                 const TextReader& read) {
  const ObjCensus census = check_obj(text, file);
  const Colours colours = colours_of(census, file, read);
  const Loaded loaded = load(text, census, file);
  text = {};
  Mesh mesh = Assembly(loaded, colours, census, file, unit_m, y_up).mesh();
  if (mesh.triangle.empty()) throw refusal_at(file, 0, "holds no face with an area");
  return mesh;
}

Kind mesh_kind() {
  return {
      "mesh",
      "a shape from an OBJ file; its parts are the file's materials, and its own origin stands on its place",
      {text_key("file", "",
                "the OBJ file, relative to the scene; pictures named by its MTL are not read, Kd is"),
       choice_key("unit", "m", "mm cm m in", "what one unit of the file is"),
       choice_key("up", "y", "y z",
                  "the axis of the file that points up; its front is +z with y up, -y with z up")},
      {{"surface", {}, false}},
      build};
}

}  // namespace undercap
