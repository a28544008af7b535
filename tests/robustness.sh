#!/usr/bin/env bash
# Writes reports/robustness.md from real runs: robustness.sh [FUZZING] [PART...]. Needs build/ (tests/run.sh), some hours,
# and clang for the fuzzing. Parts: torture, faults, address, thread (the sanitizers) and fuzz: FUZZING is what tests/fuzz.sh
# takes, seconds for each target or ten-million (FUZZ_TARGETS names some targets alone). What was printed stays in the folder
# TABLES with its commit, so that parts may be run one after the other: a part that is named is run again, none named are
# those that are not there yet. Fuzzing and the sanitizers go on where they were stopped at the same commit. PAGE_ONLY=1
# writes the page of what is there, PAGE=FILE elsewhere. Exit status 1 when anything went wrong.
set -uo pipefail
. "$(dirname "$0")/../fixtures/setup.sh"
fuzzing=${1:-100}
shift $(($# > 0 ? 1 : 0))
asked=" $* "
build=${LASTROOM_BUILD:-$root/build}
tables=${TABLES:-$(mktemp -d)}
mkdir -p "$tables"
[ -n "${TABLES:-}" ] || trap 'rm -rf "$tables"' EXIT
export FUZZ_ROWS=$tables/fuzz_rows SANITIZER_ROWS=$tables/sanitizer_rows
export LASTROOM_MAKEHUMAN=${LASTROOM_MAKEHUMAN:-$root/build/makehuman}
cd "$root"
failed=0

# part NAME COMMAND...: a part that went wrong is shown, and run again the next time.
part() {
  local name=$1
  shift
  [ -z "${PAGE_ONLY:-}" ] || return 0
  if [ "$asked" = "  " ]; then [ ! -s "$tables/$name.commit" ] || return 0
  else [[ $asked == *" $name "* ]] || return 0; fi
  rm -f "$tables/$name.commit"
  local commit
  commit=$(commit_name)  # what it began with
  if "$@" >"$tables/$name"; then echo "$commit" >"$tables/$name.commit"; else failed=1; fi
}
torture() {
  need time >&2
  rm -f "$tables"/{scan,last,gate}.txt
  export LASTROOM_ROBUSTNESS=$tables
  "$build/torture_test" >"$tables/log" 2>&1 || { tail -n 40 "$tables/log" >&2; return 1; }
  # Five million points: too long for the tests that run at every change.
  LASTROOM_FIVE_MILLION=1 /usr/bin/time -f "%e s, %M kB at the most" -o "$tables/five_million" "$build/torture_test" \
    -tc="five million points" >"$tables/log" 2>&1 || { tail -n 40 "$tables/log" >&2; return 1; }
  tail -n 1 "$tables/five_million"
}
part torture torture
part faults bash tests/faults.sh "$build/lastroom"
part fuzz bash tests/fuzz.sh "$fuzzing" ${FUZZ_TARGETS:-}
for kind in address thread; do part "$kind" bash tests/sanitize.sh "$kind"; done

section() { printf '\n## %s\n\n%s\n\n' "$1" "$2"; }
of_commit() { [ -s "$tables/$1" ] && echo "Printed at commit $(cat "$tables/$1.commit" 2>/dev/null || echo 'unknown, and went wrong')." || echo "Not run for this page."; }
outcomes() { printf '| case | outcome | sentence |\n| --- | --- | --- |\n'; cat "$tables/$1" 2>/dev/null; }
count() { grep -c '^| ' "$tables/$1" 2>/dev/null; }
{
  echo "# What bad input and faults come to"
  echo
  echo "Printed by \`tests/robustness.sh\`; do not edit. $(count scan.txt) damaged scans, $(count last.txt) damaged lasts," \
    "$(count gate.txt) pairs at the gate."
  section "Damaged scans" "Feet of several sizes and kinds, each in a last that presses its fifth toe by much or by little. \
Each case is judged like the clean scan (the same verdict, or for doubt one beside it; every zone's median within two standard \
deviations of what the fitting says it does not know, lengths within 2 mm) or refused with the sentence shown. Which of the two \
is stated for each case in tests/torture_scan_test.cpp. $(of_commit torture)"
  outcomes scan.txt
  echo
  echo "The five million points, with the making of the pair and of its file: $(tail -n 1 "$tables/five_million" 2>/dev/null)."
  section "Damaged lasts" "Likewise, with the clean scan. $(of_commit torture)"
  outcomes last.txt
  section "The gate: what is not a foot in its last" "None may be clear; the honest pair is. $(of_commit torture)"
  outcomes gate.txt
  section "Faults" "Of the program as a whole. $(of_commit faults)"
  cat "$tables/faults" 2>/dev/null
  section "Fuzzing" "libFuzzer with AddressSanitizer and UndefinedBehaviorSanitizer, one row a run; findings that are open. In \
all $(awk -F'|' '{ sum += $5 } END { print sum + 0 }' "$FUZZ_ROWS" 2>/dev/null) executions."
  printf '| target | seed | seconds | executions | findings | commit |\n| --- | --- | --- | --- | --- | --- |\n'
  cat "$FUZZ_ROWS" 2>/dev/null
  section "Sanitizers" "Own code; what Debian's libraries need is named in tests/sanitizers/."
  printf '| sanitizer | tests | commit | test cases | outcome |\n| --- | --- | --- | --- | --- |\n'
  cat "$SANITIZER_ROWS" 2>/dev/null
} >"$tables/page"
page=${PAGE:-reports/robustness.md}
cp "$tables/page" "$page"
chmod 644 "$page"
exit "$failed"
