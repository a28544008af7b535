#!/usr/bin/env bash
# Times the whole check, reading, registration and the signed distance beside the libraries that a user would take
# instead, and writes reports/speed.md and reports/speed.svg:
#   bash tests/bench/run.sh            everything, about a quarter of an hour on two cores that nobody else uses
#   REPETITIONS=1 bash tests/bench/run.sh   a quick look
set -euo pipefail
. "$(dirname "$0")/../../fixtures/setup.sh"
need "${build_packages[@]}" doctest-dev libcgal-dev libboost-dev libbenchmark-dev libembree-dev libvtk9-dev python3
programs=(bench_distance bench_peers bench_reading bench_registration)
build_folder="${BUILD:-$root/build}"
[ -n "${BUILD:-}" ] ||
  build -DLASTROOM_TESTS=ON -DLASTROOM_PEERS=ON -- lastroom bench_check bench_work open3d_files "${programs[@]}"

results=$(mktemp -d)
trap 'rm -rf "$results"' EXIT
load=$(cut -d' ' -f1 /proc/loadavg)
"$build_folder/bench_check" "$build_folder/lastroom" "$build_folder/open3d_files" "${REPETITIONS:-5}" 2.0 1.0 0.45 \
  >"$results/bench_check.json"
"$build_folder/bench_work" >"$results/bench_work.json"
for program in "${programs[@]}"; do
  "$build_folder/$program" --benchmark_repetitions="${REPETITIONS:-5}" --benchmark_min_time="${MIN_TIME:-0.1}" \
    --benchmark_out="$results/$program.json" --benchmark_out_format=json ${FILTER:+--benchmark_filter="$FILTER"} >&2
done
python3 "$root/tests/bench/summary.py" "$results" "$load" "${REPORTS:-$root/reports}"
