#!/usr/bin/env bash
# gates.sh: what the scripts promise of the tests themselves. Exit status 1 when one of it isn't so.
# Nothing is skipped silently where a registry can't be reached, and not at all on the server; the page on robustness names
# the commit of every row.
set -uo pipefail
. "$(dirname "$0")/../fixtures/setup.sh"
bench=$(mktemp -d)
trap 'rm -rf "$bench"' EXIT
failed=0
wrong() { echo "WRONG: $1" >&2; failed=1; }

# Without a registry: told, and an error where CI=true.
told=$(CI='' skipped "the tests of something" "the registry" 2>&1) || wrong "a machine of one's own may not skip"
[[ $told == *"skipped, as the registry can't be reached: the tests of something"* ]] || wrong "a skip is not told: $told"
(CI=true; skipped "the tests of something" "the registry" 2>/dev/null) && wrong "the server skips"
mkdir "$bench/bin"
printf '#!/bin/sh\nexit 1\n' >"$bench/bin/npm" && chmod 755 "$bench/bin/npm"
PATH=$bench/bin:$PATH bash "$root/tests/makehuman.sh" "$bench/makehuman" >/dev/null 2>&1
[ $? -eq 3 ] || wrong "makehuman.sh does not say that it could not reach the registry"
# Every line of run.sh that asks a registry stands in a condition whose other side is `skipped`.
asks=$(grep -cE 'npm ci|makehuman\.sh|fixtures/page\.sh' "$root/tests/run.sh")
skips=$(grep -cE '^ *skipped "' "$root/tests/run.sh")
[ "$asks" -eq "$skips" ] && [ "$asks" -ge 3 ] || wrong "run.sh asks registries in $asks places and tells $skips skips"

# The page on robustness, of made parts: each row with its commit, or under a sentence with it.
tables=$bench/tables
mkdir "$tables"
for table in scan last gate; do echo "| a case | pinch |  |" >"$tables/$table.txt"; done
printf '| fault | outcome |\n| --- | --- |\n| a fault | status 5 |\n' >"$tables/faults"
echo 1111111 | tee "$tables/torture" >"$tables/torture.commit"
echo 2222222 >"$tables/faults.commit"
echo '| rules | 1 | 10 | 500 | 0 | 3333333 |' >"$tables/fuzz_rows"
echo '| address | files | 4444444 | 9 | nothing found |' >"$tables/sanitizer_rows"
# nameless PAGE: its rows that neither have a commit in a column of that name nor stand in a part that says one.
nameless() {
  awk -F ' *[|] *' '/^## / { named = column = head = 0 } /Printed at commit [0-9a-f]+\+?\./ { named = 1 }
    !/^\|/ { head = 0; next }
    !head { head = 1; column = 0; for (i = 2; i < NF; ++i) if ($i == "commit") column = i; next }
    /^\| *-/ { next }
    !named && !(column && $column ~ /^[0-9a-f]+\+?$/)' "$1"
}
page() { PAGE_ONLY=1 PAGE=$bench/page.md TABLES=$tables bash "$root/tests/robustness.sh" || wrong "robustness.sh writes no page"; }
page
[ "$(grep -c '^| a ' "$bench/page.md")" -eq 4 ] || wrong "the page lacks rows"
[ -z "$(nameless "$bench/page.md")" ] || wrong "rows without a commit: $(nameless "$bench/page.md")"
rm "$tables/faults.commit"
page
[ "$(nameless "$bench/page.md")" = '| a fault | status 5 |' ] || wrong "a part that went wrong passes for one of a commit"
[ -z "$(nameless "$root/reports/robustness.md")" ] || wrong "reports/robustness.md has rows without a commit"
exit "$failed"
