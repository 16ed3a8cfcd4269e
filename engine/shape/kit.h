// What the files of the kit share: how a key is written down, how its value is read, and one function a kind.
#pragma once

#include <glm/vec2.hpp>
#include <glm/vec3.hpp>

#include "engine/shape/kinds.h"

namespace undercap {

KindKey number_key(std::string name, std::string fallback, double low, double high, std::string meaning);
KindKey integer_key(std::string name, std::string fallback, double low, double high, std::string meaning);
KindKey boolean_key(std::string name, std::string fallback, std::string meaning);
KindKey text_key(std::string name, std::string fallback, std::string meaning);
// The fallback without its quotation marks; choices separated by blanks.
KindKey choice_key(std::string name, std::string fallback, std::string choices, std::string meaning);
KindKey pair_key(std::string name, std::string fallback, double low, double high, std::string meaning);
KindKey triple_key(std::string name, std::string fallback, double low, double high, std::string meaning);
// Empty unless the scene says otherwise.
KindKey list_key(std::string name, ListShape shape, std::string meaning);
KindKey seed_key();

// A part made of a row of the table of materials.
KindPart part_of(std::string name, std::string row, bool open_sheet);

// Null for 'plain' and for names that are none of them.
const KindPreset* find_preset(const std::vector<KindPreset>& presets, std::string_view name);
// The key that chooses one of them, or 'plain' for none.
KindKey preset_key(const std::vector<KindPreset>& presets);

// As number(), for the other types. A missing key or one of another type is a bug of the caller.
int whole(const KeyValues& values, std::string_view key);
bool flag(const KeyValues& values, std::string_view key);
glm::dvec2 pair(const KeyValues& values, std::string_view key);
glm::dvec3 triple(const KeyValues& values, std::string_view key);
// A triple as a unit vector. Refuses [0, 0, 0].
glm::dvec3 direction(const KeyValues& values, std::string_view key);
const Rows& rows(const KeyValues& values, std::string_view key);
std::uint32_t seed_of(const KeyValues& values);

// The setting's ground, or level ground where it has none.
double ground_at(const Setting& setting, double x_m, double y_m);

// What a prop lies on below a place: the nearest place of its host, or the ground straight below or above.
HostPlace footing_at(const Setting& setting, const glm::dvec3& place_m);

// What a pixel covers at a place of the prop, in its own space; 0: not known, full detail.
double pixel_at(const Setting& setting, const glm::dvec3& place_m);

// Whether the scene's polygons let something lie there.
bool allowed_at(const Setting& setting, double x_m, double y_m);

// Balances the tints of every part (see balance_tint), after giving each part its own positions. The highest
// factor is 1.99, or less where reflectance and transmittance would come to more than 1 together.
void balance_tints(Mesh& mesh, const std::vector<KindPart>& parts);

Kind plane_kind();
Kind card_kind();
Kind disc_kind();
Kind sphere_kind();
Kind box_kind();
Kind mesh_kind();
Kind mushroom_kind();
Kind bonnet_kind();
Kind tuft_kind();
Kind shelf_kind();
Kind ball_kind();
Kind log_kind();
Kind stump_kind();
Kind branch_kind();
Kind litter_kind();
Kind leaf_kind();
Kind moss_kind();
Kind lichen_kind();
Kind grass_kind();
Kind frond_kind();
Kind stone_kind();
Kind twig_kind();
Kind trunk_kind();
Kind thicket_kind();
Kind leaf_cards_kind();
Kind haze_kind();

}  // namespace undercap
