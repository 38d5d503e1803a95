#!/usr/bin/env bash
# Fuzzes every reader of outside bytes. --seconds N for each target (default 30), or the long form --runs 10000000;
# TARGETS="plan log" picks some. Ends with 1 on the first crash, hang or checker's report; its input is kept in
# BUILD-checked/found/. `--seeds` writes the part of the corpus that is no text anew.
set -euo pipefail
root=$(cd "$(dirname "$0")/../.." && pwd)
build=${BUILD_DIR:-$root/build}-checked
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

fuzz() {
  local target=$1 longest=10 dictionary=$root/tests/fuzz/$1.dict
  export ASAN_OPTIONS=allocator_may_return_null=0
  # The HDF5 library, in its child process, asks for more memory than there is before it refuses a malformed file.
  if [[ $target == directivity ]]; then longest=60 ASAN_OPTIONS=allocator_may_return_null=1; fi
  # New inputs are gathered in the build directory; the corpus of the repository is only read.
  mkdir -p "$build/gathered/$target"
  "$build/tests/fuzz/fuzz_$target" "$bound" -timeout=$longest -rss_limit_mb=4096 -max_len=16384 -print_final_stats=1 \
    -artifact_prefix="$build/found/$target-" $([[ -f $dictionary ]] && echo "-dict=$dictionary") \
    "$build/gathered/$target" "$root/tests/fuzz/corpus/$target" >"$build/found/$target.txt" 2>&1
}

# Two at a time; the report of one that fails is shown whole.
failed=no
set -- $targets
while (($#)); do
  step "$1${2:+ and $2}"
  first=$1 second=${2:-}
  fuzz "$first" & first_process=$!
  if [[ -n $second ]]; then fuzz "$second" & second_process=$!; fi
  wait "$first_process" || { failed=$first; tail -n 60 "$build/found/$first.txt" >&2; }
  if [[ -n $second ]]; then wait "$second_process" || { failed=$second; tail -n 60 "$build/found/$second.txt" >&2; }; fi
  [[ $failed == no ]] || exit 1
  grep -H -E 'number_of_executed_units' "$build/found/$first.txt" ${second:+"$build/found/$second.txt"} | sed 's|.*/||'
  shift
  (($# == 0)) || shift
done
