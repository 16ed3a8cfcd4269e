#include "tests/unit/cli/set_up.h"

#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <memory>
#include <stdexcept>

#include "engine/core/files.h"

namespace undercap {
namespace fs = std::filesystem;

Cli::Cli() {
  std::string made = (fs::temp_directory_path() / "undercap_cli_XXXXXX").string();
  if (!::mkdtemp(made.data())) throw std::runtime_error("no temporary folder");
  folder = made;
}

Cli::~Cli() {
  std::error_code ignored;
  fs::remove_all(folder, ignored);
}

void Cli::write(const std::string& name, const std::string& text) const {
  std::ofstream(folder / name, std::ios::binary) << text;
}

std::string Cli::read(const std::string& name) const { return read_file(folder / name); }

bool Cli::exists(const std::string& name) const { return fs::exists(folder / name); }

std::vector<std::string> Cli::names() const {
  std::vector<std::string> found;
  for (const auto& entry : fs::directory_iterator(folder)) found.push_back(entry.path().filename().string());
  std::sort(found.begin(), found.end());
  return found;
}

Finished Cli::run(std::vector<std::string> arguments, ChildOptions options) const {
  if (options.folder.empty()) options.folder = folder.string();
  return run_program(arguments, options);
}

Finished Cli::draft(std::vector<std::string> arguments, ChildOptions options) const {
  std::vector<std::string> whole;
  whole.emplace_back("render");
  for (std::string& argument : arguments) whole.push_back(std::move(argument));
  for (const char* last : {"--size", "32x32", "--quality", "draft", "--device", "software"})
    whole.emplace_back(last);
  return run(std::move(whole), std::move(options));
}

void Cli::expect_refusal(const std::vector<std::string>& arguments, const std::string& message,
                         int status) const {
  std::string line;
  for (const std::string& argument : arguments) line += " " + argument;
  SCOPED_TRACE("undercap" + line);
  const auto before = names();
  const Finished finished = run(arguments);
  EXPECT_EQ(finished.status, status);
  EXPECT_EQ(finished.out, "");
  EXPECT_EQ(finished.err, "undercap: " + message + "\n");
  EXPECT_EQ(names(), before);
}

void Cli::expect_check(const std::string& scene_text, const std::string& message) const {
  write("wood.toml", scene_text);
  expect_refusal({"check", "wood.toml"}, message);
}

std::string glowing_card() {
  return "undercap = 1\n"
         "title = \"A card\"\n"
         "[ground]\n"
         "kind = \"none\"\n"
         "[sky]\n"
         "model = \"off\"\n"
         "[camera]\n"
         "position_m = [0, -0.6, 0]\n"
         "[[prop]]\n"
         "name = \"card\"\n"
         "kind = \"card\"\n"
         "at_m = [0, 0, 0]\n"
         "size_mm = [300, 300]\n"
         "[prop.material.surface]\n"
         "emission_cd_m2 = 100\n";
}

namespace {

struct Close {
  void operator()(std::FILE* pipe) const { ::pclose(pipe); }
};

}  // namespace

std::string said_by(const std::string& command) {
  const std::unique_ptr<std::FILE, Close> pipe(::popen((command + " 2>&1").c_str(), "r"));
  std::string all;
  std::array<char, 4096> part{};
  while (const std::size_t got = std::fread(part.data(), 1, part.size(), pipe.get()))
    all.append(part.data(), got);
  return all;
}

std::string replaced(std::string text, const std::string& line, const std::string& by) {
  const std::size_t at = text.find(line + "\n");
  if (at == std::string::npos) throw std::runtime_error("no such line: " + line);
  return text.replace(at, line.size(), by);
}

}  // namespace undercap
