#include "engine/shape/kinds.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <glm/geometric.hpp>

#include "engine/core/errors.h"
#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/surface/materials.h"

namespace undercap {
namespace {

// The numbers in a text such as "[200, 300]" or "45".
std::vector<double> numbers_in(std::string_view words) {
  std::vector<double> found;
  const char* at = words.data();
  const char* const end = at + words.size();
  while (at != end) {
    double value = 0;
    const auto [rest, error] = std::from_chars(at, end, value);
    if (error == std::errc()) found.push_back(value);
    at = error == std::errc() ? rest : at + 1;
  }
  return found;
}

KeyValue parse_fallback(const KindKey& key, const std::string& words) {
  if (key.type == KeyType::boolean) return words == "true";
  if (key.type == KeyType::text || key.type == KeyType::choice) {
    UNDERCAP_CHECK(words.size() >= 2 && words.front() == '"' && words.back() == '"',
                   fmt::format("the default of {} is a quoted text, is {}", key.name, words));
    return words.substr(1, words.size() - 2);
  }
  if (key.type == KeyType::list) return Rows{};
  const std::vector<double> found = numbers_in(words);
  const std::size_t wanted = key.type == KeyType::pair ? 2 : key.type == KeyType::direction ? 3 : 1;
  UNDERCAP_CHECK(found.size() == wanted,
                 fmt::format("the default of {} holds {} numbers, is {}", key.name, wanted, words));
  if (wanted == 2) return std::array<double, 2>{found[0], found[1]};
  if (wanted == 3) return std::array<double, 3>{found[0], found[1], found[2]};
  return found[0];
}

template <class Type>
const Type& value_of(const KeyValues& values, std::string_view key) {
  const auto found = values.find(key);
  UNDERCAP_CHECK(found != values.end(), fmt::format("a value for '{}' is given", key));
  const Type* value = std::get_if<Type>(&found->second);
  UNDERCAP_CHECK(value != nullptr, fmt::format("the value of '{}' has its key's type", key));
  return *value;
}

KindKey made_key(std::string name, KeyType type, std::string fallback, double low, double high,
                 std::string meaning) {
  KindKey key;
  key.name = std::move(name);
  key.type = type;
  key.low = low;
  key.high = high;
  key.fallback = std::move(fallback);
  key.meaning = std::move(meaning);
  return key;
}

std::string quoted(const std::string& words) { return words.empty() ? words : '"' + words + '"'; }

}  // namespace

KindKey number_key(std::string name, std::string fallback, double low, double high, std::string meaning) {
  return made_key(std::move(name), KeyType::number, std::move(fallback), low, high, std::move(meaning));
}

KindKey integer_key(std::string name, std::string fallback, double low, double high, std::string meaning) {
  return made_key(std::move(name), KeyType::integer, std::move(fallback), low, high, std::move(meaning));
}

KindKey boolean_key(std::string name, std::string fallback, std::string meaning) {
  return made_key(std::move(name), KeyType::boolean, std::move(fallback), 0, 1, std::move(meaning));
}

KindKey text_key(std::string name, std::string fallback, std::string meaning) {
  return made_key(std::move(name), KeyType::text, quoted(fallback), 0, 0, std::move(meaning));
}

KindKey choice_key(std::string name, std::string fallback, std::string choices, std::string meaning) {
  KindKey key = made_key(std::move(name), KeyType::choice, quoted(fallback), 0, 0, std::move(meaning));
  key.choices = std::move(choices);
  return key;
}

KindKey pair_key(std::string name, std::string fallback, double low, double high, std::string meaning) {
  return made_key(std::move(name), KeyType::pair, std::move(fallback), low, high, std::move(meaning));
}

KindKey triple_key(std::string name, std::string fallback, double low, double high, std::string meaning) {
  return made_key(std::move(name), KeyType::direction, std::move(fallback), low, high, std::move(meaning));
}

KindKey list_key(std::string name, ListShape shape, std::string meaning) {
  KindKey key = made_key(std::move(name), KeyType::list, "[]", 0, 0, std::move(meaning));
  key.list = std::move(shape);
  return key;
}

KindKey seed_key() {
  return integer_key("seed", "1", 0, 4294967295.0, "another number, another specimen of the same sizes");
}

KindPart part_of(std::string name, std::string row, bool open_sheet) {
  const MaterialRow* found = find_material(row);
  UNDERCAP_CHECK(found != nullptr, fmt::format("the table of materials has a row '{}'", row));
  KindPart part;
  part.name = std::move(name);
  part.material = found->material;
  part.open_sheet = open_sheet;
  part.row = std::move(row);
  return part;
}

const KindPreset* find_preset(const std::vector<KindPreset>& presets, std::string_view name) {
  const auto found = std::find_if(presets.begin(), presets.end(),
                                  [&](const KindPreset& preset) { return preset.name == name; });
  return found != presets.end() ? &*found : nullptr;
}

KindKey preset_key(const std::vector<KindPreset>& presets) {
  std::string names = "plain";
  for (const KindPreset& preset : presets) names += ' ' + preset.name;
  return choice_key("preset", "plain", names,
                    "other defaults for all keys and materials, by outward form; plausible, unmeasured");
}

int whole(const KeyValues& values, std::string_view key) {
  return static_cast<int>(std::lround(value_of<double>(values, key)));
}

bool flag(const KeyValues& values, std::string_view key) { return value_of<bool>(values, key); }

glm::dvec2 pair(const KeyValues& values, std::string_view key) {
  const auto& found = value_of<std::array<double, 2>>(values, key);
  return {found[0], found[1]};
}

glm::dvec3 triple(const KeyValues& values, std::string_view key) {
  const auto& found = value_of<std::array<double, 3>>(values, key);
  return {found[0], found[1], found[2]};
}

glm::dvec3 direction(const KeyValues& values, std::string_view key) {
  const glm::dvec3 given = triple(values, key);
  const double length = glm::length(given);
  if (!(length > 0))
    throw Refusal(fmt::format("{} = [0, 0, 0] points nowhere: give it a length above 0", key));
  return given / length;
}

const Rows& rows(const KeyValues& values, std::string_view key) { return value_of<Rows>(values, key); }

std::uint32_t seed_of(const KeyValues& values) { return static_cast<std::uint32_t>(number(values, "seed")); }

double ground_at(const Setting& setting, double x_m, double y_m) {
  return setting.ground_height_m ? setting.ground_height_m(x_m, y_m) : 0.0;
}

HostPlace footing_at(const Setting& setting, const glm::dvec3& place_m) {
  const double x = place_m.x, y = place_m.y;
  // Straight down first: neighbours below neighbours stay neighbours, where the nearest places of a rough
  // bark leap from ridge to ridge. Beside the host the height is the floor's, and the nearest place is what
  // is left.
  if (setting.nearest_on_host) return setting.nearest_on_host({x, y, ground_at(setting, x, y)});
  constexpr double step_m = 1e-3;
  const glm::dvec3 upward(ground_at(setting, x - step_m, y) - ground_at(setting, x + step_m, y),
                          ground_at(setting, x, y - step_m) - ground_at(setting, x, y + step_m), 2 * step_m);
  return {{x, y, ground_at(setting, x, y)}, glm::normalize(upward)};
}

double pixel_at(const Setting& setting, const glm::dvec3& place_m) {
  const double whole = glm::length(setting.eye_m);
  if (whole == 0) return setting.pixel_m;
  // A lens nearer than a hundredth of the way would ask for endless detail.
  return setting.pixel_m * std::max(glm::distance(place_m, setting.eye_m) / whole, 0.01);
}

bool allowed_at(const Setting& setting, double x_m, double y_m) {
  return !setting.allowed || setting.allowed(x_m, y_m);
}

void balance_tints(Mesh& mesh, const std::vector<KindPart>& parts) {
  if (mesh.tint.empty()) return;
  split_shared_positions(mesh);
  for (const KindPart& part : parts) {
    const glm::vec3 sum = part.material.reflectance + part.material.transmittance;
    balance_tint(mesh, part.name, std::min(1.99f, 0.99f / std::max({sum.x, sum.y, sum.z, 0.01f})));
  }
}

const std::vector<Kind>& kinds() {
  static const std::vector<Kind> table = {
      plane_kind(),      card_kind(),   disc_kind(),   sphere_kind(), box_kind(),   mesh_kind(),
      mushroom_kind(),   bonnet_kind(), tuft_kind(),   shelf_kind(),  ball_kind(),  log_kind(),
      stump_kind(),      branch_kind(), litter_kind(), leaf_kind(),   moss_kind(),  lichen_kind(),
      grass_kind(),      frond_kind(),  stone_kind(),  twig_kind(),   trunk_kind(), thicket_kind(),
      leaf_cards_kind(), haze_kind(),
  };
  return table;
}

const Kind* find_kind(std::string_view name) {
  const auto found =
      std::find_if(kinds().begin(), kinds().end(), [&](const Kind& kind) { return kind.name == name; });
  return found != kinds().end() ? &*found : nullptr;
}

KeyValues default_values(const Kind& kind, std::string_view preset) {
  const KindPreset* chosen = find_preset(kind.presets, preset);
  KeyValues values;
  for (const KindKey& key : kind.keys) {
    const auto own = chosen ? chosen->values.find(key.name) : decltype(chosen->values.end()){};
    const bool has_own = chosen && own != chosen->values.end();
    const std::string& words = has_own ? own->second : key.fallback;
    if (!words.empty()) values.emplace(key.name, parse_fallback(key, words));
  }
  if (chosen) values.insert_or_assign("preset", chosen->name);
  return values;
}

std::vector<KindPart> parts_with(const Kind& kind, const KeyValues& values) {
  std::vector<KindPart> parts = kind.parts;
  if (kind.presets.empty()) return parts;
  const KindPreset* chosen = find_preset(kind.presets, text(values, "preset"));
  for (KindPart& part : parts) {
    if (!chosen) continue;
    for (const KindPreset::Part& own : chosen->parts) {
      if (own.name != part.name || own.row.empty()) continue;
      const bool sometimes = part.sometimes;
      part = part_of(own.name, own.row, part.open_sheet);
      part.sometimes = sometimes;
    }
  }
  return parts;
}

double number(const KeyValues& values, std::string_view key) { return value_of<double>(values, key); }
const std::string& text(const KeyValues& values, std::string_view key) {
  return value_of<std::string>(values, key);
}

}  // namespace undercap
