#!/usr/bin/env bash
# The library tests under the address and undefined-behaviour checkers.
set -euo pipefail
root=$(cd "$(dirname "$0")/.." && pwd)
step() { printf '\n== %s\n' "$*"; }
step "address and undefined-behaviour checkers"
build=${BUILD_DIR:-$root/build}-sanitize
# Warnings are errors in the ordinary build; here g++ 12 warns wrongly of its own instrumented standard library.
cmake -S "$root" -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Sanitize -DPROOFWALK_WERROR=OFF >/dev/null
targets="tests_units tests_signal tests_acoustics tests_plan tests_verify tests_capture tests_rehearsal tests_log"
cmake --build "$build" --target $targets
(cd "$build" && UBSAN_OPTIONS=print_stacktrace=1 ctest --output-on-failure --parallel 2 \
  -R '^(units|signal|acoustics|plan|verify|capture|rehearsal|log)$')
