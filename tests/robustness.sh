#!/usr/bin/env bash
# Writes reports/robustness.md from real runs: robustness.sh [FUZZ-SECONDS]. Needs build/ (tests/run.sh), some minutes, and
# clang for the fuzzing. Exit status 1 when anything in it went wrong.
set -uo pipefail
. "$(dirname "$0")/../fixtures/setup.sh"
seconds=${1:-600}
build=${LASTROOM_BUILD:-$root/build}
tables=$(mktemp -d)
trap 'rm -rf "$tables"' EXIT
export LASTROOM_ROBUSTNESS=$tables LASTROOM_MAKEHUMAN=${LASTROOM_MAKEHUMAN:-$root/build/makehuman}
cd "$root"
failed=0

"$build/torture_test" >"$tables/log" 2>&1 || { failed=1; tail -n 40 "$tables/log" >&2; }
# Five million points: too long for the tests that run at every change.
LASTROOM_FIVE_MILLION=1 "$build/torture_test" -tc="five million points" >"$tables/log" 2>&1 ||
  { failed=1; tail -n 40 "$tables/log" >&2; }
bash tests/faults.sh "$build/lastroom" >"$tables/faults" || failed=1
if [ -n "${LASTROOM_FUZZ_TABLE:-}" ]; then cp "$LASTROOM_FUZZ_TABLE" "$tables/fuzz"  # of a longer run by hand
else bash tests/fuzz.sh "$seconds" >"$tables/fuzz" || failed=1; fi
if [ -n "${LASTROOM_SANITIZE_TABLE:-}" ]; then cp "$LASTROOM_SANITIZE_TABLE" "$tables/sanitize"
else bash tests/sanitize.sh >"$tables/sanitize" || failed=1; fi

section() { printf '\n## %s\n\n%s\n\n' "$1" "$2"; }
outcomes() { printf '| case | outcome | sentence |\n| --- | --- | --- |\n'; cat "$tables/$1"; }
count() { grep -c '^| ' "$tables/$1"; }
{
  echo "# What bad input and faults come to"
  echo
  echo "Printed by \`tests/robustness.sh\`; do not edit. $(count scan.txt) damaged scans, $(count last.txt) damaged lasts," \
    "$(count gate.txt) pairs at the gate."
  section "Damaged scans" "The last presses the fifth toe: the right verdict is pinch. Each case is judged like the clean \
scan (every zone's median within two standard deviations of what the fitting says it does not know, lengths within 2 mm) \
or refused with the sentence shown."
  outcomes scan.txt
  section "Damaged lasts" "Likewise, with the clean scan."
  outcomes last.txt
  section "The gate: what is not a foot in its last" "None may be clear; the honest pair is."
  outcomes gate.txt
  section "Faults" "Of the program as a whole."
  cat "$tables/faults"
  section "Fuzzing" "libFuzzer with AddressSanitizer and UndefinedBehaviorSanitizer; findings that are open."
  cat "$tables/fuzz"
  section "Sanitizers" "Own code; suppressions for Debian's libraries are named in tests/sanitizers/."
  cat "$tables/sanitize"
} >"$tables/report"
mv "$tables/report" reports/robustness.md
exit "$failed"
