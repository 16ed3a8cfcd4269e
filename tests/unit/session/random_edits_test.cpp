// A long life of a bundled scene: five hundred edits of every sort, back to the first byte and on to the
// last.
#include <fmt/format.h>

#include <array>
#include <random>

#include "tests/unit/session/set_up.h"

namespace undercap {
namespace {

class Life {
 public:
  explicit Life(EditedScene& edited) : edited_(edited) {}

  // Whether the edit was done; a refused one has left everything as it was.
  bool step() {
    const std::string before = edited_.text();
    const auto undo_name = edited_.undo_name(), redo_name = edited_.redo_name();
    try {
      edit();
      EXPECT_EQ(edited_.document().text, edited_.text());
      return true;
    } catch (const Refusal&) {
      EXPECT_EQ(edited_.text(), before);
      EXPECT_EQ(edited_.undo_name(), undo_name);
      EXPECT_EQ(edited_.redo_name(), redo_name);
      return false;
    }
  }

 private:
  std::size_t any(std::size_t below) { return random_() % below; }
  double number(double low, double high) {
    return low + (high - low) * static_cast<double>(any(1000)) / 1000;
  }
  template <class Named>
  std::string name_of(const std::vector<Named>& all) {
    return all.empty() ? "nobody" : all[any(all.size())].name;
  }

  Edit value() {
    const Scene& scene = edited_.scene();
    const std::string prop = name_of(scene.props), source = name_of(scene.sources);
    switch (any(14)) {
      case 0:
        return {"camera.f_number", fmt::format("{:.1f}", number(0.2, 30))};
      case 1:
        return {"camera.position_m", fmt::format("[{:.3f}, -0.7, 0.03]", number(-.1, .1))};
      case 2:
        return {"camera.magnification", fmt::format("{:.2f}", number(.1, 1))};
      case 3:
        return {"camera.focus", "\"parasol/stem\""};
      case 4:
        return {"sky.grey_card", "{ f_number = 8, shutter_s = 1, iso = 200 }"};
      case 5:
        return {"sky.grey_card.iso", "400"};
      case 6:
        return {"sky.horizontal_lx", fmt::format("{:.0f}", number(0, 9000))};
      case 7:
        return {"prop." + prop + ".turn_deg", fmt::format("{:.1f}", number(-400, 400))};
      case 8:
        return {"prop." + prop + ".visible", any(2) ? "true" : "false"};
      case 9:
        return {"prop." + prop + ".material.cap.reflectance", fmt::format("{:.2f}", number(0, 1.2))};
      case 10:
        return {"source." + source + ".power_pct", fmt::format("{:.0f}", number(0, 110))};
      case 11:
        return {"source." + source + ".intensity_cd", fmt::format("{:.0f}", number(0, 900))};
      case 12:
        return {"source." + source + ".position_m", fmt::format("[{:.3f}, 0, 0.1]", number(-1, 1))};
      default:
        return {"title", fmt::format("\"Pilz № {}\"", any(1000))};
    }
  }

  void add() {
    switch (any(4)) {
      case 0:
        edited_.add_block(
            fmt::format("# Added.\n[[prop]]\nname = \"{}\"\nkind = \"mushroom\"\n[prop.material.cap]\n"
                        "wet = 0.5\n",
                        edited_.next_name("prop", "mushroom")),
            "Add");
        break;
      case 1:
        edited_.add_block(
            fmt::format("[[source]]\nname = \"{}\"\nkind = \"torch\"\nposition_m = [1, 1, 1]\naim = "
                        "\"parasol\"\nflux_lm = 20\n",
                        edited_.next_name("source", "torch")),
            "Add");
        break;
      case 2:
        edited_.add_block(
            fmt::format("[[meter]]\nname = \"{}\"\nkind = \"spot\"", edited_.next_name("meter", "spot")),
            "Add");
        break;
      default:
        edited_.add_block(fmt::format("[[variant]]\nname = \"{}\"\nchange = {{ \"source.{}.on\" = true }}\n",
                                      edited_.next_name("variant", "lit"), name_of(edited_.scene().sources)),
                          "Add");
    }
  }

  void remove() {
    const Scene& scene = edited_.scene();
    switch (any(4)) {
      case 0:
        edited_.remove_block("prop", name_of(scene.props), "Remove");
        break;
      case 1:
        edited_.remove_block("source", name_of(scene.sources), "Remove");
        break;
      case 2:
        edited_.remove_block("meter", name_of(scene.meters), "Remove");
        break;
      default:
        edited_.remove_block("variant", name_of(scene.variants), "Remove");
    }
  }

  void edit() {
    static constexpr std::array keys = {"camera.f_number",  "camera.look_at", "sky.horizontal_lx",
                                        "sky.grey_card",    "place.time",     "source.torch.power_pct",
                                        "prop.parasol.kind"};
    const auto what = any(20);
    if (what < 9) {
      const Edit one = value();
      edited_.set(one.key, one.value, "Set");
    } else if (what < 11) {
      edited_.change({value(), value()}, "Two");
    } else if (what < 13) {
      edited_.unset(keys[any(keys.size())], "Unset");
    } else if (what < 15) {
      add();
    } else if (what < 17) {
      remove();
    } else if (what == 17) {
      edited_.use_variant(name_of(edited_.scene().variants));
    } else if (what == 18) {
      edited_.begin_gesture("Gesture");
    } else {
      edited_.end_gesture();
    }
  }

  EditedScene& edited_;
  std::mt19937 random_{20261020};  // its numbers are the same everywhere
};

TEST(RandomEdits, UndoGoesBackToTheFirstByteAndRedoToTheLast) {
  const std::filesystem::path path =
      std::filesystem::path(UNDERCAP_SOURCE_DIR) / "scenes" / "umber_parasol.toml";
  EditedScene edited = EditedScene::open(path);
  const std::string first = edited.text();
  ASSERT_EQ(first, read_file(path));
  Life life(edited);
  int done = 0, refused = 0;
  for (int i = 0; i < 500; ++i) (life.step() ? done : refused) += 1;
  edited.end_gesture();
  EXPECT_GT(done, 250);
  EXPECT_GT(refused, 50);
  const std::string last = edited.text();
  EXPECT_NE(last, first);
  std::vector<std::string> texts{last};
  while (edited.undo()) texts.push_back(edited.text());
  EXPECT_EQ(edited.text(), first);
  EXPECT_GT(texts.size(), 100U);
  EXPECT_FALSE(edited.unsaved());
  while (!texts.empty()) {
    ASSERT_EQ(edited.text(), texts.back());
    texts.pop_back();
    EXPECT_EQ(edited.redo().has_value(), !texts.empty());
  }
  EXPECT_EQ(edited.text(), last);
}

}  // namespace
}  // namespace undercap
