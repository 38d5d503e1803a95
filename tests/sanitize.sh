#!/usr/bin/env bash
# The library tests under the address and undefined-behaviour checkers; `tests/sanitize.sh thread`: the capture tests under the
# thread checker; `tests/sanitize.sh app`: the window's tests, without a screen and under a virtual one (the long form).
set -euo pipefail
root=$(cd "$(dirname "$0")/.." && pwd)
step() { printf '\n== %s\n' "$*"; }
# Warnings are errors in the ordinary build; here g++ 12 warns wrongly of its own instrumented standard library.
if [ "${1:-}" = thread ]; then
  step "thread checker"
  build=${BUILD_DIR:-$root/build}-thread
  cmake -S "$root" -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=ThreadSanitize -DPROOFWALK_WERROR=OFF >/dev/null
  cmake --build "$build" --target tests_capture
  # Without randomised addresses: the checker refuses some layouts of newer kernels.
  TSAN_OPTIONS=halt_on_error=1 setarch "$(uname -m)" -R "$build/tests/capture/tests_capture" --gtest_brief=1
  exit
fi
if [ "${1:-}" = app ]; then
  step "the window under the address and undefined-behaviour checkers"
  build=${BUILD_DIR:-$root/build}-checked-app
  cmake -S "$root" -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Sanitize -DPROOFWALK_WERROR=OFF >/dev/null
  cmake --build "$build" --target tests_app tests_app_driven
  export UBSAN_OPTIONS=print_stacktrace=1
  "$build/tests/app/tests_app" --gtest_brief=1
  # What the driver of the software renderer leaves behind is not ours: leaks are looked for without a screen only.
  ASAN_OPTIONS=detect_leaks=0 LIBGL_ALWAYS_SOFTWARE=1 xvfb-run -a -s "-screen 0 3840x2160x24 -noreset" \
    "$build/tests/app/tests_app_driven" --gtest_brief=1 --gtest_filter=-WhatItCosts.*
  exit
fi
step "address and undefined-behaviour checkers"
# With the fuzzer's marks, which these tests take no notice of, so that tests/fuzz/run.sh finds everything built.
build=${BUILD_DIR:-$root/build}-checked
cmake -S "$root" -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Sanitize -DPROOFWALK_WERROR=OFF -DPROOFWALK_FUZZ=ON >/dev/null
targets="tests_units tests_signal tests_acoustics tests_plan tests_verify tests_capture tests_rehearsal tests_log"
cmake --build "$build" --target $targets
(cd "$build" && UBSAN_OPTIONS=print_stacktrace=1 ctest --output-on-failure --parallel 2 \
  -R '^(units|signal|acoustics|plan|verify|capture|rehearsal|log)$')
