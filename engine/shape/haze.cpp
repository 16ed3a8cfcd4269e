// The kind 'haze': the wood far off as one pale sheet, with stems and crowns in it and gaps to the sky. It
// stands where single trunks no longer count, 20 to 40 m behind the set. Lengths in m.
//
// A sheet, since no light passes through air here: what mist between camera and trees adds to their light is
// in the sheet's reflectance, which is higher than that of bark and leaves.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/shape/cut_sheet.h"
#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double sunk_m = 2;  // below the base, so that it also closes the view past the edge of the ground

std::vector<KindPart> haze_parts() { return {part_of("wood", "far_wood", true)}; }

class HazeBuilder {
 public:
  HazeBuilder(const KeyValues& values)
      : width_(number(values, "width_m")),
        height_(number(values, "height_m")),
        bow_(number(values, "bow_m")),
        stem_(1e-3 * number(values, "stem_mm")),
        share_(number(values, "stem_share")),
        contrast_(number(values, "contrast")),
        gaps_(number(values, "gap_share")),
        gap_(1e-3 * number(values, "gap_mm")),
        seed_(seed_of(values)) {}

  Mesh build(const Setting& setting) {
    // Cells fine enough for the outline of a gap, and none finer than two pixels.
    const double cell = std::max({0.2 * gap_, 2 * setting.pixel_m, std::sqrt(width_ * top() / most_cells)});
    const int columns = std::max(16, static_cast<int>(width_ / cell)) + 1;
    const int rows = std::max(8, static_cast<int>((top() + sunk_m) / cell)) + 1;
    std::vector<double> kept;
    Mesh sheet;
    const std::uint32_t part = sheet.part_index("wood");
    for (int row = 0; row < rows; ++row) {
      for (int column = 0; column < columns; ++column) {
        const double x = width_ * (static_cast<double>(column) / (columns - 1) - 0.5);
        const double z = (top() + sunk_m) * row / (rows - 1) - sunk_m;
        const double share = 2 * x / width_;
        // Bowed towards the set; uneven, so that the light on it is.
        const double y = -bow_ * share * share + 0.25 * fbm(glm::dvec2(x / 1.7, z / 2.3), 2, seed_ + 1);
        sheet.position.emplace_back(x, y, z);
        sheet.tint.emplace_back(tint(x, z));
        kept.push_back(std::min(inside_crowns(x, z), between_gaps(x, z)));
      }
    }
    add_grid_triangles(sheet, {0, rows, columns, false}, part);
    Mesh mesh = cut_sheet(sheet, kept);
    smooth_normals(mesh);
    balance_tints(mesh, haze_parts());
    return mesh;
  }

 private:
  static constexpr double most_cells = 45'000;
  double top() const { return 1.2 * height_; }

  // How much of a place is stem: bars that lean a little, near ones and far ones.
  double stem(double x, double z, std::uint32_t salt, double width, double share) const {
    const double pitch = width / share;
    const double across = x / pitch + 0.03 * z / pitch * fbm(glm::dvec2(x / 5, 0.7), 1, seed_ + salt) +
                          0.05 * gradient_noise(glm::dvec2(x / pitch, z / 3), seed_ + salt + 1);
    const double bar = std::floor(across);
    const std::uint32_t bits =
        hash_bits(seed_ + salt, static_cast<std::uint32_t>(static_cast<std::int64_t>(bar)));
    const double middle = mix(0.2, 0.8, unit_from_bits(bits));
    const double half = 0.5 * share * mix(0.35, 1.65, unit_from_bits(hash_bits(bits)));
    return ramp(half + 0.04 * share, half - 0.04 * share, std::abs(across - bar - middle));
  }

  // Lighter upwards between crowns, darker undergrowth at the foot, stems darker than both, far ones less.
  glm::dvec3 tint(double x, double z) const {
    const double mottle = fbm(glm::dvec2(x / 1.9, z / 1.3), 4, seed_ + 11);
    const double crowns = ramp(0.25, 0.9, z / height_ + 0.35 * fbm(glm::dvec2(x / 4, z / 3), 2, seed_ + 12));
    const double undergrowth = ramp(1.3, 0.1, z + 0.9 * fbm(glm::dvec2(x / 1.4, 0.3), 3, seed_ + 13));
    glm::dvec3 colour = mix(glm::dvec3(1.0, 1.0, 1.0), glm::dvec3(1.10, 1.12, 0.78), crowns);
    colour = mix(colour, glm::dvec3(0.66, 0.44, 0.25), 0.85 * undergrowth);
    colour *= 1 + 0.55 * contrast_ * mottle;
    const double near = stem(x, z, 21, stem_, share_), far = stem(x, z, 31, 0.5 * stem_, share_);
    colour = mix(colour, glm::dvec3(0.62, 0.62, 0.64), 0.6 * contrast_ * far);
    return mix(colour, glm::dvec3(0.30, 0.29, 0.28), contrast_ * near);
  }

  // Above 0 where crowns still close the view: they thin out over the upper half, first into openings between
  // crowns, then between sprays.
  double inside_crowns(double x, double z) const {
    const double crowns = 0.9 * fbm(glm::dvec2(x / 3.1, z / 4.3), 2, seed_ + 41);
    const double sprays = 0.75 * fbm(glm::dvec2(x / (3.2 * gap_), z / (2.6 * gap_)), 3, seed_ + 42);
    const double stems = 0.8 * stem(x, z, 21, stem_, share_);
    return crowns + sprays + stems + mix(1.6, -1.6, ramp(0.35, 1.25, z / height_));
  }

  // Above 0 outside the gaps, which are small, and more of them the higher one looks; none through stems.
  double between_gaps(double x, double z) const {
    if (gaps_ <= 0 || z < 0.3) return 1;
    const glm::dvec2 place(x / (2.4 * gap_), z / (2.0 * gap_));
    const Cell cell = cells(place + 0.35 * glm::dvec2(gradient_noise(2.2 * place, seed_ + 51),
                                                      gradient_noise(2.2 * place, seed_ + 52)),
                            seed_ + 53);
    const double size = unit_from_bits(cell.id), drawn = unit_from_bits(hash_bits(cell.id, 7));
    // A disc in each cell drawn: of its area pi times the mean square of radii from .13 to .30, of which
    // neighbouring cells and the edges of stems leave four fifths (counted over ten seeds).
    constexpr double disc_share = 0.8 * pi * (0.13 * 0.13 + 0.13 * 0.30 + 0.30 * 0.30) / 3;
    const double wanted = gaps_ / (disc_share * (1 - share_)) * (0.4 + 1.2 * z / height_);
    if (drawn > wanted || stem(x, z, 21, stem_, share_) > 0.01) return 1;
    return cell.nearest / mix(0.13, 0.30, size) - 1;
  }

  double width_, height_, bow_, stem_, share_, contrast_, gaps_, gap_;
  std::uint32_t seed_;
};

}  // namespace

Kind haze_kind() {
  return {
      "haze",
      "the wood far off as a pale sheet with stems, crowns and gaps to the sky, 20 to 40 m behind the set",
      {number_key("width_m", "40", 1, 200, "of the sheet"),
       number_key("height_m", "9", 0.5, 60,
                  "to the mean line of the crowns; it also goes 2 m below its base"),
       number_key("bow_m", "6", 0, 50, "how far its sides come forward"),
       number_key("stem_mm", "420", 50, 3000, "mean width of a stem in it"),
       number_key("stem_share", "0.22", 0.02, 0.8, "share of the width that is stem"),
       number_key("contrast", "0.6", 0, 1, "of stems against what is between them; less = more mist"),
       number_key("gap_share", "0.05", 0, 0.3, "share of the sheet that is open to the sky behind"),
       number_key("gap_mm", "300", 20, 2000, "mean width of a gap"), seed_key()},
      haze_parts(),
      [](const KeyValues& values, const Setting& setting) { return HazeBuilder(values).build(setting); }};
}

}  // namespace undercap
