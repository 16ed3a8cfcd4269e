#include "engine/shape/obj_check.h"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <set>

#include "engine/core/text.h"

namespace undercap {
namespace {

constexpr double coordinate_limit = 1e9;

// A word of a file as a message shows it.
std::string shortened(std::string_view word) {
  constexpr std::size_t most = 40;
  return word.size() <= most ? std::string(word) : fmt::format("{}...", word.substr(0, most));
}

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\r'; }

// The words of one line after another, with the line's number.
class Lines {
 public:
  explicit Lines(std::string_view text) : rest_(text) {}
  bool next() {
    if (rest_.empty()) return false;
    const std::size_t end = rest_.find('\n');
    whole_ = line_ = rest_.substr(0, end);
    rest_ = end == std::string_view::npos ? std::string_view() : rest_.substr(end + 1);
    ++number_;
    return true;
  }
  std::string_view word() {
    while (!line_.empty() && is_blank(line_.front())) line_.remove_prefix(1);
    std::size_t length = 0;
    while (length < line_.size() && !is_blank(line_[length])) ++length;
    const std::string_view found = line_.substr(0, length);
    line_.remove_prefix(length);
    return found;
  }
  // What is left of the line, without blanks at its ends.
  std::string_view remainder() {
    while (!line_.empty() && is_blank(line_.front())) line_.remove_prefix(1);
    while (!line_.empty() && is_blank(line_.back())) line_.remove_suffix(1);
    return line_;
  }
  std::string_view whole() const { return whole_; }
  int number() const { return number_; }

 private:
  std::string_view rest_, line_, whole_;
  int number_ = 0;
};

class Checker {
 public:
  Checker(std::string_view text, const std::filesystem::path& file) : lines_(text), file_(file) {}

 protected:
  [[noreturn]] void refuse(const std::string& message) const {
    throw refusal_at(file_, lines_.number(), message);
  }

  // Goes to the next line. Other readers end a line at every carriage return and a text at a zero byte, so
  // both are refused where they stand.
  bool next_line() {
    if (!lines_.next()) return false;
    std::string_view line = lines_.whole();
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    if (line.find('\r') != line.npos)
      refuse("a carriage return in the middle of a line: save the file with line ends LF or CR LF");
    if (line.find('\0') != line.npos) refuse("a zero byte: this is no text file");
    return true;
  }

  // The one word that names a material.
  std::string material_name(std::string_view keyword) {
    const std::string name(lines_.word());
    if (name.empty() || !lines_.remainder().empty())
      refuse(fmt::format("a material has a name of one word: '{} NAME'", keyword));
    constexpr std::size_t longest = 200;
    if (name.size() > longest || !is_printable(name))
      refuse(fmt::format("the material's name must be UTF-8 text of at most {} bytes: rename it", longest));
    return name;
  }

  double finite_number(std::string_view word, std::string_view what) const {
    std::string_view digits = word;
    if (!digits.empty() && digits.front() == '+') digits.remove_prefix(1);
    double value = 0;
    const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
    const bool read = error == std::errc() && end == digits.data() + digits.size() && !digits.empty();
    if (!read || !std::isfinite(value)) {
      refuse(fmt::format("'{}' is not a finite number: {}", shortened(word), what));
    }
    return value;
  }

  Lines lines_;
  const std::filesystem::path& file_;
};

struct Counts {
  long long positions = 0, textures = 0, normals = 0;
};

Counts count_elements(std::string_view text) {
  Counts counts;
  Lines lines(text);
  while (lines.next()) {
    const std::string_view keyword = lines.word();
    if (keyword == "v") ++counts.positions;
    if (keyword == "vt") ++counts.textures;
    if (keyword == "vn") ++counts.normals;
  }
  return counts;
}

class ObjChecker : Checker {
 public:
  ObjChecker(std::string& text, const std::filesystem::path& file)
      : Checker(text, file), text_(text), total_(count_elements(text)) {}

  ObjCensus run() {
    while (next_line()) {
      const std::string_view keyword = lines_.word();
      if (keyword.empty() || keyword.front() == '#') continue;
      if (lines_.whole().find_last_not_of(" \t\r") == lines_.whole().rfind('\\'))
        refuse("a line that goes on with \\ is not read: join it with the next one");
      if (keyword == "v") {
        numbers(3, "a position is 'v x y z'");
        count(so_far_.positions, "positions (v)");
      } else if (keyword == "vn") {
        numbers(3, "a normal is 'vn x y z'");
        count(so_far_.normals, "normals (vn)");
      } else if (keyword == "vt") {
        numbers(1, "a texture place is 'vt u v'");
        count(so_far_.textures, "texture places (vt)");
      } else if (keyword == "f") {
        face();
      } else if (keyword == "usemtl") {
        material();
      } else {
        other(keyword);
        text_[static_cast<std::size_t>(lines_.whole().data() - text_.data())] = '#';
      }
    }
    if (census_.triangles == 0) {
      throw refusal_at(file_, 0, "holds no face: a mesh needs at least one line 'f a b c'");
    }
    return std::move(census_);
  }

 private:
  void count(long long& elements, std::string_view what) {
    if (++elements > static_cast<long long>(obj_element_limit))
      refuse(fmt::format("more than {} {}, which is the limit: thin the mesh out", obj_element_limit, what));
  }

  void material() {
    std::string name = material_name("usemtl");
    if (!names_.insert(name).second) return;
    if (names_.size() > obj_material_limit)
      refuse(fmt::format("more than {} materials, which is the limit: join some", obj_material_limit));
    census_.materials.push_back({std::move(name), lines_.number()});
  }

  // Lines that the loader need not see.
  void other(std::string_view keyword) {
    if (keyword == "call" || keyword == "csh")
      refuse(
          fmt::format("'{}' calls another file or a command, which is never done: remove the line", keyword));
    if (keyword != "mtllib") return;
    if (census_.material_files.size() == obj_material_limit)
      refuse(fmt::format("more than {} lines mtllib, which is the limit", obj_material_limit));
    census_.material_files.push_back({std::string(lines_.remainder()), lines_.number()});
  }

  void numbers(int least, std::string_view what) {
    int found = 0;
    for (std::string_view word = lines_.word(); !word.empty(); word = lines_.word(), ++found) {
      const double value = finite_number(word, what);
      if (std::abs(value) > coordinate_limit) {
        refuse(fmt::format("{} is too large: numbers may be -1e9 to 1e9", shortened(word)));
      }
    }
    if (found < least) refuse(fmt::format("{} numbers where {} are needed: {}", found, least, what));
  }

  void face() {
    std::size_t corners = 0;
    for (std::string_view word = lines_.word(); !word.empty(); word = lines_.word(), ++corners) corner(word);
    if (corners < 3) refuse(fmt::format("a face has at least 3 corners, this one has {}", corners));
    if (corners > obj_corner_limit)
      refuse(fmt::format("a face has at most {} corners, this one has {}: cut it into triangles",
                         obj_corner_limit, corners));
    census_.triangles += corners - 2;
    census_.face_line.push_back(lines_.number());
    if (census_.triangles > obj_triangle_limit) {
      refuse(
          fmt::format("more than {} triangles, which is the limit: thin the mesh out", obj_triangle_limit));
    }
  }

  // v, v/vt, v//vn or v/vt/vn.
  void corner(std::string_view word) {
    std::string_view fields[3];
    int count = 0;
    for (std::string_view rest = word;;) {
      const std::size_t slash = rest.find('/');
      if (count == 3) refuse(fmt::format("corner '{}' has more than three indices", shortened(word)));
      fields[count++] = rest.substr(0, slash);
      if (slash == std::string_view::npos) break;
      rest = rest.substr(slash + 1);
    }
    if (count > 1 && fields[count - 1].empty())
      refuse(fmt::format("corner '{}' ends in a slash: wanted v, v/vt, v//vn or v/vt/vn", shortened(word)));
    index(word, fields[0], so_far_.positions, total_.positions, "positions (v)");
    if (!fields[1].empty()) index(word, fields[1], so_far_.textures, total_.textures, "texture places (vt)");
    if (!fields[2].empty()) index(word, fields[2], so_far_.normals, total_.normals, "normals (vn)");
  }

  void index(std::string_view word, std::string_view field, long long so_far, long long total,
             std::string_view what) const {
    long long value = 0;
    const auto [end, error] = std::from_chars(field.data(), field.data() + field.size(), value);
    if (error != std::errc() || end != field.data() + field.size() || field.empty()) {
      refuse(
          fmt::format("'{}' is not a corner of a face: wanted v, v/vt, v//vn or v/vt/vn", shortened(word)));
    }
    if (value == 0) refuse(fmt::format("index 0 in corner '{}': indices count from 1", shortened(word)));
    if (value > total) {
      refuse(fmt::format("index {} in corner '{}' is out of range: the file has {} {}", value,
                         shortened(word), total, what));
    }
    if (value < 0 && value < -so_far) {
      refuse(fmt::format("index {} in corner '{}' is out of range: {} {} come before this line", value,
                         shortened(word), so_far, what));
    }
  }

  std::string& text_;
  Counts total_, so_far_;
  std::set<std::string> names_;
  ObjCensus census_;
};

class MtlChecker : Checker {
 public:
  using Checker::Checker;

  std::map<std::string, std::optional<glm::vec3>> run() {
    std::map<std::string, std::optional<glm::vec3>> materials;
    std::optional<glm::vec3>* last = nullptr;
    while (next_line()) {
      const std::string_view keyword = lines_.word();
      if (keyword == "newmtl") {
        const auto [made, is_new] = materials.try_emplace(material_name("newmtl"));
        if (!is_new) refuse(fmt::format("the material '{}' is defined twice: keep one", made->first));
        last = &made->second;
      } else if (keyword == "Kd") {
        if (!last) refuse("Kd before the first newmtl: whose colour is it?");
        *last = colour();
      } else if (keyword.starts_with("map_") || keyword == "bump" || keyword == "disp" ||
                 keyword == "decal" || keyword == "norm" || keyword == "refl") {
        picture();
      }
    }
    return materials;
  }

 private:
  glm::vec3 colour() {
    glm::vec3 rgb;
    for (int channel = 0; channel < 3; ++channel) {
      const std::string_view word = lines_.word();
      const double value = finite_number(word, "a colour is 'Kd r g b'");
      if (value < 0 || value > 1)
        refuse(fmt::format("Kd {} is out of range: a reflectance is 0 to 1", shortened(word)));
      rgb[channel] = static_cast<float>(value);
    }
    return rgb;
  }

  // Options start with '-'; the path is the line's last word.
  void picture() {
    std::string last;
    for (std::string_view word = lines_.word(); !word.empty(); word = lines_.word()) last = word;
    path_beside(file_, {last, lines_.number()}, "a picture's path");
  }
};

}  // namespace

Refusal refusal_at(const std::filesystem::path& file, int line, std::string message) {
  std::vector<Fault> faults(1);
  faults[0].place.file = file.string();
  faults[0].place.line = line;
  faults[0].message = std::move(message);
  return Refusal(std::move(faults));
}

ObjCensus check_obj(std::string& text, const std::filesystem::path& file) {
  return ObjChecker(text, file).run();
}

std::map<std::string, std::optional<glm::vec3>> check_mtl(std::string_view text,
                                                          const std::filesystem::path& file) {
  return MtlChecker(text, file).run();
}

std::filesystem::path path_beside(const std::filesystem::path& file, const ObjUse& use,
                                  std::string_view what) {
  std::string written = use.name;
  for (char& c : written) c = c == '\\' ? '/' : c;
  const std::filesystem::path path = std::filesystem::path(written).lexically_normal();
  const bool drive = written.size() > 1 && written[1] == ':';
  if (written.empty() || drive || path.is_absolute() || *path.begin() == "..") {
    throw refusal_at(
        file, use.line,
        fmt::format("'{}': {} must be relative and stay inside the file's own folder", use.name, what));
  }
  return file.parent_path() / path;
}

}  // namespace undercap
