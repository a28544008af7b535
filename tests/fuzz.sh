#!/usr/bin/env bash
# fuzz.sh SECONDS [TARGET...]: builds the fuzz targets (Debian's clang) and runs each for SECONDS; all of them when
# none is named. What is found new goes into build-fuzz/corpus; LASTROOM_FUZZ_SEED repeats a run.
# Prints a table row for each, from libFuzzer's own figures. Exit status: 0 nothing found, 1 a finding (its input is in
# build-fuzz/).
set -euo pipefail
if [ $# -lt 1 ]; then
  echo "usage: fuzz.sh SECONDS [readers|rules|landmarks|check|index|journal|jobs|compare ...]" >&2
  exit 2
fi
seconds=$1
shift
targets=("$@")
[ $# -gt 0 ] || targets=(readers rules landmarks check index journal jobs compare)
. "$(dirname "$0")/../fixtures/setup.sh"
need "${build_packages[@]}" clang lld
build=${LASTROOM_FUZZ_BUILD:-$root/build-fuzz}

cmake -S "$root" -B "$build" -G Ninja -DCMAKE_CXX_COMPILER=clang++ -DCMAKE_BUILD_TYPE=RelWithDebInfo \
  -DLASTROOM_SANITIZE=fuzzer -DLASTROOM_TESTS=OFF ${LASTROOM_CMAKE_OPTIONS:-} >/dev/null
cmake --build "$build" --target "${targets[@]/#/fuzz_}" >&2

status=0
export ASAN_OPTIONS=allocator_may_return_null=0
commit=$(commit_name)
echo "| target | seed | seconds | executions | findings | commit |"
echo "| --- | --- | --- | --- | --- | --- |"
for target in "${targets[@]}"; do
  corpus=$build/corpus/$target
  mkdir -p "$corpus"
  log=$(mktemp "$build/$target-XXXXXX.log")
  findings=0
  # Each input may take half a minute, on a machine that others use too, and 2 GB; a whole check with its report and all
  # sanitizers, two minutes.
  limit_s=30
  [ "$target" = check ] && limit_s=120
  seeds=$root/tests/fuzz/corpus/$target most_bytes=4096
  if [ "$target" = rules ]; then  # begun with the whole of the built-in ones: cut off, they are no XML
    seeds=$build/rules_seeds most_bytes=40000
    mkdir -p "$seeds" && cp "$root/src/assessment/default_rules.xml" "$seeds"
  fi
  "$build/fuzz_$target" -seed="${LASTROOM_FUZZ_SEED:-0}" -max_total_time="$seconds" -max_len=$most_bytes -rss_limit_mb=2000 \
    -timeout=$limit_s -print_final_stats=1 -artifact_prefix="$build/$target-" "$corpus" "$seeds" \
    >"$log" 2>&1 || findings=1
  if [ "$findings" -ne 0 ]; then
    status=1
    tail -n 40 "$log" >&2
  fi
  value() { sed -n "s/^$1 *\([0-9]*\).*/\1/p" "$log" | tail -n 1; }
  ran=$(sed -n 's/^Done [0-9]* runs in \([0-9]*\) second.*/\1/p' "$log")
  echo "| $target | $(value 'INFO: Seed:') | ${ran:-stopped} | $(value 'stat::number_of_executed_units:') | $findings | $commit |"
done
exit "$status"
