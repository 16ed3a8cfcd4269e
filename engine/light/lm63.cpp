#include "engine/light/lm63.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numbers>
#include <utility>
#include <vector>

#include "engine/core/errors.h"

namespace undercap {

namespace {

constexpr double pi = std::numbers::pi;
constexpr double largest_candela = 1e12, largest_factor = 1e6;
constexpr double same_share = 0.05;      // of the peak, between two values for one direction
constexpr std::size_t most_quoted = 60;  // bytes of a line or word in a message
constexpr int most_planes = 360;         // of the table that is made

// The file's words and where they stand. Lines end in LF, CR LF or CR.
class Reader {
 public:
  Reader(std::string_view text, std::string file) : text_(text), file_(std::move(file)) {
    if (text_.starts_with("\xEF\xBB\xBF")) text_.remove_prefix(3);
  }

  bool at_end() const { return text_.empty(); }

  // The next line without blanks around it.
  std::string_view line() {
    const std::size_t end = std::min(text_.find_first_of("\r\n"), text_.size());
    const std::string_view whole = text_.substr(0, end);
    word_ = {line_, 1};
    take(end);
    if (!text_.empty()) take(text_.starts_with("\r\n") ? 2 : 1);
    const std::size_t first = whole.find_first_not_of(" \t");
    if (first == std::string_view::npos) return {};
    return whole.substr(first, whole.find_last_not_of(" \t") + 1 - first);
  }

  // The next word between blanks, commas and line ends; empty at the end of the file.
  std::string_view word() {
    take(std::min(text_.find_first_not_of(" \t,\r\n"), text_.size()));
    word_ = {line_, column_};
    const std::string_view found = text_.substr(0, text_.find_first_of(" \t,\r\n"));
    take(found.size());
    return found;
  }

  double number(const std::string& what, double least, double most) {
    const std::string_view found = word();
    if (found.empty()) refuse(fmt::format("the file ends where {} should stand", what));
    const std::string_view digits = found.substr(found.starts_with('+') ? 1 : 0);
    double value = 0;
    const auto result = std::from_chars(digits.data(), digits.data() + digits.size(), value);
    if (result.ec != std::errc() || result.ptr != digits.data() + digits.size() || !std::isfinite(value))
      refuse(fmt::format("'{}' should be {}, a number", found.substr(0, most_quoted), what));
    if (!(value >= least && value <= most))
      refuse(fmt::format("{} of {:g}: allowed is {:g} to {:g}", what, value, least, most));
    return value;
  }

  int count(const std::string& what, int least, int most) {
    const double value = number(what, least, most);
    if (value != std::floor(value)) refuse(fmt::format("{} of {:g}: allowed is a whole number", what, value));
    return static_cast<int>(value);
  }

  // At the word or line read last.
  [[noreturn]] void refuse(const std::string& message) const {
    throw Refusal(SourcePlace{file_, word_.line, word_.column}, message);
  }

 private:
  struct Place {
    int line, column;
  };

  void take(std::size_t bytes) {
    for (std::size_t i = 0; i < bytes; ++i) {
      const char c = text_[i];
      const bool ends_line = c == '\n' || (c == '\r' && !text_.substr(i).starts_with("\r\n"));
      if (ends_line) ++line_, column_ = 1;
      if (!ends_line && (static_cast<unsigned char>(c) & 0xC0) != 0x80) ++column_;
    }
    text_.remove_prefix(bytes);
  }

  std::string_view text_;
  std::string file_;
  int line_ = 1, column_ = 1;
  Place word_{1, 1};
};

struct Table {
  std::vector<double> vertical, horizontal;  // degrees, ascending
  std::vector<double> candela;               // horizontal x vertical, without factors
  double factor = 1;
};

int read_version(Reader& reader) {
  const std::string_view line = reader.line();
  if (line == "IESNA:LM-63-1995") return 1995;
  if (line == "IESNA:LM-63-2002") return 2002;
  if (line == "IES:LM-63-2019" || line == "IESNA:LM-63-2019") return 2019;
  reader.refuse(
      fmt::format("'{}' on the first line: allowed are IESNA:LM-63-1995, IESNA:LM-63-2002 and IES:LM-63-2019",
                  line.substr(0, most_quoted)));
}

void read_labels(Reader& reader) {
  while (!reader.at_end()) {
    const std::string_view line = reader.line();
    if (!line.starts_with("TILT")) continue;
    if (line != "TILT=NONE")
      reader.refuse(
          fmt::format("'{}': only TILT=NONE is read, a beam that does not change with the lamp's tilt",
                      line.substr(0, most_quoted)));
    return;
  }
  reader.refuse("the file ends without a line TILT=NONE");
}

std::vector<double> read_angles(Reader& reader, const std::string& what, int count, double most) {
  std::vector<double> angles;
  for (int i = 0; i < count; ++i) {
    const double angle = reader.number(fmt::format("{} angle {}", what, i + 1), 0, most);
    if (i == 0 && angle != 0)
      reader.refuse(fmt::format("the first {} angle is {:g}: allowed is 0", what, angle));
    if (i > 0 && !(angle > angles.back()))
      reader.refuse(
          fmt::format("{} angle {:g} after {:g}: allowed are ascending angles", what, angle, angles.back()));
    angles.push_back(angle);
  }
  return angles;
}

Table read_table(Reader& reader, int version) {
  Table table;
  reader.number("the number of lamps", 0, 1e6);
  reader.number("the lumens of a lamp", -1, 1e12);
  table.factor = reader.number("the candela multiplier", 1e-6, largest_factor);
  const int verticals = reader.count("the number of vertical angles", 2, lm63_limit_vertical);
  const int horizontals = reader.count("the number of horizontal angles", 1, lm63_limit_horizontal);
  if (const int type = reader.count("the photometric type", 1, 3); type != 1)
    reader.refuse(fmt::format("photometric type {}: only type C is read, number 1", type));
  reader.count("the type of units", 1, 2);
  for (const char* side : {"width", "length", "height"})
    reader.number(fmt::format("the {}", side), -1e6, 1e6);
  table.factor *= reader.number("the ballast factor", 1e-6, largest_factor);
  // Until 1995 a second factor, later without a meaning for the light.
  if (version == 1995)
    table.factor *= reader.number("the ballast-lamp photometric factor", 1e-6, largest_factor);
  else
    reader.number("the number before the watts", -1e6, 1e6);
  reader.number("the watts", 0, 1e9);

  table.vertical = read_angles(reader, "vertical", verticals, 180);
  if (table.vertical.back() != 90 && table.vertical.back() != 180)
    reader.refuse(
        fmt::format("the last vertical angle is {:g}: allowed are 90 and 180", table.vertical.back()));
  table.horizontal = read_angles(reader, "horizontal", horizontals, 360);
  if (const double last = table.horizontal.back(); last != 0 && last != 90 && last != 180 && last != 360)
    reader.refuse(fmt::format("the last horizontal angle is {:g}: allowed are 0, 90, 180 and 360", last));
  for (const double h : table.horizontal)
    for (const double v : table.vertical)
      table.candela.push_back(
          reader.number(fmt::format("the candela at {:g}, {:g} degrees", v, h), 0, largest_candela));
  if (const std::string_view more = reader.word(); !more.empty())
    reader.refuse(
        fmt::format("'{}' after the last candela value: the file has more numbers than its counts say",
                    more.substr(0, most_quoted)));
  return table;
}

// The horizontal angle of the file's own part of the circle that says what happens at an azimuth of 0 to 360.
double folded(double azimuth, double last) {
  if (last == 0) return 0;
  if (last == 90 && azimuth > 180) azimuth -= 180;
  if (last == 90 && azimuth > 90) return 180 - azimuth;
  if (last == 180 && azimuth > 180) return 360 - azimuth;
  return azimuth;
}

struct Between {
  std::size_t below;
  double along;
};

Between between(const std::vector<double>& angles, double angle) {
  if (angles.size() == 1) return {0, 0};
  const auto above = std::upper_bound(angles.begin() + 1, angles.end() - 1, angle);
  const auto below = static_cast<std::size_t>(above - angles.begin()) - 1;
  return {below, std::clamp((angle - angles[below]) / (angles[below + 1] - angles[below]), 0., 1.)};
}

double candela_at(const Table& table, double vertical, double azimuth) {
  const Between v = between(table.vertical, vertical);
  const Between h = between(table.horizontal, folded(azimuth, table.horizontal.back()));
  const auto in_plane = [&](std::size_t plane) {
    const double* first = &table.candela[plane * table.vertical.size() + v.below];
    return std::lerp(first[0], first[1], v.along);
  };
  return h.along == 0 ? in_plane(h.below) : std::lerp(in_plane(h.below), in_plane(h.below + 1), h.along);
}

// Planes at equal steps, as fine as the file's finest.
int planes_of(const Table& table) {
  double finest = 360;
  for (std::size_t i = 1; i < table.horizontal.size(); ++i)
    finest = std::min(finest, table.horizontal[i] - table.horizontal[i - 1]);
  return static_cast<int>(std::lround(std::min(360 / finest, double(most_planes))));
}

// Between two angles the candela are linear, so that the brightest direction is one of the file's or lies at
// 90 degrees.
double brightest_in_front(const Table& table) {
  double peak = 0;
  for (std::size_t i = 0; i < table.candela.size(); ++i)
    if (table.vertical[i % table.vertical.size()] <= 90) peak = std::max(peak, table.candela[i]);
  for (const double azimuth : table.horizontal) peak = std::max(peak, candela_at(table, 90, azimuth));
  return peak;
}

// The plane at 360 degrees is the plane at 0 once more.
void refuse_open_circle(const Table& table, double peak, const std::string& file) {
  if (table.horizontal.back() != 360) return;
  const std::size_t verticals = table.vertical.size(), last = table.candela.size() - verticals;
  for (std::size_t i = 0; i < verticals && table.vertical[i] <= 90; ++i)
    if (std::abs(table.candela[last + i] - table.candela[i]) > same_share * peak)
      throw Refusal(
          SourcePlace{file, 0, 0},
          fmt::format("at vertical angle {:g} {:g} cd at horizontal angle 0 and {:g} cd at 360, the same "
                      "direction: allowed are {:g} % of the peak between them",
                      table.vertical[i], table.candela[i], table.candela[last + i], 100 * same_share));
}

// Integral of the candela over the half space behind, in steps of half a degree.
double flux_behind(const Table& table, int planes) {
  if (table.vertical.back() == 90) return 0;
  constexpr int steps = 180;
  double sum = 0;
  for (int i = 0; i < steps; ++i) {
    const double angle = 90 + 90 * (i + .5) / steps;
    for (int plane = 0; plane < planes; ++plane)
      sum += candela_at(table, angle, 360. * plane / planes) * std::sin(angle * pi / 180);
  }
  return sum * pi / 2 / steps * 2 * pi / planes;
}

}  // namespace

MeasuredBeam beam_from_lm63(std::string_view text, const std::string& file) {
  if (text.size() > lm63_limit_bytes)
    throw Refusal(SourcePlace{file, 0, 0},
                  fmt::format("{} bytes: the limit of a measured beam is {}", text.size(), lm63_limit_bytes));
  Reader reader(text, file);
  const int version = read_version(reader);
  read_labels(reader);
  const Table table = read_table(reader, version);
  const double peak = brightest_in_front(table);
  refuse_open_circle(table, peak, file);
  if (!(peak > 0))
    throw Refusal(
        SourcePlace{file, 0, 0},
        "no light at vertical angles of 0 to 90 degrees: a lamp shines along its axis, which is vertical "
        "angle 0");
  const int planes = planes_of(table);
  std::vector<float> node;
  for (int plane = 0; plane < planes; ++plane)
    for (int i = 0; i < beam_table_nodes; ++i)
      node.push_back(
          static_cast<float>(candela_at(table, beam_node_angle(i) / 1_deg, 360. * plane / planes) / peak));
  if (std::none_of(node.begin(), node.end(), [](float ratio) { return ratio > 0.5f; }))
    throw Refusal(
        SourcePlace{file, 0, 0},
        fmt::format("its brightest direction lies between all of {} angles from the axis: a beam may not be "
                    "that narrow",
                    beam_table_nodes));
  MeasuredBeam measured;
  measured.beam = beam_of(planes, std::move(node));
  measured.peak = Intensity(peak * table.factor);
  const double front = peak * measured.beam.flux_per_candela_lm, behind = flux_behind(table, planes);
  measured.flux = Flux(front * table.factor);
  measured.behind = behind / (front + behind);
  return measured;
}

}  // namespace undercap
