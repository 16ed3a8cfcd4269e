// The page of a search for places: the picture without the lamp, one of each offer, the map below them.
#pragma once

#include <string>
#include <vector>

#include "engine/report/light_sheet.h"
#include "engine/report/page.h"
#include "engine/report/typeface.h"
#include "engine/session/place.h"

namespace undercap {

// What the words of a result are about.
LightQuestion light_question(const PlaceRequest& request, const PlaceResult& result);

struct PlacePage {
  Page page;
  std::vector<Picture8> pictures;  // that it shows
};

// 'made_by' names program and renderer. The result offers at least one place.
PlacePage place_page(const World& world, const PlaceRequest& request, const PlaceResult& result,
                     const std::string& made_by, const Typeface& typeface);

}  // namespace undercap
