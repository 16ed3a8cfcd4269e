// The headline of one picture, taken from what was measured of it.
#pragma once

#include <string>

#include "engine/measure/exposing.h"
#include "engine/report/headline.h"
#include "engine/session/live.h"

namespace undercap {

// Light on the subject and exposure; its readings are for the caller to add.
Headline headline_of(const std::string& name, const World& world, const Survey& survey,
                     const ExposureChoice& exposure);
// Of a scene in a window, by the readings that are shown of it; it must be exposed.
Headline headline_of(const std::string& name, const Live& live);

}  // namespace undercap
