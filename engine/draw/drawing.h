// A drawing as a list of marks on paper, for whoever paints it: paper, a file or a window.
//
// Millimetres from the upper left corner, x to the right, y down. Marks lie in the order of painting. A mark
// says by its pen what it means; how that looks is style_of, where pens differ by width and dash, so that no
// meaning hangs on a colour alone. A handle names what a person drags or types over:
//   camera  look_at  focus  source:NAME  aim:NAME  prop:NAME  meter:NAME  dimension:KIND:NAME
#pragma once

#include <cstdint>
#include <glm/vec2.hpp>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace undercap {

enum class Pen {
  ground,
  prop,
  subject,
  hidden,  // a lamp that is off
  camera,
  field,  // what the camera sees
  axis,   // of the lens
  focus_plane,
  depth_limit,
  source,
  beam,
  lux_line,
  card,
  flag,  // a card that takes light away
  meter,
  sun,
  clock,
  dimension,
  grid,
  key,
  curve_1,  // the lines of a plot, in their order
  curve_2,
  curve_3,
  curve_4,
  curve_5,
  curve_6,
  mark,          // a named position on an axis of a plot
  place_line,    // of a map of lamp places: equal power
  place_barred,  // hatched: no lamp can stand there
  place_spill,   // hatched: a lamp there spills too much
  place_dark,    // hatched: the light of a lamp there does not arrive
  place_mark,    // an offered place
  print,         // all black, for a card that is read outdoors
  print_thin,
  print_dash,
  text,
};
inline constexpr int pens = static_cast<int>(Pen::text) + 1;

// From the strongest to the weakest on any paper; 'accent' is for light and may have a hue where there is
// one.
enum class Tone { strong, plain, soft, faint, accent };

struct PenStyle {
  double width_mm = 0.2;
  std::vector<double> dash_mm{};  // on, off, on ...; empty: unbroken
  Tone tone = Tone::plain;
};
const PenStyle& style_of(Pen pen);

// 'pale' is a light wash of the pen's tone, 'solid' the tone itself, 'paper' hides what lies below.
enum class Fill { none, pale, solid, paper };

struct Polyline {
  std::vector<glm::dvec2> points_mm{};
  bool closed = false;
  Fill fill = Fill::none;
  bool outlined = true;  // false: the fill alone
};

struct Circle {
  glm::dvec2 centre_mm{0};
  double radius_mm = 1;
  Fill fill = Fill::none;
};

enum class Across { left, middle, right };

// Stands on its baseline at a place that is its left end, middle or right end.
struct Text {
  glm::dvec2 at_mm{0};
  std::string words{};
  double size_mm = 2.4;  // the type's body
  Across across = Across::left;
  bool bold = false;
  bool clears = true;  // the paper behind it is wiped first
};

// Rows from the top, 'channels' bytes a pixel: 1 grey, 3 RGB, coded for the screen.
struct Image {
  glm::dvec2 at_mm{0}, size_mm{0};  // upper left corner, and how large
  int width = 0, height = 0, channels = 1;
  std::vector<std::uint8_t> bytes{};
};

using Shape = std::variant<Polyline, Circle, Text, Image>;

struct Mark {
  Pen pen = Pen::prop;
  Shape shape;
  std::string handle{};
};

struct Drawing {
  double width_mm = 0, height_mm = 0;
  std::string title{};
  std::vector<Mark> marks{};

  void add(Pen pen, const Shape& shape, const std::string& handle = {});
  // A straight line, cut where it leaves the paper; nothing when none of it is on it.
  void add_line(Pen pen, const glm::dvec2& from_mm, const glm::dvec2& to_mm, const std::string& handle = {});
  // Another drawing with its upper left corner there, cut at its own paper. A text or an image is not cut.
  void add_drawing(const Drawing& part, const glm::dvec2& at_mm);
};

// About how wide words come out in a humanist sans: for placing them, where no typeface is at hand.
double text_width_mm(std::string_view words, double size_mm, bool bold = false);

struct Box {
  glm::dvec2 low{0}, high{0};
};
// What a text covers, from the top of its capitals to below its descenders.
Box box_of(const Text& text);

// The part of a line that lies in a box. False when none does; the ends are then left alone.
bool cut_to(const Box& box, glm::dvec2& from, glm::dvec2& to);

// How far a place is from a mark's ink, or from its area where it is filled, mm.
double distance_mm(const Mark& mark, const glm::dvec2& place_mm);

// The handle nearest to a place within reach; of equally near ones the mark painted last. What has a pale
// wash is taken by its edge, and by its inside where nothing else is near: what stands on it can be taken
// too. Empty: none.
std::string handle_at(const Drawing& drawing, const glm::dvec2& place_mm, double reach_mm);

}  // namespace undercap
