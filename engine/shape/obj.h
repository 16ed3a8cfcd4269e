// A mesh from the text of an OBJ file and of the MTL files that it names, and back.
//
// Its parts are the materials of the file; faces without one are the part 'surface'. Result in metres, z up.
#pragma once

#include <filesystem>
#include <functional>
#include <string>

#include "engine/shape/kinds.h"

namespace undercap {

// The text of a file that the OBJ names. Throws Refusal when there is none.
using TextReader = std::function<std::string(const std::filesystem::path&)>;

// 'unit_m' is the length of one unit of the file; with 'y_up' its y axis points up, else its z axis. Throws
// Refusal with the file and the line of the first fault.
Mesh mesh_of_obj(std::string text, const std::filesystem::path& file, double unit_m, bool y_up,
                 const TextReader& read);

// The files of a mesh as the kind 'mesh' reads them by default: metres, y up, a material for each part. A
// part of one of several individuals is 'PART.NUMBER'. 'mtl_name' is the name of the MTL file beside the OBJ
// file. Its Kd is the part's reflectance; tints and patterns are finer than the format.
struct ObjFiles {
  std::string obj, mtl;
};
ObjFiles obj_of_mesh(const Mesh& mesh, const Kind& kind, const std::string& mtl_name);

}  // namespace undercap
