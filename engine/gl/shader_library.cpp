#include "engine/gl/shader_library.h"

#include <fmt/format.h>

#include <algorithm>
#include <sstream>

#include "engine/core/errors.h"
#include "engine/core/files.h"

namespace undercap {

ShaderLibrary::ShaderLibrary(std::map<std::string, std::string_view> embedded, std::filesystem::path folder)
    : embedded_(std::move(embedded)), folder_(std::move(folder)) {}

std::string ShaderLibrary::file_text(const std::string& name) const {
  if (!folder_.empty()) return read_file(folder_ / name);
  const auto found = embedded_.find(name);
  UNDERCAP_CHECK(found != embedded_.end(), "an included shader is embedded: " + name);
  return std::string(found->second);
}

void ShaderLibrary::expand(const std::string& name, ShaderSource& source) const {
  if (std::find(source.files.begin(), source.files.end(), name) != source.files.end()) return;
  const std::size_t number = source.files.size();
  source.files.push_back(name);
  source.text += fmt::format("#line 1 {}\n", number);
  std::istringstream lines(file_text(name));
  std::string line;
  for (int count = 1; std::getline(lines, line); ++count) {
    if (line.starts_with("#include \"")) {
      expand(line.substr(10, line.find('"', 10) - 10), source);
      source.text += fmt::format("#line {} {}\n", count + 1, number);
    } else {
      source.text += line + '\n';
    }
  }
}

ShaderSource ShaderLibrary::source(const std::string& name, const std::string& defines) const {
  ShaderSource source;
  source.text = "#version 450 core\n" + defines;
  expand(name, source);
  return source;
}

}  // namespace undercap
