// Which scrambles a batch of samples takes: those of surveys, meters and separation films are kept apart.
// Private to the module.
#pragma once

#include <cstdint>

#include "engine/world/world.h"

namespace undercap {

// A meter's is a hash of its name.
inline constexpr std::uint32_t survey_purpose = 1, white_purpose = 2, separation_purpose = 3;

// All that hangs on a batch is multiplied by odd numbers, so that what differs anywhere differs in the sum
// but for one case in 2^32.
inline std::uint32_t batch_seed(const World& world, unsigned batch, std::uint32_t purpose) {
  return static_cast<std::uint32_t>(world.scene.seed) * 0x9e3779b1u + purpose * 0x85ebca6bu +
         batch * 0xc2b2ae35u + 1u;
}

}  // namespace undercap
