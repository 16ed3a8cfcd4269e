// A first reading of an OBJ or MTL text, line by line, so that what is wrong is refused with its own file and
// line.
//
// The loader that follows may then take every number and every index for granted.
#pragma once

#include <cstddef>
#include <filesystem>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "engine/core/errors.h"

namespace undercap {

inline constexpr std::size_t obj_triangle_limit = 8'000'000;

struct ObjUse {
  std::string name;
  int line = 0;
};

struct ObjCensus {
  std::vector<ObjUse> material_files;  // as written, one entry a name
  std::vector<ObjUse> materials;       // each usemtl
  std::size_t triangles = 0;           // after polygons are cut
};

// Throws Refusal with 'file' and the line for the first fault.
ObjCensus check_obj(std::string_view text, const std::filesystem::path& file);

struct MtlCensus {
  std::set<std::string> names;
  std::set<std::string> coloured;  // those with a Kd
};

// Refuses colours that are not three numbers 0..1 and picture paths that are absolute or leave the file's
// folder.
MtlCensus check_mtl(std::string_view text, const std::filesystem::path& file);

// A refusal of a file, at a line of it where 'line' is above 0.
Refusal refusal_at(const std::filesystem::path& file, int line, std::string message);

// A relative path inside the folder of 'file', from a line of it; refuses any other.
std::filesystem::path path_beside(const std::filesystem::path& file, const ObjUse& use,
                                  std::string_view what);

}  // namespace undercap
