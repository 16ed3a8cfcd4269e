// The kinds 'mushroom', 'bonnet' and 'tuft': cap, what hangs under it, stem and veils; one alone or a
// cluster.
#include "engine/shape/mushroom.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/core/errors.h"
#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/mushroom_presets.h"
#include "engine/shape/noise.h"
#include "engine/shape/tuft.h"

namespace undercap {
namespace {

constexpr double radians = std::numbers::pi / 180;

// Words of the choices, in the order of their enums.
constexpr const char* margin_words =
    "plain straight incurved inrolled decurved upturned striate sulcate appendiculate crenate lobed split "
    "eroded";
constexpr const char* attachment_words = "free adnexed adnate sinuate decurrent arcuate ventricose";
constexpr const char* stem_words = "usual equal tapering clavate bulbous rooting";
constexpr const char* ring_words = "none skirt flaring cortina";
constexpr const char* cup_words = "none sac collar bands";
// Full gills by the trade's words for their spacing: above 80, 40 to 80, 25 to 40, below 25 (from memory).
constexpr const char* spacing_words = "counted crowded close subdistant distant";
constexpr int gills_of_spacing[] = {0, 96, 58, 32, 18};

int place_in(const std::string& words, const std::string& word) {
  int place = 0;
  std::size_t from = 0;
  while (from < words.size()) {
    const std::size_t to = std::min(words.find(' ', from), words.size());
    if (words.compare(from, to - from, word) == 0) return place;
    ++place;
    from = to + 1;
  }
  UNDERCAP_CHECK(false, "a choice is one of its words");
  return 0;
}

template <class Enum>
Enum choice_of(const KeyValues& values, const char* key, const char* words) {
  return static_cast<Enum>(place_in(words, text(values, key)));
}

// Below 0.5 a cap is still young: rounder, its edge rolled in. Above, it flattens, lifts its edge and tears.
void apply_age(MushroomShape& shape, double age) {
  const double young = std::max(0.0, 1 - 2 * age), old = std::max(0.0, 2 * age - 1);
  shape.youth = young;
  shape.wear = age;
  shape.cap_height *= (1 + 0.5 * young) * (1 - 0.35 * old);
  shape.inroll += 0.12 * young * shape.cap_radius - 0.7 * old * shape.inroll;
  shape.upturn += 0.16 * old * shape.cap_radius;
  shape.wave *= 1 + 0.7 * old;
}

void read_cap(MushroomShape& shape, const KeyValues& values) {
  shape.form = cap_form(text(values, "cap_profile"));
  shape.margin_form = choice_of<MarginForm>(values, "margin", margin_words);
  shape.cap_radius = 0.5 * number(values, "cap_diameter_mm");
  shape.cap_height = number(values, "cap_height_mm");
  if (shape.cap_height == 0) shape.cap_height = shape.form.usual_height * shape.cap_radius;
  shape.umbo = number(values, "umbo_mm");
  shape.depression = number(values, "depression_mm");
  shape.upturn = number(values, "upturn_mm");
  // An edge cannot roll in by more than the cap is wide, nor flesh be thicker than the cap is high.
  shape.inroll = std::min(number(values, "inroll_mm"), 0.35 * shape.cap_radius);
  shape.flesh = std::min(number(values, "flesh_mm"), 0.55 * shape.cap_radius);
  shape.one_sheet = shape.flesh == 0;
  shape.margin = std::min(number(values, "margin_mm"), shape.flesh);
  if (shape.one_sheet) shape.flesh = shape.margin = 0.02 * shape.cap_radius;
  shape.wave = number(values, "wave");
  shape.dent = number(values, "dent");
  shape.striae = number(values, "striae");
  shape.warts = whole(values, "warts");
}

MushroomShape shape_from(const KeyValues& values, const Setting& setting) {
  MushroomShape shape;
  read_cap(shape, values);
  shape.pores = text(values, "underside") == "pores" && !shape.one_sheet;
  const int words = choice_of<int>(values, "gill_spacing", spacing_words);
  shape.gill_count = words == 0 ? whole(values, "gill_count") : gills_of_spacing[words];
  shape.gill_tiers = whole(values, "gill_tiers");
  shape.gill_depth = number(values, "gill_depth_mm");
  shape.attachment = choice_of<GillAttachment>(values, "gill_attachment", attachment_words);
  shape.stem_length = number(values, "stem_length_mm");
  shape.stem_radius = std::min(0.5 * number(values, "stem_diameter_mm"), 0.8 * shape.cap_radius);
  shape.stem_form = choice_of<StemForm>(values, "stem_profile", stem_words);
  shape.bulb = number(values, "bulb_mm");
  shape.ring = choice_of<RingForm>(values, "ring", ring_words);
  shape.cup = choice_of<CupForm>(values, "cup", cup_words);
  shape.seed = seed_of(values);
  apply_age(shape, number(values, "age"));
  // Six pixels from one position to the next are as fine as the eye asks for on a smooth skin.
  shape.spacing = std::clamp(6 * 1e3 * setting.pixel_m / 0.9, 1.0, 10.0);

  Random random(hash_bits(shape.seed, 0x1ea9u));
  const double lean = number(values, "lean_deg") * radians;
  // Leans to either side rather than to or from the front, where it would not be seen.
  const double side = random.chance(0.5) ? 1.0 : -1.0;
  const double towards = random.between(-0.9, 0.9);
  shape.tip = shape.stem_length * std::sin(lean) * glm::dvec2(side * std::cos(towards), std::sin(towards));
  const double back = number(values, "cap_tilt_deg") * radians;
  const double sideways = random.between(-0.07, 0.07);
  shape.cap_axis = glm::normalize(glm::dvec3(sideways, std::sin(back), std::cos(back)));
  return shape;
}

// What the keys and the preset say about the patterns, over what the builders know.
void finish_patterns(Mesh& mesh, const KeyValues& values, const KindPreset* preset) {
  for (MeshPart& part : mesh.parts) {
    Pattern& pattern = part.pattern;
    if (part.name == "cap") {
      pattern.tone = {0.46f, 0.37f, 0.33f};
      pattern.gloss = static_cast<float>(number(values, "viscid"));
      if (number(values, "striae") == 0) pattern.lines = 0;
    }
    if (part.name == "stem") pattern.tone = {0.68f, 0.58f, 0.46f};
    if (!preset) continue;
    for (const KindPreset::Part& own : preset->parts)
      if (own.name == part.name && own.tone != glm::vec3(1)) pattern.tone = own.tone;
  }
}

Mesh build(const KeyValues& values, const Setting& setting, const Kind& kind) {
  const MushroomShape model = shape_from(values, setting);
  const int count = whole(values, "count");
  std::vector<Individual> cluster(1);
  cluster[0].shape = model;
  if (count > 1) cluster = arrange_cluster(model, count, number(values, "spread_mm"));
  Mesh mesh;
  int individual = 0;
  for (Individual& one : cluster) {
    const glm::dvec2 base = 1e-3 * one.base;
    const glm::dvec3 shift(base.x, base.y, ground_at(setting, base.x, base.y));
    // Out of a flank a stem grows along the normal before it turns up.
    if (setting.nearest_on_host)
      one.shape.root_axis = glm::normalize(setting.nearest_on_host(shift).normal + glm::dvec3(0, 0, 0.3));
    Mesh mushroom = build_mushroom(one.shape, ++individual);
    scale_mesh(mushroom, 1e-3f);
    for (glm::vec3& place : mushroom.position) place += glm::vec3(shift);
    mesh.append(mushroom);
  }
  finish_patterns(mesh, values, find_preset(kind.presets, text(values, "preset")));
  balance_tints(mesh, parts_with(kind, values));
  return mesh;
}

std::vector<KindKey> mushroom_keys(const std::vector<KindPreset>& presets) {
  std::string profiles;
  for (const CapForm& form : cap_forms()) {
    if (!profiles.empty()) profiles += ' ';
    profiles += form.word;
  }
  return {
      preset_key(presets),
      number_key("cap_diameter_mm", "45", 3, 400, "mean width of the cap, before it waves"),
      number_key("cap_height_mm", "0", 0, 300,
                 "from the margin to the crown, without knob; 0: as usual for the profile"),
      choice_key("cap_profile", "convex", profiles, "outline of the cap from the side"),
      choice_key("margin", "plain", margin_words, "form of the cap's edge; plain: as the lengths alone say"),
      number_key("umbo_mm", "1.2", 0, 60, "height of a rounded knob on the crown"),
      number_key("depression_mm", "0", 0, 150, "depth of a hollow in the crown"),
      number_key("upturn_mm", "0", 0, 60, "how far the margin has lifted with age"),
      number_key("inroll_mm", "1.2", 0, 40, "how far the margin curls in and down"),
      number_key("flesh_mm", "5", 0, 80, "thickness of the cap at its centre; 0: one thin sheet"),
      number_key("margin_mm", "0.8", 0.1, 8, "thickness of the cap at its edge"),
      number_key("wave", "1", 0.2, 3, "how wavy and lobed the margin is; 1 is usual"),
      number_key("dent", "1", 0, 3, "how uneven the crown is; 1 is usual"),
      number_key("striae", "0", 0, 1, "dark lines of the gills showing through the outer cap"),
      number_key("viscid", "0.12", 0, 1, "share of the cap that is slimy and glossy"),
      integer_key("warts", "0", 0, 600, "pieces of the outer veil on the cap"),
      choice_key("underside", "gills", "gills pores", "what hangs under the cap"),
      integer_key("gill_count", "44", 6, 240, "full gills, that reach the stem"),
      choice_key("gill_spacing", "counted", spacing_words,
                 "full gills by a word; counted: as gill_count says"),
      integer_key("gill_tiers", "2", 0, 3, "sets of short gills between every two full ones"),
      number_key("gill_depth_mm", "4.5", 0.1, 40, "greatest depth of a full gill, or of the tubes"),
      choice_key("gill_attachment", "adnate", attachment_words, "how the gills meet the stem"),
      number_key("stem_length_mm", "55", 3, 500, "from the ground to the gills"),
      number_key("stem_diameter_mm", "8", 0.3, 120, "at half height"),
      choice_key("stem_profile", "usual", stem_words, "outline of the stem"),
      number_key("bulb_mm", "1.6", 0, 60, "how much farther the foot stands out on each side"),
      choice_key("ring", "none", ring_words, "what is left of the inner veil on the stem"),
      choice_key("cup", "none", cup_words, "what is left of the outer veil at the foot"),
      number_key("lean_deg", "6", 0, 60, "of the stem off the vertical, to the left or right by seed"),
      number_key("cap_tilt_deg", "8", -60, 60,
                 "tilts the cap back, so that from the front one sees under it"),
      number_key("age", "0.5", 0, 1, "0 a button, 0.5 full grown, 1 old, its edge lifted and torn"),
      integer_key("count", "1", 1, 40, "individuals; above 1 a cluster, the first the largest and oldest"),
      number_key("spread_mm", "11", 2, 3000, "radius within which the bases of a cluster stand"),
      seed_key(),
  };
}

KindPart sometimes(KindPart part) {
  part.sometimes = true;
  return part;
}

// Other defaults than a mushroom's, for the kinds that are mushrooms of a sort.
Kind kind_like_mushroom(const char* name, const char* meaning, std::vector<KindPreset> presets,
                        const std::map<std::string, std::string>& usual, std::vector<KindPart> parts) {
  Kind kind;
  kind.name = name;
  kind.meaning = meaning;
  kind.presets = std::move(presets);
  kind.keys = mushroom_keys(kind.presets);
  for (KindKey& key : kind.keys)
    if (const auto own = usual.find(key.name); own != usual.end()) key.fallback = own->second;
  kind.parts = std::move(parts);
  for (KindPart part :
       {part_of("flesh", "pale_flesh", false), part_of("pores", "pore_layer", false),
        part_of("ring", "veil", true), part_of("cup", "veil", true), part_of("warts", "veil_wart", false)}) {
    part.sometimes = true;
    kind.parts.push_back(part);
  }
  // The registry's own row is asked for, since it has the presets.
  const std::string own_name = name;
  kind.build = [own_name](const KeyValues& values, const Setting& setting) {
    return build(values, setting, *find_kind(own_name));
  };
  return kind;
}

}  // namespace

std::uint32_t MushroomBuild::part(Mesh& mesh, const char* name, PatternKind kind, float size_mm) const {
  const std::uint32_t index = mesh.part_index(name, individual);
  Pattern& pattern = mesh.parts[index].pattern;
  pattern.kind = kind;
  pattern.seed = hash_bits(shape.seed, 0x9a77u);
  pattern.size_mm = size_mm;
  pattern.wear = static_cast<float>(shape.wear);
  if (kind == PatternKind::cap) pattern.lines = static_cast<float>(shape.gill_count);
  return index;
}

double MushroomBuild::gills_begin() const {
  const double gap =
      shape.attachment == GillAttachment::free ? 0.06 * shape.cap_radius : -0.35 * shape.stem_radius;
  return std::min(profile.way_at_radius(std::max(shape.stem_radius + gap, 0.1)), 0.6);
}

CapSeat::CapSeat(const MushroomShape& shape, const CapProfile& profile) {
  const double flat = glm::length(shape.tip);
  const double rise = std::sqrt(std::max(shape.stem_length * shape.stem_length - flat * flat,
                                         0.1 * shape.stem_length * shape.stem_length));
  tip_ = {shape.tip.x, shape.tip.y, rise};
  z_ = shape.cap_axis;
  x_ = glm::normalize(glm::dvec3(1, 0, 0) - z_.x * z_);
  y_ = glm::cross(z_, x_);
  // A sheet rests on the rim of the stem's top. Flesh rests on its middle, or on its rim where a pointed
  // crown has no room for the stem.
  const double rim = profile.way_at_radius(1.1 * shape.stem_radius);
  seat_height_ = shape.one_sheet ? profile.top(rim).place.y
                                 : std::min(profile.under(0).place.y, profile.under(rim).place.y);
}

glm::dvec3 CapSeat::place(const glm::dvec3& in_cap) const {
  return tip_ + in_cap.x * x_ + in_cap.y * y_ + (in_cap.z - seat_height_) * z_;
}

Mesh build_mushroom(const MushroomShape& shape, int individual) {
  const MushroomBuild build(shape, individual);
  const StemTube stem(build);
  Mesh mesh;
  add_cap(mesh, build);
  if (!shape.pores) add_gills(mesh, build);
  add_stem(mesh, build);
  add_ring(mesh, build, stem);
  add_rags(mesh, build);
  add_cup(mesh, build, stem);
  add_warts(mesh, build);
  return mesh;
}

Kind mushroom_kind() {
  return kind_like_mushroom("mushroom", "a fleshy capped mushroom with gills or pores, alone or in a cluster",
                            mushroom_presets(), {},
                            {part_of("cap", "honey_cap", true), sometimes(part_of("gills", "gills", true)),
                             part_of("stem", "honey_stem", false)});
}

Kind bonnet_kind() {
  return kind_like_mushroom(
      "bonnet",
      "a small mushroom with a cap thin as a leaf, which light passes through; alone or in "
      "a cluster",
      bonnet_presets(),
      {{"cap_profile", "\"bell\""},
       {"cap_diameter_mm", "16"},
       {"cap_height_mm", "13"},
       {"umbo_mm", "0.8"},
       {"inroll_mm", "0"},
       {"flesh_mm", "0"},
       {"gill_count", "22"},
       {"gill_tiers", "1"},
       {"gill_depth_mm", "2"},
       {"stem_length_mm", "48"},
       {"stem_diameter_mm", "1.7"},
       {"bulb_mm", "0.2"},
       {"striae", "0.35"},
       {"cap_tilt_deg", "4"}},
      {part_of("cap", "bonnet_cap", true), part_of("gills", "bonnet_gills", true),
       part_of("stem", "bonnet_stem", false)});
}

Kind tuft_kind() {
  return kind_like_mushroom(
      "tuft", "mushrooms from one joined base, their stems bent out and their caps pushed apart",
      tuft_presets(),
      {{"cap_diameter_mm", "32"},
       {"cap_height_mm", "11"},
       {"flesh_mm", "3.5"},
       {"margin_mm", "0.6"},
       {"gill_count", "32"},
       {"gill_depth_mm", "3"},
       {"stem_length_mm", "60"},
       {"stem_diameter_mm", "5"},
       {"bulb_mm", "0.3"},
       {"lean_deg", "0"},
       {"cap_tilt_deg", "5"},
       {"count", "12"},
       {"spread_mm", "10"}},
      {part_of("cap", "honey_cap", true), sometimes(part_of("gills", "gills", true)),
       part_of("stem", "honey_stem", false)});
}

}  // namespace undercap
