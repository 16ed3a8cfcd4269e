// A first reading of an OBJ or MTL text, line by line, so that what is wrong is refused with its own file and
// line.
//
// The loader that follows may then take every number and every index for granted.
#pragma once

#include <cstddef>
#include <filesystem>
#include <glm/vec3.hpp>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/core/errors.h"

namespace undercap {

// Limits of one file; each is named when it is passed. Together with the size of the text they bound memory.
inline constexpr std::size_t obj_triangle_limit = 8'000'000;
inline constexpr std::size_t obj_element_limit = 3 * obj_triangle_limit;  // positions, normals, places
inline constexpr std::size_t obj_corner_limit = 255;                      // of one face
inline constexpr std::size_t obj_material_limit = 4096;

struct ObjUse {
  std::string name;
  int line = 0;
};

struct ObjCensus {
  std::vector<ObjUse> material_files;  // as written
  std::vector<ObjUse> materials;       // each name once, where it is used first
  std::vector<int> face_line;          // of each face, in the file's order
  std::size_t triangles = 0;           // after polygons are cut
};

// Throws Refusal with 'file' and the line for the first fault. Makes a comment of every line that is neither
// a position, a normal, a texture place, a face nor a material in use: the loader sees nothing else.
ObjCensus check_obj(std::string& text, const std::filesystem::path& file);

// The materials of an MTL text with their Kd, linear RGB, where they have one. Refuses colours that are not
// three numbers 0..1 and picture paths that are absolute or leave the file's folder.
std::map<std::string, std::optional<glm::vec3>> check_mtl(std::string_view text,
                                                          const std::filesystem::path& file);

// A refusal of a file, at a line of it where 'line' is above 0.
Refusal refusal_at(const std::filesystem::path& file, int line, std::string message);

// A relative path inside the folder of 'file', from a line of it; refuses any other.
std::filesystem::path path_beside(const std::filesystem::path& file, const ObjUse& use,
                                  std::string_view what);

}  // namespace undercap
