#include <fmt/format.h>

#include "tests/unit/session/set_up.h"

namespace undercap {
namespace {

namespace fs = std::filesystem;

class EditedFile : public InFolder {};

TEST_F(EditedFile, SavesEveryByteAndKnowsWhatIsUnsaved) {
  const std::string windows = "undercap = 1\r\n# Pilz\r\n[camera]\r\nf_number = 8\r\n";
  const fs::path path = file("a b.toml", windows);
  EditedScene edited = EditedScene::open(path);
  EXPECT_FALSE(edited.unsaved());
  edited.set("camera.f_number", "11", "Aperture");
  EXPECT_TRUE(edited.unsaved());
  EXPECT_EQ(read_file(path), windows);
  edited.save();
  EXPECT_FALSE(edited.unsaved());
  EXPECT_EQ(read_file(path), "undercap = 1\r\n# Pilz\r\n[camera]\r\nf_number = 11\r\n");
  edited.undo();
  EXPECT_TRUE(edited.unsaved());
  edited.redo();
  EXPECT_FALSE(edited.unsaved());
}

TEST_F(EditedFile, OpensOnlyWhatIsAScene) {
  EXPECT_TRUE(has(refusal_of([&] { EditedScene::open(folder / "no.toml"); }), "no.toml"));
  const fs::path path = file("bad.toml", "undercap = 1\n[camera]\nf_number = 0\n");
  EXPECT_TRUE(has(refusal_of([&] { EditedScene::open(path); }), "bad.toml:3:12"));
}

TEST_F(EditedFile, SeesAnotherHand) {
  const fs::path path = file("a.toml", small_scene);
  EditedScene edited = EditedScene::open(path);
  EXPECT_FALSE(edited.changed_on_disk());
  file("a.toml", small_scene);  // the same bytes, written anew
  EXPECT_FALSE(edited.changed_on_disk());
  const std::string other = small_scene + "# other\n";
  file("a.toml", other);
  EXPECT_TRUE(edited.changed_on_disk());
  edited.set("camera.f_number", "11", "Aperture");
  EXPECT_TRUE(has(refusal_of([&] { edited.save(); }), "another program has changed this file"));
  EXPECT_EQ(read_file(path), other);
  edited.save(true);
  EXPECT_EQ(read_file(path), edited.text());
  EXPECT_FALSE(edited.changed_on_disk());
}

TEST_F(EditedFile, AFileThatIsGoneIsWrittenAgain) {
  const fs::path path = file("a.toml", small_scene);
  EditedScene edited = EditedScene::open(path);
  fs::remove(path);
  EXPECT_TRUE(edited.changed_on_disk());
  edited.save();
  EXPECT_EQ(read_file(path), small_scene);
}

TEST_F(EditedFile, ReloadIsAStep) {
  const fs::path path = file("a.toml", small_scene);
  EditedScene edited = EditedScene::open(path);
  edited.set("camera.f_number", "11", "Aperture");
  const std::string mine = edited.text();
  const std::string other = small_scene + "# other\n";
  file("a.toml", other);
  EXPECT_TRUE(edited.reload().camera);
  EXPECT_EQ(edited.text(), other);
  EXPECT_FALSE(edited.unsaved());
  EXPECT_FALSE(edited.changed_on_disk());
  edited.undo();
  EXPECT_EQ(edited.text(), mine);
  EXPECT_TRUE(edited.unsaved());
}

TEST_F(EditedFile, LinksAndRightsStay) {
  const fs::path path = file("a.toml", small_scene);
  fs::permissions(path, fs::perms::owner_read | fs::perms::owner_write);
  fs::create_symlink("a.toml", folder / "link.toml");
  EditedScene edited = EditedScene::open(folder / "link.toml");
  edited.set("camera.f_number", "11", "Aperture");
  edited.save();
  EXPECT_TRUE(fs::is_symlink(folder / "link.toml"));
  EXPECT_EQ(read_file(path), edited.text());
  EXPECT_EQ(fs::status(path).permissions(), fs::perms::owner_read | fs::perms::owner_write);
}

TEST_F(EditedFile, ANewTextReplacesNoFile) {
  const fs::path path = file("a.toml", "undercap = 1\n# old\n");
  EditedScene edited = EditedScene::from_text(small_scene, path);
  EXPECT_TRUE(edited.unsaved());
  EXPECT_FALSE(edited.changed_on_disk());
  EXPECT_TRUE(has(refusal_of([&] { edited.save(); }), "exists already"));
  EXPECT_TRUE(has(refusal_of([&] { edited.save_as(path); }), "exists already"));
  EXPECT_EQ(read_file(path), "undercap = 1\n# old\n");
  edited.save_as(path, true);
  EXPECT_EQ(read_file(path), small_scene);
  EXPECT_FALSE(edited.unsaved());
}

TEST_F(EditedFile, SaveAsMovesOn) {
  EditedScene edited = EditedScene::open(file("a.toml", small_scene));
  edited.set("camera.f_number", "11", "Aperture");
  edited.save_as(folder / "b.toml");
  EXPECT_EQ(edited.path(), folder / "b.toml");
  EXPECT_EQ(edited.scene().file, (folder / "b.toml").string());
  EXPECT_EQ(read_file(folder / "a.toml"), small_scene);
  edited.undo();
  edited.save();
  EXPECT_EQ(read_file(folder / "b.toml"), small_scene);
}

TEST_F(EditedFile, SaveAsElsewhereNeedsTheFilesThatTheSceneNames) {
  file("lamp.ies", "never read here");
  const std::string text =
      "undercap = 1\n[[prop]]\nname = \"m\"\nkind = \"mesh\"\nfile = \"m.obj\"\n[[source]]\nname = \"t\"\n"
      "kind = \"torch\"\nposition_m = [0, 0, 1]\naim = [0, 0, 0]\nflux_lm = 1\nbeam_file = \"lamp.ies\"\n"
      "[[variant]]\nname = \"v\"\nchange = { \"source.t.beam_file\" = \"other.ies\" }\n";
  EditedScene edited = EditedScene::open(file("a.toml", text));
  const fs::path away = folder / "away";
  fs::create_directory(away);
  const std::string words = refusal_of([&] { edited.save_as(away / "a.toml"); });
  for (const char* name : {"m.obj", "lamp.ies", "other.ies"}) EXPECT_TRUE(has(words, name)) << words;
  EXPECT_FALSE(fs::exists(away / "a.toml"));
  EXPECT_EQ(edited.path(), folder / "a.toml");
  edited.save_as(folder / "b.toml");  // the same folder
  for (const char* name : {"away/m.obj", "away/lamp.ies", "away/other.ies"}) file(name, "");
  edited.save_as(away / "a.toml");
  EXPECT_EQ(read_file(away / "a.toml"), text);
  EXPECT_EQ(edited.scene().sources[0].beam_file, (away / "lamp.ies").string());
}

TEST_F(EditedFile, ARecoveredTextBelongsToItsFile) {
  const fs::path path = file("a.toml", small_scene);
  EditedScene edited = EditedScene::recovered(small_scene + "# more\n", path);
  EXPECT_TRUE(edited.unsaved());
  EXPECT_FALSE(edited.changed_on_disk());
  edited.save();
  EXPECT_EQ(read_file(path), small_scene + "# more\n");
  EXPECT_FALSE(EditedScene::recovered(small_scene + "# more\n", path).unsaved());
  EXPECT_TRUE(EditedScene::recovered(small_scene, folder / "gone.toml").unsaved());
}

}  // namespace
}  // namespace undercap
