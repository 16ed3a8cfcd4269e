#include "tests/unit/layering/layering.h"

#include <fmt/format.h>

#include <cstdio>
#include <memory>
#include <regex>
#include <sstream>

namespace undercap {
namespace {

Modules together(const Modules& one, const Modules& other) {
  Modules all = one;
  all.insert(other.begin(), other.end());
  return all;
}

std::map<std::string, Modules> make_table() {
  const Modules scene = {"core", "colour", "optics", "light", "surface", "shape"};
  const Modules world = together(scene, {"scene"});
  const Modules render = {"core", "colour", "optics", "image", "gl", "surface", "world"};
  const Modules measure = together(render, {"render", "draw"});
  const Modules report = {"core", "colour", "optics", "image", "draw", "world", "measure"};
  const Modules session = {"core",    "colour", "optics", "image", "draw",   "gl",      "light",
                           "surface", "shape",  "scene",  "world", "render", "measure", "report"};
  return {{"core", {}},
          {"colour", {"core"}},
          {"optics", {"core"}},
          {"image", {"core", "colour"}},
          {"draw", {"core"}},
          {"gl", {"core"}},
          {"light", {"core", "colour"}},
          {"surface", {"core", "colour"}},
          {"shape", {"core", "surface"}},
          {"scene", scene},
          {"world", world},
          {"render", render},
          {"measure", measure},
          {"report", report},
          {"session", session}};
}

std::vector<std::string> parts_of(const std::filesystem::path& path) {
  std::vector<std::string> parts;
  for (const auto& part : path) parts.push_back(part.string());
  return parts;
}

// Empty when the include keeps the rules.
std::string fault_of(const std::vector<std::string>& file, const std::string& include) {
  const bool in_engine = file.at(0) == "engine";
  const auto path = parts_of(include);
  if (path[0] == "shaders") return "";
  if (path[0] == "app" && !in_engine) return "";
  if (path[0] != "engine") return "is quoted but does not begin at the top level";
  if (path.size() < 3 || std::filesystem::path(include).extension() != ".h")
    return "is no header of a module";
  const std::string& wanted = path[1];
  if (!allowed_modules().contains(wanted)) return "names an unknown module";
  if (in_engine && file.at(1) == wanted) return "";
  if (path.size() > 3) return "is private to its module";
  if (in_engine && !allowed_modules().at(file.at(1)).contains(wanted))
    return "goes against the order of the modules";
  return "";
}

struct Close {
  void operator()(std::FILE* file) const { ::pclose(file); }
};

// What 'git ls-files -z' prints; empty outside a checkout or without git.
std::string tracked_files(const std::filesystem::path& folder) {
  const std::string quoted = std::regex_replace(folder.string(), std::regex("'"), "'\\''");
  const std::string command = fmt::format("git -C '{}' ls-files -z 2>/dev/null", quoted);
  const std::unique_ptr<std::FILE, Close> git(::popen(command.c_str(), "r"));
  std::string output;
  char block[4096];
  if (git == nullptr) return output;
  while (const std::size_t count = std::fread(block, 1, sizeof block, git.get())) output.append(block, count);
  return output;
}

}  // namespace

const std::map<std::string, Modules>& allowed_modules() {
  static const std::map<std::string, Modules> table = make_table();
  return table;
}

const std::set<std::string>& top_level_names() {
  static const std::set<std::string> names = {"CMakeLists.txt", "README.md", "DEVELOPERS.md", "LICENSE",
                                              "engine",         "scenes",    "shaders",       "app",
                                              "tests",          "assets"};
  return names;
}

std::vector<std::string> include_faults(const std::filesystem::path& file, std::string_view text) {
  const auto place = parts_of(file);
  const std::string source(text);
  const std::regex quoted("(?:^|\n)[ \t]*#[ \t]*include[ \t]*\"([^\"\n]*)\"");
  std::vector<std::string> faults;
  if (place.at(0) == "engine" && !allowed_modules().contains(place.at(1)))
    return {file.string() + " belongs to no module of the table"};
  for (std::sregex_iterator found(source.begin(), source.end(), quoted), end; found != end; ++found) {
    const std::string include = (*found)[1];
    if (const std::string fault = fault_of(place, include); !fault.empty())
      faults.push_back(file.string() + ": \"" + include + "\" " + fault);
  }
  return faults;
}

std::string first_include(std::string_view text) {
  constexpr std::string_view word = "#include ";
  const std::size_t at = text.find(word);
  if (at == text.npos) return "";
  const std::string_view rest = text.substr(at + word.size());
  return std::string(rest.substr(0, rest.find('\n')));
}

std::vector<std::string> link_faults(const std::string& module, std::string_view cmake_text) {
  const std::string source(cmake_text);
  const std::regex target("undercap_([a-z]+)");
  std::vector<std::string> faults;
  for (std::sregex_iterator found(source.begin(), source.end(), target), end; found != end; ++found) {
    const std::string wanted = (*found)[1];
    if (allowed_modules().contains(wanted) && wanted != module &&
        !allowed_modules().at(module).contains(wanted))
      faults.push_back("engine/" + module + "/CMakeLists.txt links " + wanted +
                       " against the order of the modules");
  }
  return faults;
}

std::set<std::string> top_level(const std::filesystem::path& source_folder) {
  std::set<std::string> names;
  std::istringstream tracked(tracked_files(source_folder));
  for (std::string file; std::getline(tracked, file, '\0');) names.insert(file.substr(0, file.find('/')));
  if (!names.empty()) return names;
  for (const auto& entry : std::filesystem::directory_iterator(source_folder))
    names.insert(entry.path().filename().string());
  names.erase("build");
  names.erase("out");
  return names;
}

}  // namespace undercap
