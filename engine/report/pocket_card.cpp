#include "engine/report/pocket_card.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/colour/spaces.h"
#include "engine/core/text.h"
#include "engine/optics/lens.h"
#include "engine/optics/third_stops.h"
#include "engine/report/plan.h"
#include "engine/report/pocket_drawing.h"
#include "engine/report/sketch.h"

namespace undercap {
namespace {

constexpr double body_mm = pocket_words_mm, number_mm = pocket_numbers_mm;
constexpr double left_mm = 7, top_mm = 6, foot_mm = pocket_height_mm - 6;
constexpr double ruler_mm = 12;  // the strip at the right of side one
constexpr double body_line_mm = 6.0, number_line_mm = 7.4;
constexpr double picture_wide_mm = 33;

struct Run {
  std::string words{};
  double size_mm = body_mm;
  bool bold = false;
};
Run number(const std::string& words) { return {words, number_mm, true}; }

// A side while it is written, from the top down.
class Side {
 public:
  Side(const std::string& title, double wide_mm, const Typeface& typeface)
      : typeface_(typeface), wide_mm_(wide_mm) {
    drawing_.width_mm = pocket_width_mm;
    drawing_.height_mm = pocket_height_mm;
    drawing_.title = title;
  }

  double wide_mm() const { return wide_mm_; }
  double y_mm() const { return y_mm_; }
  void skip(double mm) { y_mm_ += mm; }
  void go_to(double y_mm) { y_mm_ = y_mm; }
  Drawing& drawing() { return drawing_; }
  Drawing take() { return std::move(drawing_); }

  double width_of(const Run& run) const {
    return typeface_.extent(run.words, run.size_mm, run.bold ? Weight::bold : Weight::regular).width_mm;
  }
  void put(double x_mm, double baseline_mm, const Run& run, Across across = Across::left) {
    drawing_.add(Pen::print, Text{.at_mm = {x_mm, baseline_mm},
                                  .words = run.words,
                                  .size_mm = run.size_mm,
                                  .across = across,
                                  .bold = run.bold,
                                  .clears = false});
  }
  // Words of several sizes on one line; what does not fit into it goes to the next.
  void line(const std::vector<Run>& runs, double indent_mm = 0) {
    constexpr double gap = 3;
    double x = left_mm + indent_mm;
    y_mm_ += number_line_mm;
    for (const Run& run : runs) {
      const double wide = width_of(run);
      if (x > left_mm + indent_mm && x + wide > left_mm + wide_mm_) {
        x = left_mm + indent_mm;
        y_mm_ += number_line_mm;
      }
      put(x, y_mm_, run);
      x += wide + gap;
    }
  }
  void paragraph(const std::string& words, double size_mm = body_mm, bool bold = false,
                 double indent_mm = 0) {
    const auto fits = [&](const std::string& part) {
      return width_of({part, size_mm, bold}) <= wide_mm_ - indent_mm;
    };
    for (const std::string& part : broken_lines(words, fits)) {
      y_mm_ += body_line_mm * size_mm / body_mm;
      put(left_mm + indent_mm, y_mm_,
          {typeface_.fitted(part, size_mm, bold ? Weight::bold : Weight::regular, wide_mm_ - indent_mm),
           size_mm, bold});
    }
  }
  void heading(const std::string& words) {
    y_mm_ += 1.6;
    drawing_.add_line(Pen::print_thin, {left_mm, y_mm_}, {left_mm + wide_mm_, y_mm_});
    paragraph(words, body_mm, true);
  }

 private:
  const Typeface& typeface_;
  double wide_mm_, y_mm_ = top_mm;
  Drawing drawing_;
};

void write_top(Side& side, const World& world, const PocketFacts& facts) {
  const CameraRig& rig = world.camera;
  side.paragraph(world.scene.title.empty() ? "A set" : world.scene.title, number_mm, true);
  if (!facts.corrected.empty()) side.paragraph(facts.corrected);
  side.paragraph(
      fmt::format("{}, {:.0f} mm framed", camera_words(world), rig.width / 1_mm / rig.magnification));
  const double front =
      front_to_subject(rig.lens, rig.magnification, world.scene.camera.front_ahead_mm * 1_mm).value();
  side.line({{"axis"},
             number(length_words(rig.axis_height.value())),
             {"up, lens front"},
             number(length_words(front)),
             {"off"}});
}

// Centimetres from the foot of the card, along its right edge.
void draw_ruler(Drawing& drawing) {
  constexpr double edge = pocket_width_mm - 4;
  const auto add = [&](double baseline_mm, const std::string& words) {
    drawing.add(Pen::print, Text{.at_mm = {edge, baseline_mm},
                                 .words = words,
                                 .size_mm = body_mm,
                                 .across = Across::right,
                                 .clears = false});
  };
  add(pocket_height_mm - 3.5, "cm");
  for (int cm = 1; cm <= 20; ++cm) {
    const double y = pocket_height_mm - 10.0 * cm;
    drawing.add_line(Pen::print, {edge - (cm % 5 ? 2.5 : 5.0), y}, {edge, y});
    if (cm % 5 == 0) add(y + 1.5 + 0.74 * body_mm, fmt::format("{}", cm));
  }
}

void write_things(Side& side, const std::vector<PocketThing>& things) {
  constexpr std::size_t most = 3;
  const bool few = things.size() <= 2;
  if (things.empty()) side.paragraph("No lamp, no card.", body_mm, true);
  for (std::size_t i = 0; i < std::min(most, things.size()); ++i) {
    const PocketThing& thing = things[i];
    side.line(
        {{thing.name, body_mm, true}, number(thing.clock), number(thing.distance), number(thing.height)});
    if (few) side.paragraph(thing.hands, body_mm, false, 4);
  }
  if (things.size() > most) side.paragraph(fmt::format("and {} more: see the plan", things.size() - most));
}

void write_targets(Side& side, const std::vector<SpotTarget>& targets) {
  side.heading("Check by spot reading, stops");
  if (targets.empty()) side.paragraph("The subject is not seen.");
  for (const SpotTarget& target : targets) {
    side.skip(number_line_mm);
    const double right = left_mm + side.wide_mm();
    side.put(left_mm, side.y_mm(), {target.words});
    side.put(right - 38, side.y_mm(), number(signed_stops(target.stops)), Across::right);
    side.put(right, side.y_mm(),
             {fmt::format("{} to {}", signed_stops(target.stops - target.band_stops),
                          signed_stops(target.stops + target.band_stops))},
             Across::right);
  }
}

// With drawings of a height; 0: their room is not taken.
Side write_first(const World& world, const PocketFacts& facts, const Typeface& typeface, double drawn_mm) {
  Side side(world.scene.title, pocket_width_mm - left_mm - ruler_mm - 2, typeface);
  const std::vector<PocketThing> things = pocket_things(world);
  write_top(side, world, facts);
  side.skip(2.5);
  if (drawn_mm > 0) {
    const PocketDrawings drawings = pocket_drawings(world, things, side.wide_mm(), drawn_mm);
    side.drawing().add_drawing(drawings.plan, {left_mm, side.y_mm()});
    side.drawing().add_drawing(drawings.elevation, {left_mm + drawings.plan.width_mm, side.y_mm()});
    side.skip(drawn_mm);
  }
  write_things(side, things);
  write_targets(side, facts.targets);
  side.heading("Set by hand; time by the table overleaf");
  side.line({number(f_number_label(world.camera.lens.f_number)),
             number(iso_label(facts.iso)),
             number(nearest_shutter(facts.shutter).label),
             {support_words(world)}});
  for (const std::string& words : setting_words(world, facts)) side.paragraph(words);
  return side;
}

// The drawings get the room that the words leave.
Drawing first_side(const World& world, const PocketFacts& facts, const Typeface& typeface) {
  constexpr double least_mm = 50, most_mm = 92;
  const double left = foot_mm - write_first(world, facts, typeface, 0).y_mm();
  Side side = write_first(world, facts, typeface, std::clamp(left, least_mm, most_mm));
  draw_ruler(side.drawing());
  return side.take();
}

// Luminance alone: what a print in one ink keeps.
Image grey_image(const Picture8& picture, const glm::dvec2& at_mm, double wide_mm) {
  Image image{.at_mm = at_mm,
              .size_mm = {wide_mm, wide_mm * picture.height / picture.width},
              .width = picture.width,
              .height = picture.height};
  image.bytes.reserve(picture.rgb.size() / 3);
  for (std::size_t i = 0; i < picture.rgb.size(); i += 3)
    image.bytes.push_back(static_cast<std::uint8_t>(srgb_code(
        luminance_y({linear_from_srgb_code(picture.rgb[i]), linear_from_srgb_code(picture.rgb[i + 1]),
                     linear_from_srgb_code(picture.rgb[i + 2])}))));
  return image;
}

// At the right of the table, one below the other.
double put_pictures(Side& side, const PocketPictures& pictures, bool lamps, double top_y_mm) {
  const double x = pocket_width_mm - left_mm - picture_wide_mm;
  double y = top_y_mm;
  const auto put = [&](const Picture8& picture, const std::string& words) {
    const Image image = grey_image(picture, {x, y}, picture_wide_mm);
    side.drawing().add(Pen::print, image);
    y += image.size_mm.y + 0.9 * body_mm;
    side.put(x, y, {words});
    y += 0.4 * body_mm;
  };
  put(pictures.with, lamps ? "with lamp" : "rehearsed");
  if (lamps) put(pictures.without, "without");
  return y;
}

void write_table(Side& side, const World& world, const PocketFacts& facts) {
  const LightTable table = light_table(world, facts);
  side.paragraph("Light seen: f/8, ISO 200 off a grey card that lies level at the subject, lamps off",
                 body_mm, true);
  if (table.rows.empty()) {
    side.paragraph(fmt::format("No light of the day: {}.", nearest_shutter(facts.shutter).label), body_mm,
                   true);
    return;
  }
  const double second = left_mm + 31, third = left_mm + 62;
  side.skip(body_line_mm);
  side.put(left_mm, side.y_mm(), {"seen"});
  side.put(second, side.y_mm(), {"set"});
  if (table.lamp_rises) side.put(third, side.y_mm(), {"lamp"});
  for (const LightRow& row : table.rows) {
    side.skip(number_line_mm);
    side.put(left_mm, side.y_mm(), {row.seen, number_mm, row.rehearsed});
    side.put(second, side.y_mm(), number(row.time));
    side.put(third, side.y_mm(), {row.lamp, body_mm, row.rehearsed});
    if (row.rehearsed)
      side.drawing().add(Pen::print, Polyline{.points_mm = {{left_mm - 1.5, side.y_mm() - 5.6},
                                                            {left_mm + 97, side.y_mm() - 5.6},
                                                            {left_mm + 97, side.y_mm() + 1.4},
                                                            {left_mm - 1.5, side.y_mm() + 1.4}},
                                              .closed = true});
  }
}

void write_order(Side& side) {
  side.heading("Order");
  const double step = side.wide_mm() / 3;
  for (const auto& row :
       {std::array{"look round", "height", "back"}, std::array{"base exposure", "fill", "check"}}) {
    side.skip(number_line_mm - 0.4);
    for (std::size_t i = 0; i < row.size(); ++i) {
      const double x = left_mm + static_cast<double>(i) * step, y = side.y_mm();
      side.drawing().add(
          Pen::print,
          Polyline{.points_mm = {{x, y - 3.6}, {x + 3.6, y - 3.6}, {x + 3.6, y}, {x, y}}, .closed = true});
      side.put(x + 5, y, {row[i]});
    }
  }
  side.paragraph("Last: litter back, my trail, where I stood.", body_mm, true);
}

// Room for a pencil between the words.
void write_blanks(Side& side) {
  side.heading("Really used");
  const auto blanks = [&](const std::vector<std::pair<std::string, double>>& words) {
    side.skip(8.2);
    double x = left_mm;
    for (const auto& [word, wide] : words) {
      side.put(x, side.y_mm(), {word});
      x += side.width_of({word}) + 1.5;
      side.drawing().add_line(Pen::print_thin, {x, side.y_mm() + 0.8}, {x + wide, side.y_mm() + 0.8});
      x += wide + 2.5;
    }
  };
  blanks({{"lamp at", 48}, {"power", 30}});
  blanks({{"f/", 18}, {"t", 22}, {"ISO", 22}, {"date", 19}});
}

Drawing second_side(const World& world, const PocketFacts& facts, const PocketPictures& pictures,
                    const Typeface& typeface) {
  Side side(world.scene.title, pocket_width_mm - 2 * left_mm, typeface);
  const std::vector<PocketThing> things = pocket_things(world);
  const bool lamps =
      std::any_of(things.begin(), things.end(), [](const PocketThing& t) { return t.source >= 0; });
  const double table_top = side.y_mm() + 2 * body_line_mm + 2.5;
  write_table(side, world, facts);
  side.go_to(std::max(side.y_mm(), put_pictures(side, pictures, lamps, table_top)));
  side.heading("If not");
  for (const std::string& words : rule_words(world)) side.paragraph(words);
  write_order(side);
  write_blanks(side);
  side.skip(2);
  side.heading("");
  side.skip(-body_line_mm);
  for (const std::string& words : pocket_cautions()) side.paragraph(words);
  return side.take();
}

}  // namespace

std::array<Drawing, 2> pocket_card(const World& world, const PocketFacts& facts,
                                   const PocketPictures& pictures, const Typeface& typeface) {
  return {first_side(world, facts, typeface), second_side(world, facts, pictures, typeface)};
}

Drawing pocket_sheet(const std::array<Drawing, 2>& sides) {
  Drawing sheet{.width_mm = 2 * pocket_width_mm, .height_mm = pocket_height_mm, .title = sides[0].title};
  sheet.add_drawing(sides[0], {0, 0});
  sheet.add_drawing(sides[1], {pocket_width_mm, 0});
  return sheet;
}

}  // namespace undercap
