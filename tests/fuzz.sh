#!/usr/bin/env bash
# fuzz.sh SECONDS [CORPUS]: builds the fuzz targets (Debian's clang) and runs each for its share of the time, the readers
# for half of it. What is found new goes into CORPUS (default: build-fuzz/corpus). Prints a table: target, executions,
# findings. Exit status: 0 nothing found, 1 a finding (its input is in build-fuzz/).
set -euo pipefail
if [ $# -lt 1 ]; then
  echo "usage: fuzz.sh SECONDS [CORPUS]" >&2
  exit 2
fi
seconds=$1
. "$(dirname "$0")/../fixtures/setup.sh"
need "${build_packages[@]}" clang lld
build=${LASTROOM_FUZZ_BUILD:-$root/build-fuzz}
corpus=${2:-$build/corpus}

cmake -S "$root" -B "$build" -G Ninja -DCMAKE_CXX_COMPILER=clang++ -DCMAKE_BUILD_TYPE=RelWithDebInfo \
  -DLASTROOM_SANITIZE=fuzzer -DLASTROOM_TESTS=OFF ${LASTROOM_CMAKE_OPTIONS:-} >/dev/null
cmake --build "$build" --target fuzz_readers fuzz_rules fuzz_landmarks fuzz_check >&2

status=0
export ASAN_OPTIONS=allocator_may_return_null=0 LSAN_OPTIONS=suppressions="$root/tests/sanitizers/leak.supp"
echo "| target | executions | findings |"
echo "| --- | --- | --- |"
for target in readers rules landmarks check; do
  share=$((seconds / 6 + 1))
  [ "$target" = readers ] && share=$((seconds / 2 + 1))
  mkdir -p "$corpus/$target"
  findings=0
  # Each input may take ten seconds and 2 GB.
  "$build/fuzz_$target" -max_total_time="$share" -max_len=4096 -rss_limit_mb=2000 -timeout=10 -print_final_stats=1 \
    -artifact_prefix="$build/${target}-" "$corpus/$target" "$root/tests/fuzz/corpus/$target" \
    >"$build/$target.log" 2>&1 || findings=1
  if [ "$findings" -ne 0 ]; then
    status=1
    tail -n 40 "$build/$target.log" >&2
  fi
  echo "| $target | $(sed -n 's/^stat::number_of_executed_units: *//p' "$build/$target.log") | $findings |"
done
exit "$status"
