// Where GLSL comes from: files compiled into the program, or a folder that is being edited.
//
// '#include "lib/x.glsl"' is expanded here, each file once, with '#line 1 N' so that a driver's message can
// be given with the file's name.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace undercap {

struct ShaderSource {
  std::string text;                // whole, includes expanded
  std::vector<std::string> files;  // by #line number
};

class ShaderLibrary {
 public:
  // 'embedded' maps "lib/x.glsl" to text; 'folder', when not empty, is read instead.
  explicit ShaderLibrary(std::map<std::string, std::string_view> embedded, std::filesystem::path folder = {});
  // 'defines' are whole lines put after the #version line.
  ShaderSource source(const std::string& name, const std::string& defines = {}) const;

 private:
  std::string file_text(const std::string& name) const;
  void expand(const std::string& name, ShaderSource& source) const;
  std::map<std::string, std::string_view> embedded_;
  std::filesystem::path folder_;
};

}  // namespace undercap
