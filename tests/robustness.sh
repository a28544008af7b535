#!/usr/bin/env bash
# Writes reports/robustness.md from real runs: robustness.sh [FUZZ-SECONDS]. Needs build/ (tests/run.sh), some minutes, and
# clang for the fuzzing. Each fuzz target runs for FUZZ-SECONDS; rows of longer runs, as tests/fuzz.sh printed them, may be
# given in the file LASTROOM_FUZZ_TABLE and are shown above those of this run. The sanitizers' builds take most of an hour:
# a table that tests/sanitize.sh printed may be given in LASTROOM_SANITIZE_TABLE instead. Exit status 1 when anything went
# wrong.
set -uo pipefail
. "$(dirname "$0")/../fixtures/setup.sh"
need time
seconds=${1:-100}
build=${LASTROOM_BUILD:-$root/build}
tables=$(mktemp -d)
trap 'rm -rf "$tables"' EXIT
export LASTROOM_ROBUSTNESS=$tables LASTROOM_MAKEHUMAN=${LASTROOM_MAKEHUMAN:-$root/build/makehuman}
cd "$root"
failed=0

"$build/torture_test" >"$tables/log" 2>&1 || { failed=1; tail -n 40 "$tables/log" >&2; }
# Five million points: too long for the tests that run at every change.
LASTROOM_FIVE_MILLION=1 /usr/bin/time -f "%e s, %M kB at the most" -o "$tables/five_million" "$build/torture_test" \
  -tc="five million points" >"$tables/log" 2>&1 || { failed=1; tail -n 40 "$tables/log" >&2; }
bash tests/faults.sh "$build/lastroom" >"$tables/faults" || failed=1
bash tests/fuzz.sh "$seconds" >"$tables/fuzz" || failed=1
if [ -n "${LASTROOM_SANITIZE_TABLE:-}" ]; then cp "$LASTROOM_SANITIZE_TABLE" "$tables/sanitize"
else bash tests/sanitize.sh >"$tables/sanitize" || failed=1; fi

section() { printf '\n## %s\n\n%s\n\n' "$1" "$2"; }
outcomes() { printf '| case | outcome | sentence |\n| --- | --- | --- |\n'; cat "$tables/$1"; }
count() { grep -c '^| ' "$tables/$1"; }
is_run='^\| [a-z]+ \| [0-9]'
fuzz_runs() {
  head -n 2 "$tables/fuzz"
  { cat "${LASTROOM_FUZZ_TABLE:-/dev/null}"; cat "$tables/fuzz"; } | grep -E "$is_run"
}
executions_of() { fuzz_runs | awk -F'|' -v target=" $1 " '$2 == target { sum += $5 } END { print sum + 0 }'; }
{
  echo "# What bad input and faults come to"
  echo
  echo "Printed by \`tests/robustness.sh\`; do not edit. $(count scan.txt) damaged scans, $(count last.txt) damaged lasts," \
    "$(count gate.txt) pairs at the gate."
  section "Damaged scans" "The last presses the fifth toe: the right verdict is pinch. Each case is judged like the clean \
scan (every zone's median within two standard deviations of what the fitting says it does not know, lengths within 2 mm) \
or refused with the sentence shown. Which of the two is stated for each case in tests/torture_scan_test.cpp."
  outcomes scan.txt
  echo
  echo "The five million points, with the making of the pair and of its file: $(tail -n 1 "$tables/five_million")."
  section "Damaged lasts" "Likewise, with the clean scan."
  outcomes last.txt
  section "The gate: what is not a foot in its last" "None may be clear; the honest pair is."
  outcomes gate.txt
  section "Faults" "Of the program as a whole."
  cat "$tables/faults"
  section "Fuzzing" "libFuzzer with AddressSanitizer and UndefinedBehaviorSanitizer, one row a run; findings that are open. \
Over the readers: $(executions_of readers) executions."
  fuzz_runs
  section "Sanitizers" "Own code; what Debian's libraries need is named in tests/sanitizers/."
  cat "$tables/sanitize"
} >"$tables/report"
mv "$tables/report" reports/robustness.md
exit "$failed"
