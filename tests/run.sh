#!/usr/bin/env bash
# Installs what is missing, builds and runs every test. Safe to run twice. Needs no network once the packages are there.
# BUILD_DIR and BUILD_TYPE may be set; defaults: build and Release.
set -euo pipefail
root=$(cd "$(dirname "$0")/.." && pwd)
build=${BUILD_DIR:-$root/build}
type=${BUILD_TYPE:-Release}
step() { printf '\n== %s\n' "$*"; }

step "packages"
"$root/third_party/install.sh" test
step "configure ($type) in $build"
cmake -S "$root" -B "$build" -G Ninja -DCMAKE_BUILD_TYPE="$type" -DPROOFWALK_TESTS=ON >/dev/null
step "build"
cmake --build "$build"
step "test"
cd "$build"
ctest --output-on-failure --parallel 2
