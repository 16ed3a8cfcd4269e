// Addresses: how a scene file points at things. 'tuft/cap', 'tuft', 'tuft.2/gills', 'source:torch', 'meter:at
// the stem'.
#pragma once

#include <glm/vec3.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <variant>

namespace undercap {

struct Address {
  enum class Of { prop, source, meter };
  Of of = Of::prop;
  std::string name;
  int individual = 0;  // 0 = not said: the nearest where one point is needed, all where an area is
  std::string part;    // empty = all parts

  static std::optional<Address> parse(std::string_view text);
  std::string text() const;
  bool operator==(const Address&) const = default;
};

using Target = std::variant<Address, glm::dvec3>;  // an address or a point in world metres

}  // namespace undercap
