#!/usr/bin/env bash
# sanitize.sh [address|thread ...]: builds the tests with AddressSanitizer and UndefinedBehaviorSanitizer, and with
# ThreadSanitizer, and runs them. Prints a table; exit status 1 when something was found (its report is on stderr).
# Each row is also added to the file SANITIZER_ROWS (build-KIND/rows when not set): a test program in which nothing was
# found at this commit is not run again, so that a stopped run goes on.
set -uo pipefail
. "$(dirname "$0")/../fixtures/setup.sh"
need "${build_packages[@]}" doctest-dev libcgal-dev libboost-dev libpng-dev
kinds=("$@")
[ ${#kinds[@]} -gt 0 ] || kinds=(address thread)
cd "$root"
# Every test program, as CMakeLists.txt has them; house_test only reads our sources and runs nothing of ours.
address_tests=(${LASTROOM_ADDRESS_TESTS:-$(sed -nE 's/^room_test\((\w+) .*/\1/p; s/^add_executable\((\w+)_test .*/\1/p' \
  CMakeLists.txt | grep -vx house)})
# Under ThreadSanitizer: what runs on several threads (the kernel's own thread tests, reading, a whole check).
thread_tests=(${LASTROOM_THREAD_TESTS:-geometry mesh_io torture})
export ASAN_OPTIONS=detect_stack_use_after_return=1:allocator_may_return_null=1
export UBSAN_OPTIONS=print_stacktrace=1
export TSAN_OPTIONS=suppressions="$root/tests/sanitizers/thread.supp":halt_on_error=0

failed=0
commit=$(commit_name)
echo "| sanitizer | tests | commit | test cases | outcome |"
echo "| --- | --- | --- | --- | --- |"
for kind in "${kinds[@]}"; do
  build=${LASTROOM_SANITIZE_BUILD:-$root/build}-$kind
  declare -n tests=${kind}_tests
  cmake -S "$root" -B "$build" -G Ninja -DLASTROOM_TESTS=ON -DLASTROOM_SANITIZE="$kind" ${LASTROOM_CMAKE_OPTIONS:-} \
    >/dev/null || exit 1
  cmake --build "$build" --target lastroom_open3d lastroom_open3d_reader "${tests[@]/%/_test}" >&2 || exit 1
  rows=${SANITIZER_ROWS:-$build/rows}
  touch "$rows"
  for test in "${tests[@]}"; do
    grep -F "| $kind | $test | $commit | " "$rows" | grep -F "| nothing found |" | tail -n 1 | grep . && continue
    only=()
    [ "$kind" = thread ] && [ "$test" = torture ] && only=(-tc="the honest pair*")
    log=$build/$test.log
    if "$build/${test}_test" "${only[@]}" >"$log" 2>&1; then outcome="nothing found"; else
      outcome=FOUND failed=1
      grep -vE '^\s*$' "$log" | tail -n 60 >&2
    fi
    echo "| $kind | $test | $commit | $(sed -n 's/.*test cases: *\([0-9]*\) |.*/\1/p' "$log") | $outcome |" | tee -a "$rows"
  done
done
exit "$failed"
