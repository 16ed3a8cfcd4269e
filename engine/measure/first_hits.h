// To what the first thing that a sample meets belongs: subject, backdrop, or neither.
#pragma once

#include <cstdint>
#include <vector>

#include "engine/render/tracer.h"
#include "engine/world/world.h"

namespace undercap {

class FirstHits {
 public:
  explicit FirstHits(const World& world);
  bool is_subject(const Film::FirstHit& hit) const;
  // The parts that the scene names; where it names none, all behind the plane in focus that is not subject,
  // open sky included.
  bool is_backdrop(const Film::FirstHit& hit) const;

 private:
  double focus_m_;  // along the axis, from the entrance pupil
  bool names_backdrop_;
  std::vector<std::uint8_t> subject_, backdrop_;  // by World::parts
};

}  // namespace undercap
