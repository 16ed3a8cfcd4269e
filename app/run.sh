#!/bin/sh
# From a clean Debian 12 to a picture: installs what is missing, builds, renders the demo scene without a display, and
# prints its readings. Writes out/umber_parasol.png and .exr in the repository. Where there is a display, it ends by
# opening the demo in the window. Works from any folder.
set -eu
root=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd -P)
# shellcheck source=app/setup.sh
. "$root/app/setup.sh"

# A list of package names, split on purpose.
# shellcheck disable=SC2086,SC2154
install_missing $program_packages
# The tests need packages of their own, so they stay out of a new tree; one that has them keeps them.
if [ "$(configured UNDERCAP_TESTS)" = ON ] && [ -f "$root/build/build.ninja" ]; then
  configure
else
  configure UNDERCAP_TESTS=OFF
fi
cmake --build "$root/build" --target undercap

cd "$root"
mkdir -p out
build/app/undercap render scenes/umber_parasol.toml --quality good --size 720x480 \
  -o out/umber_parasol.png -o out/umber_parasol.exr --force
build/app/undercap measure scenes/umber_parasol.toml
printf '\nThe picture: %s\n' "$root/out/umber_parasol.png"
if [ -n "${DISPLAY:-}${WAYLAND_DISPLAY:-}" ]; then
  build/app/undercap scenes/umber_parasol.toml
fi
