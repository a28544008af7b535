#!/usr/bin/env bash
# Makes a page of every kind in every language from the demo and holds them in a browser:
#   bash tests/pages.sh LASTROOM DEMO CHECK.mjs OUT
# DEMO: what `lastroom demo` wrote. CHECK.mjs: in a folder with its node_modules. French is the longest: it has every kind,
# the others all but the report on both feet, which has the panels of the report on one.
set -euo pipefail
lastroom="$1" demo="$2" check="$3" out="$4"
right="$demo/brandt_right.ply" left="$demo/brandt_left.ply"

# pages LANGUAGE OPTIONS...: a client's own words are as long as they may well be.
pages() {
  local to="$out/$1" how=(--language "$@" --overwrite)
  local full=("${how[@]}" --quiet --date 2026-01-02 --client "E. Brandt-Hollenstein (invented)")
  mkdir -p "$to"
  {
    "$lastroom" check "$right" "$demo/last_fifth_toe_pressed.stl" "${full[@]}" -o "$to/check" --changes "$to/changes.html"
    "$lastroom" check "$right" "$demo/last_fits.stl" "${full[@]}" --wearer standard -o "$to/standard"
    "$lastroom" check --left "$left" "$demo/last_left_with_bunion.stl" --right "$right" "$demo/last_two_sizes_short.stl" \
      "${full[@]}" -o "$to/pair"
    "$lastroom" screen "$right" "$demo"/last_f*.stl "${full[@]}" -o "$to/shelf"
    "$lastroom" compare "$to"/{check,standard} "${how[@]}" -o "$to/compared"
    "$lastroom" measure "$left" --as foot "${how[@]}" -o "$to/foot"
    "$lastroom" measure "$demo/last_fits.stl" --as last "${how[@]}" -o "$to/last"
    # What a refusal leaves (status 3), here of a last given as the scan; and a table with such a job and a pair of feet in it.
    "$lastroom" check "$demo"/last_{fits,fits}.stl "${how[@]}" --quiet -o "$to/refused" 2>/dev/null || [ $? -eq 3 ]
    printf 'scan,last,left_scan,left_last,right_scan,right_last,client\n%s,%s,,,,,"Arnold, M."\n%s,%s,,,,,\n,,%s,%s,%s,%s,\n' \
      "$right" "$demo/last_roof_too_low.stl" "$demo/last_fits.stl" "$demo/last_fits.stl" \
      "$left" "$demo/last_left_with_bunion.stl" "$right" "$demo/last_fifth_toe_pressed.stl" >"$to/jobs.csv"
    "$lastroom" batch "$to/jobs.csv" "${how[@]}" --quiet -o "$to/jobs" 2>/dev/null || [ $? -eq 3 ]
  } >/dev/null
}
pages en
pages de
pages fr
pages it --units in --paper letter

held=("$out/fr/pair/report.html")
for language in en de fr it; do
  for page in check/{report,client,referral} standard/client pair/client shelf/shelf compared/compare foot/measures last/measures \
    refused/refusal jobs/overview changes; do
    held+=("$out/$language/$page.html")
  done
done
cd "$(dirname "$check")"
node "$check" "${held[@]}"
