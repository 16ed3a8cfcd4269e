#!/bin/sh
# Installs what is missing, builds everything in the tree that app/run.sh uses, and runs every test. Arguments go to
# ctest: 'sh tests/run.sh -R Png' runs the tests whose names match. UNDERCAP_WERROR=ON makes warnings errors.
set -eu
root=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd -P)
# shellcheck source=app/setup.sh
. "$root/app/setup.sh"

# Two lists of package names, split on purpose.
# shellcheck disable=SC2086,SC2154
install_missing $program_packages $test_packages
configure UNDERCAP_TESTS=ON
cmake --build "$root/build"

# Software OpenGL takes every core for one program; with two programs at a time each gets one.
LP_NUM_THREADS=1
export LP_NUM_THREADS
exec ctest --test-dir "$root/build" --output-on-failure -j2 "$@"
