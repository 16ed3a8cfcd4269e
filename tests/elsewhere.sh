#!/bin/sh
# The built test programs once more, far from home: under a locale with decimal commas that every program really
# sets, working and writing in a folder with blanks and letters beyond ASCII, the program installed into such a
# folder. tests/elsewhere.sh TREE SET_LOCALE_LIBRARY
set -eu
tree=$1
library=$2
home=$(mktemp -d)
trap 'rm -rf "$home"' EXIT
place="$home/Wald & Pilze größer/茸 1,5"
mkdir -p "$place/tmp" "$place/locale"
localedef -i de_DE -f UTF-8 "$place/locale/de_DE.UTF-8"

# A list of libraries to preload is split at blanks, which the tree's path may have.
cp "$library" "$home/set_locale.so"
cmake --install "$tree" --prefix "$place/installed" >"$place/install.log"

cd "$place"
TMPDIR=$place/tmp
LOCPATH=$place/locale
LC_ALL=de_DE.UTF-8
LANGUAGE=en  # the tests know the system's messages in English
UNDERCAP_TEST_PROGRAM=$place/installed/bin/undercap
# Preloaded, the library calls setlocale(LC_ALL, "") before main(), as a toolkit or a plug-in might.
LD_PRELOAD=$home/set_locale.so
export TMPDIR LOCPATH LC_ALL LANGUAGE LD_PRELOAD UNDERCAP_TEST_PROGRAM
test "$(env printf '%.1f' 1,5)" = 1,5 || {
  echo "the locale with decimal commas is not in force" >&2
  exit 1
}

for program in unit/core/unit_core unit/scene/unit_scene unit/shape/unit_obj unit/image/unit_image fuzz/fuzz_replay \
  unit/colour/colour_test unit/optics/optics_test unit/light/light_test unit/surface/unit_surface; do
  "$tree/tests/$program" --gtest_brief=1
done
"$tree/tests/unit/cli/unit_cli" --gtest_brief=1 \
  --gtest_filter='Cli.TypingErrors:Cli.WrongValuesInAScene:Cli.BadArguments:Cli.RenderWrites*:Measure.Json*:Measure.AnImported*:HardInput.Paths*:HardInput.Addresses*'
"$tree/tests/physics/physics_render" --gtest_brief=1 --gtest_filter='Develop*'
"$UNDERCAP_TEST_PROGRAM" scenes >scenes.txt
for scene in crowded_stair six_lights; do
  grep -q "$scene" scenes.txt
  "$UNDERCAP_TEST_PROGRAM" scenes --copy "$scene" -o "über $scene.toml"
  "$UNDERCAP_TEST_PROGRAM" check "über $scene.toml"
done
