// One function for each reader of files that people write or download: takes any bytes, returns when they are
// read or refused, and stops the program when they are neither, or when what was read breaks its own rules.
#pragma once

#include <string>

namespace undercap::fuzz {

void scene(const std::string& bytes);
void obj(const std::string& bytes);
void mtl(const std::string& bytes);
void lm63(const std::string& bytes);

}  // namespace undercap::fuzz
