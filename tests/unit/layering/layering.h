// The order of the modules, and how a file is held against it.
#pragma once

#include <filesystem>
#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

namespace undercap {

using Modules = std::set<std::string>;

// Which modules each module may include besides itself. app/ is not in it: it may include every module.
const std::map<std::string, Modules>& allowed_modules();

// What may lie at the top level of the repository, beside names that begin with a dot.
const std::set<std::string>& top_level_names();

// The quoted includes of a source text that break a rule, each as a sentence. 'file' is the path from the top
// level, such as "engine/scene/load.cpp".
std::vector<std::string> include_faults(const std::filesystem::path& file, std::string_view text);

// What the first '#include ' of a source text names, with its quotes or brackets; empty when there is none.
std::string first_include(std::string_view text);

// The modules that a module's CMakeLists.txt links against and may not.
std::vector<std::string> link_faults(const std::string& module, std::string_view cmake_text);

// Names at the top level that are tracked by git; outside a checkout, those in the folder without build and
// out.
std::set<std::string> top_level(const std::filesystem::path& source_folder);

}  // namespace undercap
