// What a bad file is told: every message word for word.
#include <gtest/gtest.h>

#include "tests/unit/scene/scene_text.h"

namespace undercap {
namespace {

struct BadInput {
  std::string text;  // after 'undercap = 1' in line 1
  const char* refusal;
};

void expect_all(std::initializer_list<BadInput> inputs) {
  for (const BadInput& input : inputs)
    EXPECT_EQ(refusal_of("undercap = 1\n" + input.text), input.refusal) << input.text;
}

TEST(Refusal, VersionAndEmptiness) {
  EXPECT_EQ(refusal_of(""),
            "wood.toml:1:1: the file says nothing; a scene begins with the line 'undercap = 1'");
  EXPECT_EQ(refusal_of("# only words\n"),
            "wood.toml:1:1: the file says nothing; a scene begins with the line 'undercap = 1'");
  EXPECT_EQ(refusal_of("title = \"x\"\n"),
            "wood.toml:1:1: undercap is missing; allowed: the line 'undercap = 1' at the top");
  EXPECT_EQ(refusal_of("undercap = 2\nnonsense = 3\n"),
            "wood.toml:1:12: made by a newer Undercap: the format is 2 and this version reads 1; install a "
            "newer version");
  EXPECT_EQ(refusal_of("undercap = 0\n"),
            "wood.toml:1:12: undercap is 0; allowed: the line 'undercap = 1' at the top");
  EXPECT_EQ(refusal_of("undercap = \"1\"\n"),
            "wood.toml:1:12: undercap is \"1\"; allowed: the line 'undercap = 1' at the top");
}

TEST(Refusal, RangesAndTypes) {
  expect_all({
      {"[camera]\nf_number = 99\n",
       "wood.toml:3:12: camera.f_number is 99; allowed: a number from 0.7 to 64"},
      {"[camera]\nf_number = nan\n",
       "wood.toml:3:12: camera.f_number is nan; allowed: a number from 0.7 to 64"},
      {"[camera]\nf_number = -inf\n",
       "wood.toml:3:12: camera.f_number is -inf; allowed: a number from 0.7 to 64"},
      {"[camera]\nf_number = \"8\"\n",
       "wood.toml:3:12: camera.f_number is \"8\"; allowed: a number from 0.7 to 64 (write the number alone, "
       "without quotes: 8)"},
      {"[camera]\nfocal_length_mm = \"90 mm\"\n",
       "wood.toml:3:19: camera.focal_length_mm is \"90 mm\"; allowed: a number from 4 to 1200 mm (write the "
       "number alone, without quotes: 90)"},
      {"[camera]\nf_number = \"1,8\"\n",
       "wood.toml:3:12: camera.f_number is \"1,8\"; allowed: a number from 0.7 to 64 (write the number "
       "alone, "
       "without quotes: 1.8)"},
      {"[camera]\nblades = 7.0\n",
       "wood.toml:3:10: camera.blades is 7.0; allowed: 0 (a circle) or a whole number from 3 to 20"},
      {"[camera]\nblades = 2\n",
       "wood.toml:3:10: camera.blades is 2; allowed: 0 (a circle) or a whole number from 3 to 20"},
      {"[camera]\nformat_mm = [36, 24, 1]\n",
       "wood.toml:3:13: camera.format_mm is [36, 24, 1]; allowed: 2 numbers, each from 3 to 130 mm"},
      {"[camera]\nposition_m = [0, 0, nan]\n",
       "wood.toml:3:14: camera.position_m is [0, 0, nan]; allowed: 3 numbers, each from -1000 to 1000 m"},
      {"[camera]\nlook_at = [0, 0]\n",
       "wood.toml:3:11: camera.look_at is [0, 0]; allowed: an address such as \"tuft/cap\" or 3 "
       "numbers, each from -1000 to 1000 m"},
      {"[sun]\non = 1\n", "wood.toml:3:6: sun.on is 1; allowed: true or false"},
      {"[sky]\nmodel = \"cloudy\"\n",
       "wood.toml:3:9: sky.model is \"cloudy\"; allowed: \"overcast\", \"uniform\", \"general\" or \"off\""},
      {"[sky]\nmodel = \"unifrom\"\n",
       "wood.toml:3:9: sky.model is \"unifrom\"; allowed: \"overcast\", \"uniform\", \"general\" or \"off\" "
       "(did you mean \"uniform\"?)"},
      {"[exposure]\nshutter_s = \"metre\"\n",
       "wood.toml:3:13: exposure.shutter_s is \"metre\"; allowed: \"meter\" or a number from 1/32000 to 3600 "
       "s"},
      {"[ground]\nreflectance = [0.1, 0.2, 1.5]\n",
       "wood.toml:3:15: ground.reflectance is [0.1, 0.2, 1.5]; allowed: a number or 3 numbers, each from 0 "
       "to 1"},
      {"[place]\ntime = 2026-10-20T12:00:00\n",
       "wood.toml:3:8: place.time is 2026-10-20T12:00:00, without a date, a time or an offset; allowed: a "
       "date and time with "
       "an offset, such as 2026-10-20T12:00:00Z"},
      {"[place]\ntime = 0000-01-01T00:00:00Z\n",
       "wood.toml:3:8: place.time is 0000-01-01T00:00:00Z; allowed: a year from 1900 to 2100"},
      {"title = 3\n", "wood.toml:2:9: title is 3; allowed: text in quotes"},
      {"[subject]\nparts = []\n",
       "wood.toml:3:9: subject.parts is []; allowed: a list of addresses such as [\"tuft/cap\", \"log\"]"},
      {"camera = 3\n", "wood.toml:2:1: camera is 3; allowed: one table [camera]"},
      {"[[camera]]\n", "wood.toml:2:3: camera is a list of tables; allowed: one table [camera]"},
      {"[source]\nname = \"t\"\n",
       "wood.toml:2:2: source is a table; allowed: blocks that begin with [[source]]"},
      {"prop = [1]\n", "wood.toml:2:1: prop is [1]; allowed: blocks that begin with [[prop]]"},
  });
}

TEST(Refusal, KeysThatAreUnknownOrStillToCome) {
  expect_all({
      {"[camera]\nf_numbr = 8\n",
       "wood.toml:3:1: unknown key 'camera.f_numbr'; did you mean 'camera.f_number'?"},
      {"[camera]\niso = 8\n", "wood.toml:3:1: unknown key 'camera.iso'; it belongs to 'exposure'"},
      {"[render]\nzebra = 8\n", "wood.toml:3:1: unknown key 'render.zebra'; allowed here: seed"},
      {"[camra]\nf_number = 8\n", "wood.toml:2:2: unknown key 'camra'; did you mean 'camera'?"},
  });
}

TEST(Refusal, WhatWasTaken) {
  expect_all({
      {"[taken]\nf_number = 0.5\n",
       "wood.toml:3:12: taken.f_number is 0.5; allowed: a number from 0.7 to 64"},
      {"[taken]\nlamp = \"torch\"\n",
       "wood.toml:3:8: taken.lamp is \"torch\"; there is no such source; sources: none"},
      {"[taken]\nlamp_distance_m = 0.4\n",
       "wood.toml:3:19: taken.lamp_distance_m is of a source, and this scene has none; take it out"},
  });
}

TEST(Refusal, ExclusiveGroupsAndPairs) {
  expect_all({
      {"[camera]\nmagnification = 0.2\nfocus_distance_m = 0.7\n",
       "wood.toml:4:1: camera.focus_distance_m and camera.magnification (line 3) exclude each other; keep "
       "one of them"},
      {"[camera]\ncoc_rule = \"d1442\"\ncircle_of_confusion_mm = 0.02\n",
       "wood.toml:4:1: camera.circle_of_confusion_mm and camera.coc_rule (line 3) exclude each other; keep "
       "one of them"},
      {"[[source]]\nname = \"t\"\nkind = \"torch\"\nposition_m = [0, 0, 1]\naim = [0, 0, 0]\n",
       "wood.toml:2:1: source.t needs exactly one of flux_lm, intensity_cd, beam_distance_m"},
      {"[sun]\nazimuth_deg = 90\n",
       "wood.toml:3:15: sun.azimuth_deg stands without sun.elevation_deg; give both, or none for the true "
       "sun"},
      {"[camera]\nfocus_distance_m = 0.3\n",
       "wood.toml:3:20: camera.focus_distance_m is 0.3; allowed: at least 0.36 m, which is 4 focal lengths "
       "and the separation of "
       "the principal planes (scale 1); for a larger scale set camera.magnification"},
  });
}

TEST(Refusal, SkyAndLeaves) {
  expect_all({
      {"[sky]\ntype = 12\n",
       "wood.toml:3:8: sky.type is 12 and sky.model is \"overcast\"; a type needs sky.model = \"general\""},
      {"[sky]\nmodel = \"general\"\ntype = 16\n",
       "wood.toml:4:8: sky.type is 16; allowed: a whole number from 1 to 15"},
      {"[sky]\nhorizontal_lx = 800\ngrey_card = { f_number = 8, shutter_s = 1, iso = 200 }\n",
       "wood.toml:4:1: sky.grey_card and sky.horizontal_lx (line 3) exclude each other; keep one of them"},
      {"[sky]\ngrey_card = { f_number = 8, iso = 200 }\n",
       "wood.toml:3:13: sky.grey_card.shutter_s is missing; allowed: a number from 1/32000 to 3600 s"},
      {"[sky]\ngrey_card = { f_number = 8, shutter_s = 1, iso = 200, ev = 4 }\n",
       "wood.toml:3:55: unknown key 'sky.grey_card.ev'; allowed here: f_number, shutter_s, iso"},
      {"[sky]\ngrey_card = 800\n",
       "wood.toml:3:13: sky.grey_card is 800; allowed: a table such as { f_number = 8, shutter_s = 1, iso = "
       "200 "
       "}"},
      {"[canopy]\nleaf_area_index = 11\n",
       "wood.toml:3:19: canopy.leaf_area_index is 11; allowed: a number from 0 to 10"},
      {"[canopy]\nleaf = \"red\"\n",
       "wood.toml:3:8: canopy.leaf is \"red\"; allowed: \"green\", \"yellow_green\", \"yellow\", \"orange\", "
       "\"brown\" or \"none\""},
  });
}

TEST(Refusal, Sources) {
  const auto source = [](const std::string& rest) {
    return "[[source]]\nname = \"s\"\nposition_m = [0, 0, 1]\naim = [0, 0, 0]\n" + rest;
  };
  expect_all({
      {source("kind = \"flash\"\nguide_number_m = 10\n"),
       "wood.toml:2:1: source.s.size_mm is missing; allowed: 2 numbers, each from 0.1 to 10000 mm"},
      {source("kind = \"flash\"\nsize_mm = [60, 40]\n"), "wood.toml:2:1: source.s needs guide_number_m"},
      {source("kind = \"flash\"\nsize_mm = [60, 40]\nguide_number_m = 10\nflux_lm = 5\n"),
       "wood.toml:9:1: source.s.flux_lm belongs to kind \"torch\" or \"panel\" and this is \"flash\"; take "
       "it "
       "out"},
      {source("kind = \"flash\"\nsize_mm = [60, 40]\nguide_number_m = 10\non_s = 5\n"),
       "wood.toml:9:1: source.s.on_s belongs to kind \"torch\" or \"panel\" and this is \"flash\"; take it "
       "out"},
      {source("kind = \"panel\"\nflux_lm = 900\n"),
       "wood.toml:2:1: source.s.size_mm is missing; allowed: 2 numbers, each from 0.1 to 10000 mm"},
      {source("kind = \"panel\"\nsize_mm = [60, 40]\n"),
       "wood.toml:2:1: source.s needs exactly one of flux_lm, intensity_cd, beam_distance_m"},
      {source("kind = \"panel\"\nsize_mm = [60, 40]\nflux_lm = 900\ndiameter_mm = 20\n"),
       "wood.toml:9:1: source.s.diameter_mm belongs to kind \"torch\" and this is \"panel\"; take it out"},
      {source("kind = \"torch\"\nflux_lm = 90\nguide_number_m = 10\n"),
       "wood.toml:8:1: source.s.guide_number_m belongs to kind \"flash\" and this is \"torch\"; take it out"},
      {source("kind = \"lamp\"\nflux_lm = 90\n"),
       "wood.toml:6:8: source.s.kind is \"lamp\"; allowed: \"torch\", \"panel\" or \"flash\""},
      {source("kind = \"torch\"\nflux_lm = 90\nbeam_deg = 20\nbeam_file = \"a.ies\"\n"),
       "wood.toml:9:1: source.s.beam_file and source.s.beam_deg (line 8) exclude each other; keep one of "
       "them"},
      {source("kind = \"torch\"\nflux_lm = 90\nfield_deg = 60\n"),
       "wood.toml:8:13: source.s.field_deg is 60; allowed: above 60 up to 179 deg, since the beam at half "
       "its "
       "peak is 60 deg wide"},
      {source("kind = \"torch\"\nflux_lm = 90\nfield_deg = 60\nbeam_file = \"a.ies\"\n"),
       "wood.toml:8:13: source.s.field_deg and source.s.beam_file exclude each other; keep one of them"},
      {source("kind = \"torch\"\nflux_lm = 90\nbeam_file = \"../a.ies\"\n"),
       "wood.toml:8:13: source.s.beam_file is \"../a.ies\", which leaves the scene file's folder; put the "
       "file "
       "into that folder and name it there"},
      {source("kind = \"torch\"\nflux_lm = 90\nbeam_file = \"/etc/a.ies\"\n"),
       "wood.toml:8:13: source.s.beam_file is \"/etc/a.ies\", an absolute path; allowed: a path relative to "
       "the "
       "scene file's folder"},
      {source("kind = \"torch\"\nflux_lm = 90\ngel_mired = -200\n"),
       "wood.toml:8:13: source.s.gel_mired is -200; allowed: from -138.6 to 421.3 mired, which leads from "
       "5600 "
       "K to 25000 and 1667 K"},
      {"[[source]]\nname = \"canopy\"\nkind = \"torch\"\nflux_lm = 5\nposition_m = [0, 0, 1]\naim = [0, 0, "
       "0]\n",
       "wood.toml:3:8: source.canopy.name is \"canopy\", a reserved word; choose another name"},
  });
}

TEST(Refusal, BlocksOfLists) {
  expect_all({
      {"[[source]]\nname = \"t\"\nkind = \"torch\"\nflux_lm = -5\nposition_m = [0, 0, 1]\naim = [0, 0, 0]\n",
       "wood.toml:5:11: source.t.flux_lm is -5; allowed: a number from 0 to 10000000 lm"},
      {"[[source]]\nname = \"t\"\nkind = \"torch\"\nflux_lm = 5\nposition_m = [0, 0, 1]\n",
       "wood.toml:2:1: source.t.aim is missing; allowed: an address such as \"tuft/cap\" or 3 numbers, each "
       "from -1000 to 1000 m"},
      {"[[source]]\nname = \"t\"\nkind = \"torch\"\nflux_lm = 5\nposition_m = [0, 0, 1]\naim = [0, 0, 1]\n",
       "wood.toml:7:7: source.t.aim is the same point as source.t.position_m; a direction needs two points"},
      {"[[source]]\nname = \"t\"\nkind = \"torch\"\nflux_lm = 5\nposition_m = [0, 0, 1]\naim = "
       "\"source:t\"\n",
       "wood.toml:7:7: source.t.aim is the source itself; aim at a part or a point"},
      {"[[prop]]\nkind = \"sphere\"\n",
       "wood.toml:2:1: prop.#1.name is missing; allowed: a letter, then letters, digits, blanks, _ and -, in "
       "quotes"},
      {"[[prop]]\nname = \"2nd\"\nkind = \"sphere\"\n",
       "wood.toml:3:8: prop.2nd.name is \"2nd\"; allowed: a letter, then letters, "
       "digits, blanks, _ and -, in quotes"},
      {"[[prop]]\nname = \"sky\"\nkind = \"sphere\"\n",
       "wood.toml:3:8: prop.sky.name is \"sky\", a reserved word; choose another name"},
      {"[[source]]\nname = \"mix\"\nkind = \"torch\"\nflux_lm = 5\nposition_m = [0, 0, 1]\naim = [0, 0, 0]\n",
       "wood.toml:3:8: source.mix.name is \"mix\", a reserved word; choose another name"},
      {"[[prop]]\nname = \"a\"\nkind = \"sphere\"\n[[prop]]\nname = \"a\"\nkind = \"box\"\n",
       "wood.toml:6:8: another prop is named \"a\" (line 3); choose another name"},
      {"[[prop]]\nname = \"a\"\nkind = \"sphere\"\nnormal = [0, 0, 1]\n",
       "wood.toml:5:1: prop.a.normal belongs to kind \"plane\" and this is \"sphere\"; take it out"},
      {"[[prop]]\nname = \"a\"\nkind = \"card\"\nnormal = [0, 0, 0]\n",
       "wood.toml:5:10: prop.a.normal is [0, 0, 0]; allowed: 3 numbers, not all 0, each from -1 to 1"},
      {"[[meter]]\nname = \"m\"\nkind = \"spot\"\nposition_m = [0, 0, 1]\n",
       "wood.toml:5:1: meter.m.position_m belongs to kind \"incident\" and this is \"spot\"; take it out"},
      {"[[meter]]\nname = \"m\"\nkind = \"incident\"\n",
       "wood.toml:2:1: meter.m.position_m is missing; allowed: 3 numbers, each from -1000 to 1000 m"},
      {"[[prop]]\nname = \"a\"\nkind = \"sphere\"\nwet = 1.5\n",
       "wood.toml:5:7: prop.a.wet is 1.5; allowed: a number from 0 to 1"},
  });
  EXPECT_EQ(
      refusal_of("undercap = 1\n[[prop]]\nname = \"a\"\nkind = \"spehre\"\ndiameter_mm = 4\n").substr(0, 77),
      "wood.toml:4:8: prop.a.kind is \"spehre\"; did you mean \"sphere\"? allowed: plane");
}

TEST(Refusal, Materials) {
  const std::string ball = "[[prop]]\nname = \"a\"\nkind = \"sphere\"\n[prop.material.";
  const std::string card = "[[prop]]\nname = \"a\"\nkind = \"plane\"\n[prop.material.";
  expect_all({
      {(ball + "skin]\nroughness = 1\n").c_str(),
       "wood.toml:5:16: prop.a.material.skin: a sphere has no part \"skin\"; its parts: surface"},
      {(ball + "surface]\ntransmittance = 0.2\n").c_str(),
       "wood.toml:6:17: prop.a.material.surface.transmittance is 0.2; allowed: 0, "
       "since a sphere's surface is a closed shape"},
      {(card + "surface]\nreflectance = [0.2, 0.8, 0.2]\ntransmittance = 0.3\n").c_str(),
       "wood.toml:7:17: prop.a.material.surface: reflectance 0.8 + transmittance 0.3 is 1.1 in green; "
       "allowed: 1 at most"},
      {(card + "surface]\nroughness = 0\n").c_str(),
       "wood.toml:6:13: prop.a.material.surface.roughness is 0; allowed: a number from 0.05 to 1"},
      {(card + "surface]\ncolour = 0\n").c_str(),
       "wood.toml:6:1: unknown key 'prop.a.material.surface.colour'; allowed here: of, reflectance, "
       "transmittance, mirror, roughness, wet, thickness_mm, "
       "emission_cd_m2, pattern"},
      {"[[prop]]\nname = \"a\"\nkind = \"card\"\n[prop.material.surface]\nreflectance = 0.5\nmirror = 0.9\n",
       "wood.toml:7:10: prop.a.material.surface.mirror and prop.a.material.surface.reflectance exclude each "
       "other; keep one of them"},
      {(card + "surface]\nof = \"white_kard\"\n").c_str(),
       "wood.toml:6:6: prop.a.material.surface.of is \"white_kard\": there is no such material (did you mean "
       "\"white_card\"?); 'undercap scenes --materials' lists them"},
      {(card + "surface]\nof = \"white_card\"\nthickness_mm = 1\n").c_str(),
       "wood.toml:7:16: prop.a.material.surface.thickness_mm needs a material that is a sheet; "
       "\"white_card\" is a "
       "solid"},
      {(card + "surface]\nof = \"tracing_film\"\nreflectance = 0.2\nthickness_mm = 1\n").c_str(),
       "wood.toml:8:16: prop.a.material.surface.thickness_mm works on a material of the table; leave out "
       "reflectance, transmittance and mirror beside it"},
      {(ball + "surface]\nof = \"tracing_film\"\nthickness_mm = 1\n").c_str(),
       "wood.toml:7:16: prop.a.material.surface.thickness_mm is for open sheets; this part is a closed "
       "shape, "
       "which is solid"},
      {(card + "surface]\nof = \"tracing_film\"\nreflectance = 0.5\n").c_str(),
       "wood.toml:7:15: prop.a.material.surface: reflectance 0.5 + transmittance 0.55 is 1.05 in red; "
       "allowed: 1 at "
       "most (the transmittance is the material's own)"},
  });
  EXPECT_EQ(refusal_of("undercap = 1\n" + card + "surface]\nreflectance = 0.7\ntransmittance = 0.3\n"), "");
}

TEST(Refusal, Paths) {
  const auto mesh = [](const std::string& file) {
    return refusal_of("undercap = 1\n[[prop]]\nname = \"a\"\nkind = \"mesh\"\nfile = \"" + file + "\"\n");
  };
  EXPECT_EQ(mesh("/etc/a.obj"),
            "wood.toml:5:8: prop.a.file is \"/etc/a.obj\", an absolute path; allowed: a path relative to the "
            "scene file's folder");
  EXPECT_EQ(mesh("x/../../a.obj"),
            "wood.toml:5:8: prop.a.file is \"x/../../a.obj\", which leaves the scene file's folder; put the "
            "file into that folder and name it there");
  EXPECT_EQ(
      mesh("stones/"),
      "wood.toml:5:8: prop.a.file is \"stones/\", a folder; allowed: a file in the scene file's folder");
  EXPECT_EQ(
      mesh(""),
      "wood.toml:5:8: prop.a.file is \"\", which is no name; allowed: a file in the scene file's folder");
  EXPECT_EQ(mesh("stones/../a.obj"), "");
  EXPECT_EQ(refusal_of("undercap = 1\n[[prop]]\nname = \"a\"\nkind = \"mesh\"\n"),
            "wood.toml:2:1: prop.a.file is missing; allowed: text in quotes");
}

TEST(Refusal, Addresses) {
  const auto with = [](const std::string& line) { return refusal_of(small_scene + "\n[camera]\n" + line); };
  EXPECT_EQ(with("look_at = \"bal\"\n"),
            "wood.toml:41:11: camera.look_at is \"bal\": there is no prop \"bal\"; did you mean \"ball\"? "
            "props: ball, card, crate");
  EXPECT_EQ(
      with("look_at = \"ball/cap\"\n"),
      "wood.toml:41:11: camera.look_at is \"ball/cap\": a sphere has no part \"cap\"; its parts: surface");
  EXPECT_EQ(with("look_at = \"ball.2\"\n"),
            "wood.toml:41:11: camera.look_at is \"ball.2\": \"ball\" has 1 individual");
  EXPECT_EQ(
      with("focus = \"source:lamp\"\n"),
      "wood.toml:41:9: camera.focus is \"source:lamp\": there is no source \"lamp\"; sources: torch, second");
  EXPECT_EQ(with("focus = \"meter:middle\"\n"),
            "wood.toml:41:9: camera.focus is \"meter:middle\": a spot meter has no place in the "
            "scene; name a prop, a part or a point");
  EXPECT_EQ(with("look_at = \"/cap\"\n").substr(0, 63),
            "wood.toml:41:11: camera.look_at is \"/cap\"; allowed: an address ");
  EXPECT_EQ(with("look_at = [0, -0.6, 0.08]\n"),
            "wood.toml:41:11: camera.look_at is the same point as camera.position_m; a direction "
            "needs two points");
  EXPECT_EQ(with("focus = \"meter:at the foot\"\n"), "");
  EXPECT_EQ(with("[exposure]\nmeter_on = \"meter:at the foot\"\n"),
            "wood.toml:42:12: exposure.meter_on is \"meter:at the foot\": an incident meter is not in the "
            "picture; name a part or a "
            "spot meter");
  EXPECT_EQ(
      with("[subject]\nparts = [\"ball\", \"source:torch\"]\n"),
      "wood.toml:42:18: subject.parts is \"source:torch\": a source is not a surface; name a prop or a part");
}

TEST(Refusal, IndividualsAreCounted) {
  const Kind* cluster = nullptr;
  for (const Kind& kind : kinds())
    for (const KindKey& key : kind.keys)
      if (key.name == "count" && key.low <= 2 && key.high >= 2) cluster = &kind;
  ASSERT_NE(cluster, nullptr) << "the registry has a kind with 'count'";
  const auto look_at = [&](const std::string& address) {
    return refusal_of("undercap = 1\ncamera.look_at = \"" + address +
                      "\"\n[[prop]]\nname = \"tuft\"\nkind = \"" + cluster->name + "\"\ncount = 2\n");
  };
  EXPECT_EQ(look_at("tuft.2"), "");
  EXPECT_EQ(look_at("tuft.3"), "wood.toml:2:18: camera.look_at is \"tuft.3\": \"tuft\" has 2 individuals");
}

TEST(Refusal, AllFaultsInOneRunByLine) {
  EXPECT_EQ(
      refusal_of(R"(title = 4
undercap = 1
[camera]
f_number = 99
focus_distance_m = 0.1
magnification = 0.5
[sky]
modle = "off"
[[prop]]
name = "tuft"
kind = "sphere"
diameter_mm = nan
[[source]]
name = "torch"
kind = "torch"
position_m = [0, 0, 1]
flux_lm = 10
aim = "tuft/cap"
)"),
      "wood.toml:1:9: title is 4; allowed: text in quotes\n"
      "wood.toml:4:12: camera.f_number is 99; allowed: a number from 0.7 to 64\n"
      "wood.toml:6:1: camera.magnification and camera.focus_distance_m (line 5) exclude each other; keep one "
      "of them\n"
      "wood.toml:8:1: unknown key 'sky.modle'; did you mean 'sky.model'?\n"
      "wood.toml:12:15: prop.tuft.diameter_mm is nan; allowed: a number from 0.01 to 100000\n"
      "wood.toml:18:7: source.torch.aim is \"tuft/cap\": a sphere has no part \"cap\"; its parts: surface");
}

TEST(Refusal, ColumnsCountCodePoints) {
  // Behind two letters of two bytes each.
  EXPECT_EQ(refusal_of("undercap = 1\nsky = { \"\xc3\xa4\xc3\xb6\" = 1, cct_k = 9 }\n"),
            "wood.toml:2:9: unknown key 'sky.\xc3\xa4\xc3\xb6'; allowed here: model, type, horizontal_lx, "
            "grey_card, cct_k\n"
            "wood.toml:2:27: sky.cct_k is 9; allowed: a number from 5000 to 25000 K");
  EXPECT_EQ(refusal_of("undercap = 1\r\n\r\n[camera]\r\nf_number = 99\r\n"),
            "wood.toml:4:12: camera.f_number is 99; allowed: a number from 0.7 to 64");
}

TEST(Refusal, LongValuesAreCut) {
  const std::string said = refusal_of("undercap = 1\ncamera.f_number = \"" + std::string(500, 'x') + "\"\n");
  EXPECT_EQ(said, "wood.toml:2:19: camera.f_number is \"" + std::string(47, 'x') +
                      "...; allowed: a number from 0.7 to 64");
}

// Every beginning of a good file is a scene or a refusal, never a crash.
TEST(Refusal, TruncatedFilesAreToldSo) {
  std::size_t refused = 0;
  for (std::size_t size = 0; size < small_scene.size(); ++size)
    if (!refusal_of(small_scene.substr(0, size)).empty()) ++refused;
  EXPECT_GT(refused, small_scene.size() / 2);
}

}  // namespace
}  // namespace undercap
