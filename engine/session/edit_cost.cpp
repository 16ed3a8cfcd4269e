#include "engine/session/edit_cost.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>
#include <set>

#include "engine/scene/address.h"
#include "engine/scene/keys.h"

namespace undercap {
namespace {

struct CostRow {
  std::string_view table, names;  // names parted by blanks; "*": all that no row above has
  EditClass cost;
};

constexpr std::array cost_rows{
    CostRow{"", "undercap title note", EditClass::nothing},
    CostRow{"variant", "*", EditClass::nothing},

    // Weights of films and what is made of their sum. The sky's map is white at 1 lx; the colour of a general
    // sky changes over it, for which see SceneComparison::cost_of().
    CostRow{"sky", "horizontal_lx grey_card cct_k", EditClass::mix},
    CostRow{"sky.grey_card", "*", EditClass::mix},
    CostRow{"sun", "normal_lx availability turbidity", EditClass::mix},
    CostRow{"source",
            "on power_pct on_s flux_lm intensity_cd beam_distance_m guide_number_m cct_k duv gel_mired "
            "diffuser_transmission",
            EditClass::mix},
    // The longest time that hands can hold is a reading; the picture is not shaken.
    CostRow{"exposure", "hand_rule", EditClass::readings},
    CostRow{"exposure", "*", EditClass::mix},
    // What the glass takes away is a factor of the image illuminance, put in when the film is developed.
    CostRow{"camera", "transmission nd_stops polariser_stops fall_off", EditClass::mix},
    // Noise and spread of the pixels are laid over a picture as it is developed.
    CostRow{"sensor", "*", EditClass::mix},

    // Only a picture that is rendered for its movement shows it.
    CostRow{"prop", "sway_mm sway_hz sway_deg", EditClass::readings},
    // The circle of confusion draws the limits of what is sharp, and two pixels may be its measure. Support,
    // its lowest height and the stabiliser end in notes and in the hand-held limit; they move no camera.
    CostRow{"camera", "circle_of_confusion_mm coc_rule support lowest_axis_m stabiliser_stops",
            EditClass::readings},
    CostRow{"meter", "*", EditClass::readings},
    CostRow{"stack", "*", EditClass::readings},
    CostRow{"taken", "*", EditClass::readings},

    // Kind too: a disc becomes a rectangle, and light becomes energy, of this lamp alone.
    CostRow{"source",
            "kind position_m aim beam_deg field_deg beam_file roll_deg diameter_mm size_mm diffuser",
            EditClass::lamp},

    // All else of the camera is where its rays begin and go, or what it shades. How fine the meshes are also
    // goes by the camera, but only so that nothing is seen of it: they may stay while it moves a little.
    CostRow{"camera", "*", EditClass::camera},

    CostRow{"sky", "model type", EditClass::sky},
    CostRow{"sun", "on azimuth_deg elevation_deg", EditClass::sky},
    CostRow{"place", "*", EditClass::sky},
    CostRow{"canopy", "*", EditClass::sky},
    CostRow{"render", "seed", EditClass::sky},  // other rays, and nothing else

    // A snoot is a tube of triangles.
    CostRow{"source", "snoot_mm name", EditClass::set},
    // What the photograph is about has the finest meshes.
    CostRow{"subject", "*", EditClass::set},
    CostRow{"ground", "*", EditClass::set},
    CostRow{"prop", "*", EditClass::set},
    CostRow{"prop.scatter", "*", EditClass::set},
    CostRow{"prop.material", "*", EditClass::set},
};

using Type = FileNode::Type;

bool same_moment(const UtcTime& a, const UtcTime& b) {
  return a.year == b.year && a.month == b.month && a.day == b.day && a.hour == b.hour &&
         a.minute == b.minute && a.second == b.second;
}

bool same_value(const FileNode& a, const FileNode& b) {
  if (a.is_number() && b.is_number()) return a.number == b.number;
  if (a.type != b.type) return false;
  switch (a.type) {
    case Type::text:
      return a.text == b.text;
    case Type::boolean:
      return a.boolean == b.boolean;
    case Type::moment:
      return same_moment(a.moment, b.moment);
    case Type::array:
      return std::equal(a.items.begin(), a.items.end(), b.items.begin(), b.items.end(), same_value);
    case Type::table:
      return a.entries.size() == b.entries.size() &&
             std::all_of(a.entries.begin(), a.entries.end(), [&](const FileEntry& entry) {
               const FileNode* other = b.find(entry.key);
               return other && same_value(entry.value, *other);
             });
    default:
      return false;  // no key takes a time without its offset
  }
}

// The defaults that the table of keys has, as values.
const FileNode* default_of(std::string_view table, std::string_view name) {
  static const auto defaults = [] {
    std::map<std::pair<std::string, std::string>, FileNode, std::less<>> all;
    for (const KeyRow& row : key_rows())
      if (!row.fallback.empty())
        all.emplace(std::pair(std::string(row.table), std::string(row.name)),
                    *parse_document(fmt::format("v = {}\n", row.fallback), "").root.find("v"));
    return all;
  }();
  const auto found = defaults.find(std::pair(std::string(table), std::string(name)));
  return found == defaults.end() ? nullptr : &found->second;
}

const FileNode* value_of(const FileNode* table, std::string_view name) {
  return table ? table->find(name) : nullptr;
}

// The keys of two tables whose values differ, in the order of the file after the edit.
std::vector<std::string> differing(std::string_view table, const FileNode* before, const FileNode* after) {
  std::vector<std::string> keys;
  for (const FileNode* one : {after, before})
    for (std::size_t i = 0; one && i < one->entries.size(); ++i) {
      const std::string& key = one->entries[i].key;
      const FileNode *was = value_of(before, key), *is = value_of(after, key);
      if (one == before && is) continue;  // seen already
      if (!was) was = default_of(table, key);
      if (!is) is = default_of(table, key);
      if (!was || !is || !same_value(*was, *is)) keys.push_back(key);
    }
  return keys;
}

std::string text_of(const FileNode* table, std::string_view name) {
  const FileNode* node = value_of(table, name);
  return node && node->type == Type::text ? node->text : std::string();
}

// The blocks of a list by name, and their names in order.
struct Blocks {
  explicit Blocks(const Document& document, std::string_view list) {
    const FileNode* node = document.root.find(list);
    if (!node) return;
    for (const FileNode& block : node->items) {
      names.push_back(text_of(&block, "name"));
      by_name.emplace(names.back(), &block);
    }
  }
  std::vector<std::string> names;
  std::map<std::string, const FileNode*> by_name;
};

class SceneComparison {
 public:
  SceneComparison(const Document& before, const Document& after) : before_(before), after_(after) {}

  SceneChange run() {
    for (const std::string& key : differing_at_top()) add({}, key, key);
    for (const TableRow& table : table_rows())
      if (table.list)
        list(std::string(table.name));
      else
        for (const std::string& key :
             differing(table.name, before_.root.find(table.name), after_.root.find(table.name)))
          add(table.name, key, fmt::format("{}.{}", table.name, key));
    follow_what_moved();
    for (const std::string& name : Blocks(after_, "source").names)
      if (lamps_.contains(name)) change_.lamps.push_back(name);
    change_.readings = change_.readings || change_.mix || change_.any_film();
    return change_;
  }

 private:
  // Keys of the top alone; tables and lists are compared on their own.
  std::vector<std::string> differing_at_top() const {
    std::vector<std::string> keys = differing("", &before_.root, &after_.root);
    std::erase_if(keys, [](const std::string& key) {
      const auto& tables = table_rows();
      return std::any_of(tables.begin(), tables.end(), [&](const TableRow& t) { return t.name == key; });
    });
    return keys;
  }

  EditClass cost_of(std::string_view table, std::string_view name) const {
    const FileNode* sky = after_.root.find("sky");
    // From there on the colour of each place of the sky goes by the whole sky's: the map is another.
    if (table == "sky" && name == "cct_k" && text_of(sky, "model") == "general") return EditClass::sky;
    const auto cost = edit_class(table, name);
    UNDERCAP_CHECK(cost.has_value(), fmt::format("the key '{}' of '{}' has a cost", name, table));
    return *cost;
  }

  void add(std::string_view table, std::string_view name, std::string key) {
    const EditClass cost = cost_of(table, name);
    change_.readings = change_.readings || cost == EditClass::readings;
    change_.mix = change_.mix || cost == EditClass::mix;
    change_.camera = change_.camera || cost == EditClass::camera;
    change_.sky = change_.sky || cost == EditClass::sky;
    change_.set = change_.set || cost == EditClass::set;
    change_.keys.push_back(std::move(key));
  }

  // A lamp with a snoot, which stands in the set, takes that along.
  void restart(const std::string& lamp, const FileNode* before, const FileNode* after) {
    if (value_of(before, "snoot_mm") || value_of(after, "snoot_mm"))
      change_.set = true;
    else
      lamps_.insert(lamp);
  }

  void list(const std::string& list) {
    const Blocks before(before_, list), after(after_, list);
    if (before.names != after.names) add(list, "name", list);
    for (const std::string& name : after.names) {
      const auto found = before.by_name.find(name);
      if (found == before.by_name.end()) continue;
      const FileNode *was = found->second, *is = after.by_name.at(name);
      for (const std::string& key : differing(list, was, is)) {
        add(list, key, fmt::format("{}.{}.{}", list, name, key));
        if (list == "source" && cost_of(list, key) == EditClass::lamp) restart(name, was, is);
        if (key == "position_m") moved_.insert(fmt::format("{}:{}", list, name));
        if (list == "meter") changed_meters_.insert(fmt::format("meter:{}", name));
      }
    }
  }

  bool points_at(const FileNode* node, const std::set<std::string>& what) const {
    const auto address = node && node->type == Type::text ? Address::parse(node->text) : std::nullopt;
    return address && what.contains(address->text());
  }

  // What looks at a source or a meter turns when that is moved.
  void follow_what_moved() {
    const Blocks before(before_, "source"), after(after_, "source");
    for (const auto& [name, block] : after.by_name)
      if (points_at(block->find("aim"), moved_)) {
        const auto was = before.by_name.find(name);
        restart(name, was == before.by_name.end() ? nullptr : was->second, block);
      }
    const FileNode* camera = after_.root.find("camera");
    if (points_at(value_of(camera, "look_at"), moved_) || points_at(value_of(camera, "focus"), moved_))
      change_.camera = true;
    if (points_at(value_of(after_.root.find("exposure"), "meter_on"), changed_meters_)) change_.mix = true;
  }

  const Document &before_, &after_;
  SceneChange change_;
  std::set<std::string> lamps_, moved_, changed_meters_;  // addresses, but for the lamps
};

}  // namespace

std::optional<EditClass> edit_class(std::string_view table, std::string_view name) {
  for (const CostRow& row : cost_rows) {
    if (row.table != table) continue;
    const auto listed = words(row.names);
    if (row.names == "*" || std::find(listed.begin(), listed.end(), name) != listed.end()) return row.cost;
  }
  return std::nullopt;
}

SceneChange change_between(const Document& before, const Document& after) {
  return SceneComparison(before, after).run();
}

}  // namespace undercap
