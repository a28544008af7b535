#!/usr/bin/env bash
# fuzz.sh SECONDS|ten-million [TARGET...]: builds the fuzz targets (Debian's clang) and runs each for SECONDS, or each its
# share of ten million inputs over all of them; all targets when none is named. What is found new goes into
# build-fuzz/corpus; LASTROOM_FUZZ_SEED repeats a run.
# Prints a table row for each run, from libFuzzer's own figures, and adds it to the file FUZZ_ROWS (build-fuzz/rows when not
# set). By those of this commit, ten-million goes on where it was stopped. Exit status: 0 nothing found, 1 a finding (its
# input is in build-fuzz/).
set -euo pipefail
# Of ten million: as many as are run in a few minutes each; of the whole check, which takes some seconds an input under
# the sanitizers, so many as ten minutes allow.
declare -A share=([readers]=3000000 [rules]=500000 [landmarks]=2000000 [check]=300 [index]=1500000 [journal]=300000
  [jobs]=1500000 [compare]=1200000)
if [ $# -lt 1 ]; then
  echo "usage: fuzz.sh SECONDS|ten-million [$(tr ' ' '|' <<<"${!share[*]}") ...]" >&2
  exit 2
fi
how_long=$1
shift
targets=("$@")
[ $# -gt 0 ] || targets=(readers rules landmarks index journal jobs compare check)
. "$(dirname "$0")/../fixtures/setup.sh"
need "${build_packages[@]}" clang lld
build=${LASTROOM_FUZZ_BUILD:-$root/build-fuzz}
rows=${FUZZ_ROWS:-$build/rows}

cmake -S "$root" -B "$build" -G Ninja -DCMAKE_CXX_COMPILER=clang++ -DCMAKE_BUILD_TYPE=RelWithDebInfo \
  -DLASTROOM_SANITIZE=fuzzer -DLASTROOM_TESTS=OFF ${LASTROOM_CMAKE_OPTIONS:-} >/dev/null
cmake --build "$build" --target "${targets[@]/#/fuzz_}" >&2

status=0
export ASAN_OPTIONS=allocator_may_return_null=0
commit=$(commit_name)

# run TARGET OPTIONS...: one run of libFuzzer, and its row; status 1 when it found something.
run() {
  local target=$1 findings=0 limit_s=30 seeds=$root/tests/fuzz/corpus/$1 most_bytes=4096 corpus=$build/corpus/$1 log row
  shift
  mkdir -p "$corpus"
  log=$(mktemp "$build/$target-XXXXXX.log")
  # Each input may take half a minute, on a machine that others use too, and 2 GB; a whole check with its report and all
  # sanitizers, two minutes.
  [ "$target" = check ] && limit_s=120
  if [ "$target" = rules ]; then  # begun with the whole of the built-in ones: cut off, they are no XML
    seeds=$build/rules_seeds most_bytes=40000
    mkdir -p "$seeds" && cp "$root/src/assessment/default_rules.xml" "$seeds"
  fi
  "$build/fuzz_$target" -seed="${LASTROOM_FUZZ_SEED:-0}" "$@" -max_len=$most_bytes -rss_limit_mb=2000 \
    -timeout=$limit_s -print_final_stats=1 -artifact_prefix="$build/$target-" "$corpus" "$seeds" \
    >"$log" 2>&1 || findings=1
  [ "$findings" -eq 0 ] || tail -n 40 "$log" >&2
  value() { sed -n "s/^$1 *\([0-9]*\).*/\1/p" "$log" | tail -n 1; }
  ran=$(sed -n 's/^Done [0-9]* runs in \([0-9]*\) second.*/\1/p' "$log")
  row="| $target | $(value 'INFO: Seed:') | ${ran:-stopped} | $(value 'stat::number_of_executed_units:') | $findings | $commit |"
  tee -a "$rows" <<<"$row"
  return "$findings"
}
# How many inputs of a target were run at this commit, without a finding.
done_of() { awk -F ' *[|] *' -v t="$1" -v c="$commit" '$2 == t && $7 == c && $6 == 0 { n += $5 } END { print n + 0 }' "$rows"; }

touch "$rows"
echo "| target | seed | seconds | executions | findings | commit |"
echo "| --- | --- | --- | --- | --- | --- |"
for target in "${targets[@]}"; do
  if [ "$how_long" != ten-million ]; then
    run "$target" -max_total_time="$how_long" || status=1
    continue
  fi
  while [ "$(done_of "$target")" -lt "${share[$target]}" ]; do  # in pieces of at most five minutes: no more is lost by a stop
    run "$target" -runs=$((share[$target] - $(done_of "$target"))) -max_total_time=300 || { status=1; break; }
  done
done
if [ "$how_long" = ten-million ]; then
  for target in "${targets[@]}"; do echo "$target: $(done_of "$target") of ${share[$target]} at $commit" >&2; done
fi
exit "$status"
