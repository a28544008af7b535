#!/usr/bin/env bash
# Times our signed distance and the libraries it is compared with, and writes reports/speed.md and reports/speed.svg:
#   bash tests/bench/run.sh            everything, about five minutes on two cores that nobody else uses
#   REPETITIONS=1 bash tests/bench/run.sh   a quick look
set -euo pipefail
. "$(dirname "$0")/../../fixtures/setup.sh"
need "${build_packages[@]}" doctest-dev libcgal-dev libboost-dev libbenchmark-dev libembree-dev python3
build -DLASTROOM_TESTS=ON -DLASTROOM_PEERS=ON -- bench_distance bench_peers

results=$(mktemp -d)
trap 'rm -rf "$results"' EXIT
load=$(cut -d' ' -f1 /proc/loadavg)
for program in bench_distance bench_peers; do
  "$root/build/$program" --benchmark_repetitions="${REPETITIONS:-5}" --benchmark_min_time=0.1 \
    --benchmark_out="$results/$program.json" --benchmark_out_format=json ${FILTER:+--benchmark_filter="$FILTER"} >&2
done
python3 "$root/tests/bench/summary.py" "$results" "$load" "$root/reports"
