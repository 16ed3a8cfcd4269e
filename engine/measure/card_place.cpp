#include "engine/measure/card_place.h"

#include "engine/colour/spaces.h"

namespace undercap {

CardUse card_use(const Material& material) {
  if (material.mirror != glm::vec3(0)) return CardUse::silver;
  constexpr double dark = 0.1;
  return luminance_y(glm::dvec3(material.reflectance)) < dark ? CardUse::black : CardUse::white;
}

}  // namespace undercap
