// The families of readings. Private to the module; readings.cpp puts them in order.
#pragma once

#include "engine/measure/readings.h"

namespace undercap {

using Readings = std::vector<Reading>;

void add_lens(const Evidence& evidence, Readings& into);
void add_depth(const Evidence& evidence, Readings& into);
void add_movement(const Evidence& evidence, Readings& into);
void add_sensor(const Evidence& evidence, Readings& into);
void add_backdrop(const Evidence& evidence, Readings& into);
void add_exposure(const Evidence& evidence, Readings& into);
void add_light(const Evidence& evidence, Readings& into);
void add_subject_light(const Evidence& evidence, Readings& into);
void add_sides(const Evidence& evidence, Readings& into);
void add_ladder(const Evidence& evidence, Readings& into);
void add_meters(const Evidence& evidence, Readings& into);
void add_parts(const Evidence& evidence, Readings& into);
void add_rises(const Evidence& evidence, Readings& into);
void add_contrasts(const Evidence& evidence, Readings& into);
void add_taken(const Evidence& evidence, Readings& into);

}  // namespace undercap
