// The registry of prop kinds: what a scene may say about each, which parts it has, and how it is built.
//
// `check`, the commands and the window read this table; a new kind is one file and one row (DEVELOPERS.md).
#pragma once

#include <array>
#include <functional>
#include <glm/vec3.hpp>
#include <map>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "engine/shape/mesh.h"
#include "engine/surface/material.h"

namespace undercap {

enum class KeyType { number, integer, boolean, text, choice, pair, direction, list };

// What a list holds: with one column plain numbers, with more of them rows of that many numbers.
struct ListColumn {
  std::string name;          // "x_m"; for messages and the list of keys
  double low = 0, high = 0;  // inclusive
  bool whole = false;
};
struct ListShape {
  std::vector<ListColumn> columns;
  std::size_t fewest = 0;  // rows in a list that is not empty: a polygon has three corners
  std::size_t most = 10000;
};
using Rows = std::vector<std::vector<double>>;  // row by row, a number a column

// One key of a kind. A scene's value is checked against it before the kind is built.
struct KindKey {
  std::string name;  // ends in its unit: cap_diameter_mm
  KeyType type = KeyType::number;
  double low = 0, high = 0;  // allowed range, inclusive; for pair and direction, of each number
  std::string fallback;      // the default as TOML text: "45", "\"convex\"", "[200, 300]"; empty = required
  std::string choices;       // for choice: words separated by blanks
  std::string meaning;       // one line
  ListShape list{};          // for list
};

using KeyValue = std::variant<bool, double, std::string, std::array<double, 2>, std::array<double, 3>, Rows>;
using KeyValues =
    std::map<std::string, KeyValue, std::less<>>;  // complete: defaults filled in; integers as double

struct KindPart {
  std::string name;
  Material material;        // the default; a scene replaces it key by key
  bool open_sheet = false;  // may transmit; a closed shape may not
  std::string row{};        // of the table of materials that the default is; empty: none
  bool sometimes = false;   // only with some values of the keys: a ring, pores
};

// Other defaults under one name, chosen by the key 'preset'; what a scene says itself still comes first.
struct KindPreset {
  struct Part {
    std::string name, row;  // the row of the table of materials that it is made of
    glm::vec3 tone{1};      // see Pattern::tone
  };
  std::string name;
  std::map<std::string, std::string> values{};  // by key, as TOML text
  std::vector<Part> parts{};
};

// A place on the surface that a prop grows on.
struct HostPlace {
  glm::dvec3 point_m{0}, normal{0, 0, 1};  // normal unit, outward
};

// What a kind may ask about its surroundings while it is built, in the prop's own space. It is asked from one
// thread at a time.
struct Setting {
  // Above the prop's base; set when it stands on ground or on another prop. Of a host it is the highest
  // surface, and the ground where there is none of it.
  std::function<double(double x_m, double y_m)> ground_height_m{};
  // The place of the host's surface nearest to a point, on flanks and underneath too. Set when the prop grows
  // on another one.
  std::function<HostPlace(const glm::dvec3& point_m)> nearest_on_host{};
  // Whether something may lie there by the scene's polygons 'within' and 'without'. Set when it has some.
  std::function<bool(double x_m, double y_m)> allowed{};
  // What a pixel of the picture covers at the prop, in the prop's own space; 0: not known, full detail.
  double pixel_m = 0;
  // Where the camera is in the prop's own space; with pixel_m above 0. What is spread wide asks pixel_at
  // (kit.h).
  glm::dvec3 eye_m{0};
  // Upright in the prop's own space, unit: a prop that lies against a flank is turned.
  glm::dvec3 up{0, 0, 1};
};

// How a kind holds on to the prop that it is placed on.
enum class Hold {
  stands,  // upright; from a flank it grows outward first and then turns up
  hangs,   // its back, +y, in the host, level
  lies     // along the surface: its z axis is the surface's normal
};

struct Kind {
  std::string name;
  std::string meaning;
  std::vector<KindKey> keys;
  std::vector<KindPart> parts;  // for 'mesh' one row 'surface': further parts come from the file's materials
  std::function<Mesh(const KeyValues&, const Setting&)> build;
  bool spreads = false;  // over an area that the polygons of the scene may mask: asks Setting::allowed
  Hold hold = Hold::stands;
  std::vector<KindPreset> presets{};
};

const std::vector<Kind>& kinds();
const Kind* find_kind(std::string_view name);  // null when there is none

// Values for a kind with every key at its default, or the preset's; required keys are missing.
KeyValues default_values(const Kind& kind, std::string_view preset = {});
// The kind's parts, made of what the preset among the values says.
std::vector<KindPart> parts_with(const Kind& kind, const KeyValues& values);

double number(const KeyValues& values, std::string_view key);
const std::string& text(const KeyValues& values, std::string_view key);

}  // namespace undercap
