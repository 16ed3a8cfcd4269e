#include "engine/surface/materials.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <glm/vec3.hpp>

#include "engine/core/errors.h"
#include "engine/surface/coat.h"
#include "engine/surface/film.h"
#include "engine/surface/kubelka_munk.h"
#include "engine/surface/surface_tables.h"

namespace undercap {
namespace {

std::string_view trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(" \t\r");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}

// One line: a name, 11 numbers, an origin, and the source, which may hold commas.
class RowReader {
 public:
  RowReader(std::string_view line, SourcePlace place) : rest_(line), place_(std::move(place)) {}

  MaterialRow row() {
    MaterialRow row;
    row.name = word("a name");
    row.material.reflectance = colour("reflectance");
    row.material.transmittance = colour("transmittance");
    row.material.roughness = static_cast<float>(number("roughness", 1));
    row.material.mirror = colour("mirror");
    row.thickness_mm = number("thickness_mm", 1000);
    row.origin = origin();
    row.source = trimmed(rest_);
    if (row.source.empty()) refuse("the source is missing");
    const bool sheet = row.material.transmittance != glm::vec3(0);
    if (sheet != (row.thickness_mm > 0)) refuse("a sheet transmits and has a thickness, a solid neither");
    for (int channel = 0; channel < 3; ++channel)
      if (row.material.reflectance[channel] + row.material.transmittance[channel] > 1)
        refuse("reflectance and transmittance come to more than 1");
    return row;
  }

 private:
  [[noreturn]] void refuse(const std::string& fault) const { throw Refusal(place_, fault); }

  std::string_view word(std::string_view wanted) {
    const auto comma = rest_.find(',');
    const std::string_view found = trimmed(rest_.substr(0, comma));
    if (comma == std::string_view::npos || found.empty()) refuse(fmt::format("{} is missing", wanted));
    rest_.remove_prefix(comma + 1);
    return found;
  }

  double number(std::string_view name, double high) {
    const std::string_view text = word(name);
    double value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size() || !(value >= 0 && value <= high))
      refuse(fmt::format("{} is {}; allowed: 0 to {}", name, text, high));
    return value;
  }

  glm::vec3 colour(std::string_view name) {
    glm::dvec3 value;
    for (int channel = 0; channel < 3; ++channel) value[channel] = number(name, 1);
    return value;
  }

  MaterialRow::Origin origin() {
    const std::string_view text = word("the origin");
    using enum MaterialRow::Origin;
    for (const MaterialRow::Origin one : {measured, computed, guess})
      if (text == origin_word(one)) return one;
    refuse(fmt::format("the origin is {}; allowed: measured, computed, guess", text));
  }

  std::string_view rest_;
  SourcePlace place_;
};

constexpr double half_digit = 5e-4;  // a transmittance that is printed as .000 is below it

// What the flesh between a row's two boundaries sends back and lets through, per channel.
struct Flesh {
  double inner = 0;  // of the boundary; 0 without a coat
  std::array<KubelkaMunk, 3> channel;
};

Flesh flesh_of(const MaterialRow& row) {
  Flesh flesh;
  static const double under_coat = diffuse_fresnel_internal(coat_index);
  if (row.material.roughness < 1) flesh.inner = under_coat;
  for (int i = 0; i < 3; ++i) {
    // What the coat sends back by itself is not in the row's reflectance.
    const SheetAlbedo seen{double(row.material.reflectance[i]),
                           std::max(double(row.material.transmittance[i]), half_digit)};
    flesh.channel[static_cast<std::size_t>(i)] =
        kubelka_munk_from(without_boundary(seen, 0, flesh.inner), Length(row.thickness_mm * 1e-3));
  }
  return flesh;
}

}  // namespace

std::string_view origin_word(MaterialRow::Origin origin) {
  switch (origin) {
    case MaterialRow::Origin::measured:
      return "measured";
    case MaterialRow::Origin::computed:
      return "computed";
    case MaterialRow::Origin::guess:
      break;
  }
  return "guess";
}

std::vector<MaterialRow> read_materials(std::string_view text, const std::string& file) {
  std::vector<MaterialRow> rows;
  for (int line = 1; !text.empty(); ++line) {
    const auto end = std::min(text.find('\n'), text.size());
    const std::string_view content = trimmed(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
    if (content.empty() || content.front() == '#') continue;
    const SourcePlace place{file, line, 0};
    MaterialRow row = RowReader(content, place).row();
    if (std::any_of(rows.begin(), rows.end(), [&](const MaterialRow& r) { return r.name == row.name; }))
      throw Refusal(place, fmt::format("{} stands there twice", row.name));
    rows.push_back(std::move(row));
  }
  return rows;
}

const std::vector<MaterialRow>& material_table() {
  static const std::vector<MaterialRow> table =
      read_materials(surface_tables().at("materials.csv"), "assets/materials.csv");
  return table;
}

const MaterialRow* find_material(std::string_view name) {
  const std::vector<MaterialRow>& table = material_table();
  const auto found =
      std::find_if(table.begin(), table.end(), [&](const MaterialRow& row) { return row.name == name; });
  return found != table.end() ? &*found : nullptr;
}

Material sheet_of(const MaterialRow& row, Length thickness) {
  if (!(row.thickness_mm > 0))
    throw Refusal(fmt::format("{} is a solid: it has no thickness to change", row.name));
  const Flesh flesh = flesh_of(row);
  Material material = row.material;
  for (int i = 0; i < 3; ++i) {
    const SheetAlbedo seen =
        with_boundary(kubelka_munk(flesh.channel[static_cast<std::size_t>(i)], thickness), 0, flesh.inner);
    material.reflectance[i] = static_cast<float>(seen.reflectance);
    material.transmittance[i] = static_cast<float>(seen.transmittance);
  }
  return material;
}

Material solid_of(const MaterialRow& row) {
  Material material = row.material;
  if (!(row.thickness_mm > 0)) return material;
  const Flesh flesh = flesh_of(row);
  for (int i = 0; i < 3; ++i) {
    const double body = reflectance_at_infinity(flesh.channel[static_cast<std::size_t>(i)]);
    material.reflectance[i] = static_cast<float>(with_boundary({body, 0}, 0, flesh.inner).reflectance);
    material.transmittance[i] = 0;
  }
  return material;
}

Material material_of(const MaterialRow& row, bool open_sheet) {
  return open_sheet ? row.material : solid_of(row);
}

}  // namespace undercap
