#include "engine/measure/first_hits.h"

namespace undercap {

FirstHits::FirstHits(const World& world)
    : focus_m_(world.camera.pupil_distance.value()),
      names_backdrop_(world.backdrop.has_value()),
      subject_(world.parts.size()),
      backdrop_(world.parts.size()) {
  for (const std::uint32_t part : world.subject) subject_[part] = 1;
  if (world.backdrop)
    for (const std::uint32_t part : *world.backdrop) backdrop_[part] = 1;
}

bool FirstHits::is_subject(const Film::FirstHit& hit) const {
  return hit.part != no_part && subject_[hit.part] != 0;
}

bool FirstHits::is_backdrop(const Film::FirstHit& hit) const {
  if (names_backdrop_) return hit.part != no_part && backdrop_[hit.part] != 0;
  return !is_subject(hit) && static_cast<double>(hit.distance_m) > focus_m_;
}

}  // namespace undercap
