// A map of lamp places on the drawings of a set: lines, hatches and letters stand where field, limits and
// marks say.
#include "engine/report/place_map.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <glm/common.hpp>
#include <glm/geometric.hpp>

#include "tests/unit/report/small_set.h"

namespace undercap {
namespace {

using Kind = DrawingView::Kind;

// Of a drawing's sums: products of a few numbers of the size of a metre, in mm on paper.
constexpr double exact = 1e-9;

const std::string ball =
    "[[prop]]\nname = \"ball\"\nkind = \"sphere\"\ndiameter_mm = 60\nat_m = [0, 0, 0.05]\n";
const std::string torch =
    "[[source]]\nname = \"torch\"\nkind = \"torch\"\nposition_m = [-0.3, -0.4, 0.05]\naim = [0, 0, 0.05]\n"
    "intensity_cd = 100\nbeam_deg = 60\n";

using Limit = std::function<MapArea(const glm::dvec2&)>;
const Limit all_free = [](const glm::dvec2&) { return MapArea::free; };

// 50 + 97 u per cent, 1.5 to 98.5 from left to right: its lines are upright and exact on any grid. Nodes
// every 5 cm, half a metre to all sides of the origin, in an elevation from the ground up.
MapSlice slice_of(Kind kind, const Limit& limit = all_free) {
  MapSlice slice{.kind = kind,
                 .field = {.low = {-0.5, kind == Kind::plan ? -0.5 : 0}, .high = {0.5, 0.5}, .across = 21},
                 .at_m = kind == Kind::plan ? 0.17 : -0.1};
  FieldGrid& field = slice.field;
  field.up = kind == Kind::plan ? 21 : 11;
  for (int row = 0; row < field.up; ++row)
    for (int column = 0; column < field.across; ++column) {
      field.value.push_back(50 + 97 * field.place(column, row).x);
      slice.limit.push_back(limit(field.place(column, row)));
    }
  return slice;
}

PlaceMap map_of(const Limit& limit = all_free) {
  return {.plan = slice_of(Kind::plan, limit),
          .elevation = slice_of(Kind::elevation, limit),
          .marks = {},
          .unit_words = "per cent of the torch's power for +1 stop on ball"};
}

// 1:5, and the map's corners are on the paper.
const DrawingView view{.kind = Kind::plan, .width_mm = 300, .height_mm = 300, .mm_per_m = 200};

Drawing drawn(const World& world, const PlaceMap* map, const DrawingView& on = view) {
  return set_drawing(
      world,
      on.kind == Kind::plan ? plan_outlines(world, 2) : elevation_outlines(world, axes_of(world).forward, 2),
      on, map);
}

std::vector<Polyline> lines_of(const Drawing& drawing, Pen pen) {
  std::vector<Polyline> lines;
  for (const Mark& mark : drawing.marks)
    if (const auto* line = std::get_if<Polyline>(&mark.shape); line && mark.pen == pen)
      lines.push_back(*line);
  return lines;
}

std::vector<Circle> circles_of(const Drawing& drawing, Pen pen) {
  std::vector<Circle> circles;
  for (const Mark& mark : drawing.marks)
    if (const auto* circle = std::get_if<Circle>(&mark.shape); circle && mark.pen == pen)
      circles.push_back(*circle);
  return circles;
}

std::vector<Text> texts_of(const Drawing& drawing) {
  std::vector<Text> texts;
  for (const Mark& mark : drawing.marks)
    if (const auto* text = std::get_if<Text>(&mark.shape)) texts.push_back(*text);
  return texts;
}

const Text* text_of(const std::vector<Text>& texts, const std::string& words) {
  const auto found =
      std::find_if(texts.begin(), texts.end(), [&](const Text& text) { return text.words == words; });
  return found == texts.end() ? nullptr : &*found;
}

TEST(PlaceMap, LinesStandAtTheirLevelsWithTheirNumbers) {
  const World world = small_set(ball);
  const PlaceMap map = map_of();
  const Drawing drawing = drawn(world, &map);
  const auto lines = lines_of(drawing, Pen::place_line);
  const auto texts = texts_of(drawing);
  ASSERT_EQ(lines.size(), 10U);  // each in two pieces, with its number between them
  for (const double level : {2, 5, 10, 20, 50}) {
    const double u = (level - 50) / 97, x = to_paper(view, {u, 0}).x;
    const auto is_it = [&](const Polyline& line) {
      return std::all_of(line.points_mm.begin(), line.points_mm.end(),
                         [&](const glm::dvec2& p) { return std::abs(p.x - x) < exact; });
    };
    EXPECT_EQ(std::count_if(lines.begin(), lines.end(), is_it), 2) << level;
    const Text* text = text_of(texts, fmt::format("{} %", level));
    ASSERT_TRUE(text) << level;
    // Its middle on the line.
    EXPECT_NEAR((box_of(*text).low.x + box_of(*text).high.x) / 2, x, exact) << level;
    for (const Polyline& line : lines) {
      glm::dvec2 from = line.points_mm.front(), to = line.points_mm.back();
      EXPECT_FALSE(cut_to(box_of(*text), from, to)) << level;
    }
  }
}

// Left of -.2 barred, right of .2 spill, a strip between them from .2 ahead dark. Nodes every 5 cm: areas
// meet half way between two; a stroke is followed in steps of .2 mm, 1 mm on the ground.
TEST(PlaceMap, HatchesFillTheirAreasAndNoOther) {
  const World world = small_set(ball);
  const PlaceMap map = map_of([](const glm::dvec2& p) {
    return p.x < -0.201                           ? MapArea::not_allowed
           : p.x > 0.201                          ? MapArea::too_much_spill
           : p.y > 0.199 && std::abs(p.x) < 0.101 ? MapArea::no_light
                                                  : MapArea::free;
  });
  const Drawing drawing = drawn(world, &map);
  const double slack = 0.0011;
  const auto bounds_of = [&](Pen pen) {
    Box box{glm::dvec2(1e9), glm::dvec2(-1e9)};
    for (const Polyline& line : lines_of(drawing, pen))
      for (const glm::dvec2& mm : line.points_mm) {
        const glm::dvec2 p = from_paper(view, mm);
        box = {glm::min(box.low, p), glm::max(box.high, p)};
      }
    return box;
  };
  // The areas' corners, within a hatch's pitch of 2 mm, a centimetre, where no stroke ends exactly there.
  const auto expect_bounds = [&](Pen pen, const Box& box) {
    const Box seen = bounds_of(pen);
    for (int axis = 0; axis < 2; ++axis) {
      EXPECT_GE(seen.low[axis], box.low[axis] - slack) << static_cast<int>(pen) << ' ' << axis;
      EXPECT_LE(seen.high[axis], box.high[axis] + slack) << static_cast<int>(pen) << ' ' << axis;
      EXPECT_NEAR(seen.low[axis], box.low[axis], 0.01) << static_cast<int>(pen) << ' ' << axis;
      EXPECT_NEAR(seen.high[axis], box.high[axis], 0.01) << static_cast<int>(pen) << ' ' << axis;
    }
  };
  expect_bounds(Pen::place_barred, {{-0.5, -0.5}, {-0.225, 0.5}});
  expect_bounds(Pen::place_spill, {{0.225, -0.5}, {0.5, 0.5}});
  expect_bounds(Pen::place_dark, {{-0.125, 0.175}, {0.125, 0.5}});
  // Lines where a lamp is free to be, and only there.
  const Box free = bounds_of(Pen::place_line);
  EXPECT_GE(free.low.x, -0.225);
  EXPECT_LE(free.high.x, 0.225);
  EXPECT_NEAR(free.low.y, -0.5, slack);
  EXPECT_NEAR(free.high.y, 0.5, slack);
  for (const Polyline& line : lines_of(drawing, Pen::place_line))
    for (const glm::dvec2& mm : line.points_mm) {
      const glm::dvec2 p = from_paper(view, mm);
      EXPECT_FALSE(std::abs(p.x) < 0.1 && p.y > 0.175 + slack) << p.x << ' ' << p.y;
    }
}

// Told apart without a hue: by their ways. Up the paper is -y.
TEST(PlaceMap, HatchesDifferByTheirWays) {
  const World world = small_set(ball);
  const auto slope = [&](MapArea limit, Pen pen) {
    const PlaceMap map = map_of([&](const glm::dvec2&) { return limit; });
    const auto lines = lines_of(drawn(world, &map), pen);
    EXPECT_GT(lines.size(), 50U);
    const glm::dvec2 way = lines[25].points_mm.back() - lines[25].points_mm.front();
    return -way.y / way.x;
  };
  EXPECT_NEAR(slope(MapArea::not_allowed, Pen::place_barred), 1, exact);
  EXPECT_NEAR(slope(MapArea::too_much_spill, Pen::place_spill), -1, exact);
  EXPECT_NEAR(slope(MapArea::no_light, Pen::place_dark), 0, exact);
}

TEST(PlaceMap, LettersStandAtTheirPlacesAndPointAtTheSubject) {
  const World world = small_set(ball);
  PlaceMap map = map_of();
  map.marks = {{"A", {-0.3, -0.2, 0.17}}, {"B", {0.3, 0.1, 0.17}}};
  const Drawing drawing = drawn(world, &map);
  const auto rings = circles_of(drawing, Pen::place_mark);
  const auto strokes = lines_of(drawing, Pen::place_mark);
  const auto texts = texts_of(drawing);
  ASSERT_EQ(rings.size(), 2U);
  ASSERT_EQ(strokes.size(), 2U);
  const glm::dvec2 middle = to_paper(view, {0, 0});
  for (std::size_t i = 0; i < 2; ++i) {
    const glm::dvec2 at = to_paper(view, glm::dvec2(map.marks[i].place_m));
    EXPECT_NEAR(glm::distance(rings[i].centre_mm, at), 0, exact);
    const Text* letter = text_of(texts, map.marks[i].letter);
    ASSERT_TRUE(letter);
    const Box box = box_of(*letter);
    EXPECT_LT(glm::distance((box.low + box.high) / 2.0, at), 0.5);
    // Both ends on the way in. The middle of a ball's facets is the ball's within a thousandth of its size.
    const glm::dvec2 way = glm::normalize(middle - at);
    for (const glm::dvec2& end : strokes[i].points_mm) {
      const glm::dvec2 from_at = end - at;
      EXPECT_NEAR(way.x * from_at.y - way.y * from_at.x, 0, 0.01);
      EXPECT_GT(glm::dot(way, from_at), 2);
    }
  }
}

// Places above one another come to one place in the plan; their letters stand beside one another, each with
// a line to a dot where it belongs.
TEST(PlaceMap, LettersDoNotLieOnOneAnother) {
  const World world = small_set(ball);
  PlaceMap map = map_of();
  for (const char* letter : {"A", "B", "C", "D", "E"})
    map.marks.push_back({letter, {-0.3, -0.2, 0.1 + 0.03 * static_cast<double>(map.marks.size())}});
  const auto circles = circles_of(drawn(world, &map), Pen::place_mark);
  std::vector<Circle> rings, dots;
  for (const Circle& circle : circles) (circle.fill == Fill::paper ? rings : dots).push_back(circle);
  ASSERT_EQ(rings.size(), 5U);
  EXPECT_EQ(dots.size(), 4U);
  // The first one that has to move goes straight out.
  const glm::dvec2 middle = to_paper(view, {0, 0});
  EXPECT_GT(glm::distance(rings[1].centre_mm, middle), glm::distance(rings[0].centre_mm, middle) + 4);
  for (const Circle& dot : dots)
    EXPECT_NEAR(glm::distance(dot.centre_mm, to_paper(view, {-0.3, -0.2})), 0, exact);
  for (std::size_t i = 0; i < rings.size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      EXPECT_GT(glm::distance(rings[i].centre_mm, rings[j].centre_mm), 2 * rings[i].radius_mm);
}

TEST(PlaceMap, LiesOnTheFieldAndBelowTheThings) {
  const World world = small_set(ball + torch);
  PlaceMap map = map_of([](const glm::dvec2& p) { return p.x < 0 ? MapArea::not_allowed : MapArea::free; });
  map.marks = {{"A", {0.3, -0.2, 0.17}}};
  const Drawing drawing = drawn(world, &map);
  const auto first = [&](Pen pen) {
    const auto found = std::find_if(drawing.marks.begin(), drawing.marks.end(),
                                    [&](const Mark& mark) { return mark.pen == pen; });
    EXPECT_NE(found, drawing.marks.end()) << static_cast<int>(pen);
    return found - drawing.marks.begin();
  };
  EXPECT_LT(first(Pen::field), first(Pen::place_barred));
  EXPECT_LT(first(Pen::place_barred), first(Pen::place_line));
  EXPECT_LT(first(Pen::place_line), first(Pen::subject));
  EXPECT_LT(first(Pen::source), first(Pen::place_mark));
  // Two kinds of lines about light at once nobody reads.
  EXPECT_TRUE(lines_of(drawing, Pen::lux_line).empty());
  const Drawing without = drawn(world, nullptr);
  EXPECT_FALSE(lines_of(without, Pen::lux_line).empty());
  EXPECT_TRUE(lines_of(without, Pen::place_line).empty());
}

// On bare ground z is the height. The elevation's slice lies 10 cm to the left of the origin, where the
// ball's middle is.
TEST(PlaceMap, SaysWhereItsSlicesLie) {
  const World world = small_set(ball);
  PlaceMap map = map_of();
  EXPECT_TRUE(
      text_of(texts_of(drawn(world, &map)), "Lines hold for a lamp 17 cm above the ground at the subject"));
  DrawingView side = view;
  side.kind = Kind::elevation;
  EXPECT_TRUE(text_of(texts_of(drawn(world, &map, side)),
                      "Lines hold for a lamp 10 cm to the left of the middle of the subject"));
  map.elevation.at_m = 0.031;
  EXPECT_TRUE(text_of(texts_of(drawn(world, &map, side)),
                      "Lines hold for a lamp 3.1 cm to the right of the middle of the subject"));
}

// Each in its turn far out, so that nothing else makes room for it.
TEST(PlaceMap, ViewsHoldItAtOneScale) {
  const World world = small_set(ball);
  PlaceMap far_low = map_of(), far_high = map_of(), far_mark = map_of();
  far_low.plan.field.low = far_low.elevation.field.low = {-3, -3};
  far_high.plan.field.high = far_high.elevation.field.high = {3, 3};
  far_mark.marks = {{"A", {3, 3, 3}}};
  for (const PlaceMap& map : {far_low, far_high, far_mark}) {
    const DrawingViews views = fitted_views(world, {140, 150}, {130, 100}, &map);
    EXPECT_EQ(views.plan.mm_per_m, views.elevation.mm_per_m);
    for (const DrawingView& one : {views.plan, views.elevation}) {
      const FieldGrid& field = map.slice(one.kind).field;
      std::vector<glm::dvec2> places{field.low, field.high};
      for (const MapMark& mark : map.marks)
        places.push_back(drawing_place(axes_of(world), one.kind, mark.place_m));
      for (const glm::dvec2& place : places) {
        const glm::dvec2 mm = to_paper(one, place);
        EXPECT_GT(mm.x, 5);
        EXPECT_GT(mm.y, 5);
        EXPECT_LT(mm.x, one.width_mm - 5);
        EXPECT_LT(mm.y, one.height_mm - 5);
      }
    }
  }
}

// A busy map: every kind of area, five places of which two are near one another.
PlaceMap busy_map() {
  PlaceMap map = map_of([](const glm::dvec2& p) {
    return glm::length(p) < 0.15                          ? MapArea::not_allowed
           : p.y > 0.3 && p.x > 0                         ? MapArea::too_much_spill
           : glm::length(p - glm::dvec2(-0.4, 0.3)) < 0.2 ? MapArea::no_light
                                                          : MapArea::free;
  });
  map.marks = {{"A", {-0.3, -0.2, 0.17}},
               {"B", {0.3, 0.1, 0.3}},
               {"C", {0.31, 0.12, 0.28}},
               {"D", {0.49, -0.49, 0.1}},
               {"E", {0, -0.2, 0.45}}};
  return map;
}

TEST(PlaceSheet, EverythingIsOnThePaperAndReadable) {
  const World world = small_set(ball + torch);
  const std::string sentence = "a lamp there is held over the ground and its light comes in from the left; ";
  const DrawingSheet sheet = place_sheet(world, busy_map(), "Where may I hold the torch?",
                                         {"A: near", sentence + sentence + sentence + sentence});
  ASSERT_EQ(sheet.drawings.size(), 3U);
  ASSERT_EQ(sheet.place_mm.size(), 3U);
  for (std::size_t i = 0; i < 3; ++i) {
    const Drawing& drawing = sheet.drawings[i];
    EXPECT_GE(sheet.place_mm[i].x, 10);
    EXPECT_LE(sheet.place_mm[i].x + drawing.width_mm, sheet_width_mm - 10 + exact);
    EXPECT_LE(sheet.place_mm[i].y + drawing.height_mm, sheet_height_mm - 10);
    std::vector<Text> texts = texts_of(drawing);
    EXPECT_GT(texts.size(), 8U);
    for (const Text& text : texts) {
      const Box box = box_of(text);
      EXPECT_GE(box.low.x, 0) << text.words;
      EXPECT_GE(box.low.y, 0) << text.words;
      EXPECT_LE(box.high.x, drawing.width_mm) << text.words;
      EXPECT_LE(box.high.y, drawing.height_mm) << text.words;
      for (const Text& other : texts) {
        if (&other == &text) break;
        const glm::dvec2 shared =
            glm::min(box.high, box_of(other).high) - glm::max(box.low, box_of(other).low);
        EXPECT_FALSE(shared.x > 0.3 && shared.y > 0.3) << text.words << " on " << other.words;
      }
    }
    if (i == 2) break;
    for (const char* letter : {"A", "B", "C", "D", "E"}) EXPECT_TRUE(text_of(texts, letter)) << letter;
  }
  // The drawings do not meet, and the words stand below them in their order.
  EXPECT_GT(sheet.place_mm[1].x, sheet.place_mm[0].x + sheet.drawings[0].width_mm);
  EXPECT_GT(sheet.place_mm[2].y, sheet.place_mm[1].y + sheet.drawings[1].height_mm);
  double last = sheet.place_mm[0].y + sheet.drawings[0].height_mm;
  for (std::size_t i = 2; i < sheet.texts.size(); ++i) {
    EXPECT_GT(sheet.texts[i].at_mm.y, last) << sheet.texts[i].words;
    EXPECT_LE(box_of(sheet.texts[i]).high.x, sheet_width_mm - 10) << sheet.texts[i].words;
    last = sheet.texts[i].at_mm.y;
  }
  EXPECT_EQ(sheet.texts[2].words, "A: near");
  EXPECT_GE(sheet.texts.size(), 6U);  // title, unit, A, two lines of sentences, foot
  EXPECT_NE(sheet.texts[1].words.find("per cent of the torch's power for +1 stop on ball"),
            std::string::npos);
  // The key explains it.
  const std::vector<Text> key = texts_of(sheet.drawings[2]);
  for (const char* words :
       {"a lamp on it needs so many %", "no lamp can stand there", "too much spill from there",
        "from there no light arrives", "offered place, toward subject"})
    EXPECT_TRUE(text_of(key, words)) << words;
}

TEST(PlaceSheet, ManyWordsAreCutAtFourteenLines) {
  const World world = small_set(ball);
  const DrawingSheet sheet = place_sheet(world, busy_map(), "title", std::vector<std::string>(40, "line"));
  EXPECT_EQ(sheet.texts.size(), 2U + 14U + 1U);
  EXPECT_GT(sheet.drawings[0].height_mm, 80);
  EXPECT_LT(sheet.texts[15].at_mm.y, sheet.texts[16].at_mm.y - 2);
}

// All signs that can stand on a map: cards, a flag, the sun, a lamp that is off. The key keeps room for them.
TEST(PlaceSheet, TheKeyHasRoomForEverySign) {
  const auto card = [](const std::string& name, double x, double reflectance) {
    return fmt::format(
        "[[prop]]\nname = \"{}\"\nkind = \"card\"\nsize_mm = [100, 100]\nnormal = [0.5, -1, 0]\nat_m = [{}, "
        "0.1, "
        "0.05]\n[prop.material.surface]\nreflectance = [{}, {}, {}]\n",
        name, x, reflectance, reflectance, reflectance);
  };
  const std::string other =
      "[[source]]\nname = \"other\"\nkind = \"torch\"\non = false\nposition_m = [0.3, 0.4, 0.05]\naim = [0, "
      "0, "
      "0.05]\nintensity_cd = 100\n[sun]\non = true\nazimuth_deg = 90\nelevation_deg = 30\n";
  const World world = small_set(ball + card("white", 0.2, 0.9) + card("black", -0.2, 0.04) + torch + other);
  const DrawingSheet sheet = place_sheet(world, busy_map(), "title", {});
  const std::vector<Text> key = texts_of(sheet.drawings[2]);
  EXPECT_EQ(key.size(), 16U);
  for (const Text& text : key) EXPECT_LE(box_of(text).high.y, sheet.drawings[2].height_mm) << text.words;
}

// One drawing, in which no stroke of one half reaches into the other.
TEST(PlaceFigure, HoldsBothDrawingsWithinItsPaper) {
  const World world = small_set(ball + torch);
  const Drawing figure = place_figure(world, busy_map(), 270, 130);
  EXPECT_EQ(figure.width_mm, 270);
  EXPECT_EQ(figure.height_mm, 130);
  const auto texts = texts_of(figure);
  EXPECT_EQ(std::count_if(texts.begin(), texts.end(), [](const Text& text) { return text.words == "C"; }), 2);
  for (const Mark& mark : figure.marks)
    if (const auto* line = std::get_if<Polyline>(&mark.shape); line && mark.pen != Pen::key) {
      bool left = false, right = false;
      for (const glm::dvec2& p : line->points_mm) {
        EXPECT_GE(p.x, 0);
        EXPECT_GE(p.y, 0);
        EXPECT_LE(p.x, 270);
        EXPECT_LE(p.y, 130);
        // 133 mm each, 4 mm apart; the key lies below both.
        if (p.y < 100) (p.x < 135 ? left : right) = true;
      }
      EXPECT_FALSE(left && right) << static_cast<int>(mark.pen);
    }
  for (const Text& text : texts) {
    EXPECT_GE(box_of(text).low.x, 0) << text.words;
    EXPECT_LE(box_of(text).high.x, 270) << text.words;
    EXPECT_LE(box_of(text).high.y, 130) << text.words;
  }
}

}  // namespace
}  // namespace undercap
