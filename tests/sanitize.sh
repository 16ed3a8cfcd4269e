#!/bin/sh
# Builds the readers of files and their tests under the address and undefined-behaviour sanitizers, in a tree of its
# own, and runs them: tests/sanitize.sh SOURCE TREE [LAUNCHER]. The suite runs it as one entry, 'sanitized_readers'.
set -eu
source=$1
tree=$2
launcher=${3:-}
mkdir -p "$tree"
# Without optimisation it compiles fastest and still runs in seconds; -g1 gives a report its names and lines.
cmake -S "$source" -B "$tree" -G Ninja -DCMAKE_BUILD_TYPE=None -DCMAKE_CXX_FLAGS='-O0 -g1' -DUNDERCAP_SANITIZE=ON \
  -DCMAKE_CXX_COMPILER_LAUNCHER="$launcher"
cmake --build "$tree" -j2 --target unit_core unit_obj unit_scene fuzz_replay

UBSAN_OPTIONS=print_stacktrace=1
export UBSAN_OPTIONS
for program in unit/core/unit_core unit/shape/unit_obj unit/scene/unit_scene fuzz/fuzz_replay; do
  "$tree/tests/$program" --gtest_brief=1
done
