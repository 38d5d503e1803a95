#!/usr/bin/env bash
# Fuzzes every reader of outside bytes. --seconds N for each target (default 30), or the long form --runs 10000000;
# TARGETS="plan log" picks some. Ends with 1 on the first crash, hang or checker's report; its input is kept in
# BUILD-fuzz/found/. `--seeds` writes the part of the corpus that is no text anew.
set -euo pipefail
root=$(cd "$(dirname "$0")/../.." && pwd)
build=${FUZZ_BUILD_DIR:-${BUILD_DIR:-$root/build}-fuzz}
bound=-max_total_time=30
seeds=no
while (($#)); do
  case $1 in
    --seconds) bound=-max_total_time=$2; shift 2 ;;
    --runs) bound=-runs=$2; shift 2 ;;
    --seeds) seeds=yes; shift ;;
    *) echo "usage: run.sh [--seconds N | --runs N] [--seeds]" >&2; exit 2 ;;
  esac
done
step() { printf '\n== %s\n' "$*"; }

step "build in $build"
cmake -S "$root" -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Sanitize -DPROOFWALK_WERROR=OFF -DPROOFWALK_FUZZ=ON >/dev/null
targets=${TARGETS:-plan takes recording calibration directivity directions evidence packed log}
cmake --build "$build" --target $(printf 'fuzz_%s ' $targets) $([[ $seeds == yes ]] && echo fuzz_seeds)
[[ $seeds == yes ]] && "$build/tests/fuzz/fuzz_seeds" "$root/tests/fuzz/corpus"

export UBSAN_OPTIONS=print_stacktrace=1
mkdir -p "$build/found"
for target in $targets; do
  step "$target"
  # New inputs are gathered in the build directory; the corpus of the repository is only read.
  mkdir -p "$build/gathered/$target"
  dictionary=$root/tests/fuzz/$target.dict
  # The HDF5 library, in its child process, asks for more memory than there is before it refuses a malformed file.
  if [[ $target == directivity ]]; then export ASAN_OPTIONS=allocator_may_return_null=1; longest=60
  else export ASAN_OPTIONS=allocator_may_return_null=0; longest=10; fi
  "$build/tests/fuzz/fuzz_$target" "$bound" -timeout=$longest -rss_limit_mb=4096 -max_len=16384 -print_final_stats=1 \
    -artifact_prefix="$build/found/$target-" $([[ -f $dictionary ]] && echo "-dict=$dictionary") \
    "$build/gathered/$target" "$root/tests/fuzz/corpus/$target" 2>"$build/found/$target.txt" ||
    { tail -n 60 "$build/found/$target.txt" >&2; exit 1; }
  grep -E 'number_of_executed_units|average_exec_per_sec' "$build/found/$target.txt"
done
