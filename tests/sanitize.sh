#!/usr/bin/env bash
# The library tests under the address and undefined-behaviour checkers, and the capture tests under the thread checker.
set -euo pipefail
root=$(cd "$(dirname "$0")/.." && pwd)
step() { printf '\n== %s\n' "$*"; }
step "address and undefined-behaviour checkers"
build=${BUILD_DIR:-$root/build}-sanitize
cmake -S "$root" -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Sanitize >/dev/null
targets="tests_units tests_signal tests_acoustics tests_plan tests_verify tests_capture tests_rehearsal tests_log tests_report"
cmake --build "$build" --target $targets
(cd "$build" && UBSAN_OPTIONS=print_stacktrace=1 ctest --output-on-failure --parallel 2 \
  -R '^(units|signal|acoustics|plan|verify|capture|rehearsal|log|report)$')
