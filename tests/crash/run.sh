#!/bin/bash
# The long form of the crash tests: kills programs at random instants and looks whether anything acknowledged is lost. N
# kills of a program that only stores takes, and N of proofwalk itself: a third each of ingest, rehearse and take.
# Usage: tests/crash/run.sh [--kills N] [--build DIR]
set -eu
kills=1000
build="$(dirname "$0")/../../build"
while [ $# -gt 0 ]; do
  case "$1" in
    --kills) kills="$2"; shift 2 ;;
    --build) build="$2"; shift 2 ;;
    *) echo "usage: $0 [--kills N] [--build DIR]" >&2; exit 2 ;;
  esac
done
cmake --build "$build" --target tests_crash
PROOFWALK_KILLS="$kills" "$build/tests/crash/tests_crash"
