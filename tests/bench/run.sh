#!/usr/bin/env bash
# run.sh BUILD_DIRECTORY [SECONDS]: both sides in turn, twice, one run; prints each figure's least time and the ratios.
# Each of the four parts is stopped after a minute and thirty times SECONDS; the table then holds what was timed until then.
# The build directory must have been configured with -DPROOFWALK_BENCH=ON. Needs python3-scipy for the peers.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
build=${1:?build directory}
seconds=${2:-2}
log=$(mktemp)
trap 'rm -f "$log"' EXIT
part() {
    local name=$1
    shift
    timeout $((60 + 30 * seconds)) "$@" >>"$log" || echo "# $name, round $round: stopped before its end" >>"$log"
}
for round in 1 2; do
    part "our jobs" "$build/tests/bench/bench_jobs" "$seconds"
    part "the peer's jobs" env OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 PYTHONUNBUFFERED=1 /usr/bin/python3 "$here/peer/jobs.py" "$seconds"
done
grep '^#' "$log" | sort -u
awk '!/^#/ { if (!($1 in least) || $2 < least[$1]) least[$1] = $2 }
END {
    for (name in least) printf "%-20s %9.2f\n", name, least[name] | "sort"
    close("sort")
    ratio("job A, full envelope, one thread: scipy / ours (goal 2.5)", "peer-a-full-1", "job-a-full-1")
    ratio("job A, around the peak, one thread: scipy / ours (goal 1.5)", "peer-a-peak-1", "job-a-peak-1")
    ratio("job A, full envelope, two threads: scipy / ours", "peer-a-full-2", "job-a-full-2")
    ratio("job A, around the peak, two threads: scipy / ours", "peer-a-peak-2", "job-a-peak-2")
    ratio("job A, full envelope: ours / FFTW measured (goal 1.1)", "job-a-full-1", "fftw-a-full-1")
    ratio("job A, around the peak: ours / FFTW measured (goal 1.1)", "job-a-peak-1", "fftw-a-peak-1")
    ratio("job B, one thread: best scipy / ours (goal 1.8)", "peer-b-1", "job-b-1")
    ratio("job B, one thread: scipy as documented / ours (goal 25)", "peer-b-documented", "job-b-1")
}
function ratio(title, above, below) { if ((above in least) && (below in least)) printf "%-66s %6.2f\n", title, least[above] / least[below] }' "$log"
