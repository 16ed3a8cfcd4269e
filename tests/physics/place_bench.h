// A set opened to place its lamp in, as the search for places opens it.
#pragma once

#include <string>
#include <vector>

#include "engine/measure/lamp_film.h"
#include "engine/measure/placement.h"
#include "engine/session/session.h"
#include "tests/physics/bench_top.h"

namespace undercap {

class PlaceBench {
 public:
  // 'text' as for world_of, with a source 'torch'. Unsurveyed it has no placement, and a shutter only
  // where the scene says so.
  enum class Start { surveyed, unsurveyed };
  explicit PlaceBench(const std::string& text, Start start = Start::surveyed);

  const World& world() const { return session_.world(); }
  Tracer& tracer() { return session_.tracer(); }
  std::size_t group() const { return static_cast<std::size_t>(world().group_index(own_.name)); }
  Duration shutter() const { return shutter_; }
  const Source& source() const { return own_; }  // at full power
  const ProbeLamp& lamp() const { return lamp_; }
  double full_peak() const { return full_peak_; }

  // The subject is the target; as many points as the search has.
  Placement placement(PlaceWish wish = {});
  std::vector<PlaceFields> fields(const Placement& placement, const std::vector<glm::dvec3>& places) {
    return placement.fields(tracer(), lamp_, full_peak_, places, 2);
  }
  // The lamp on, there, until it is put elsewhere.
  void light_from(const glm::dvec3& place_m, const glm::dvec3& aim_m);
  // The set with the lamp there, rendered coarsely.
  Survey survey_from(const glm::dvec3& place_m, const glm::dvec3& aim_m, unsigned passes, int seed);
  LampFilm film_of(const Survey& survey) const {
    return {world(), survey, world().subject, group(), shutter()};
  }

 private:
  Scene scene_;
  Source own_;
  Session session_;
  LightProbe probe_;
  Duration shutter_;
  ProbeLamp lamp_;
  double full_peak_ = 0;
};

}  // namespace undercap
