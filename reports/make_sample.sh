#!/bin/sh
# Makes the sample report anew: reports/sample/report.html, the same in German, result.json, and the README's picture
# (with Chromium, when it is installed). Client and feet are invented.
#   reports/make_sample.sh [build/lastroom]
set -eu
here=$(cd "$(dirname "$0")" && pwd)
program=$(realpath "${1:-$here/../build/lastroom}")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
"$program" demo -o "$work/demo" > /dev/null 2>&1
mkdir -p "$here/sample"
for language in en de; do
  "$program" check "$work/demo/brandt_right.ply" "$work/demo/last_fifth_toe_pressed.stl" -o "$work/$language" \
    --wearer standard --client "E. Brandt (invented)" --date 2026-01-15 --language "$language" --quiet \
    > /dev/null
done
cp "$work/en/report.html" "$here/sample/report.html"
cp "$work/de/report.html" "$here/sample/report.de.html"
# Timing differs from run to run: left out, so that a change in the sample is a change in the judgement.
sed '/"timing_s": {/,/}/d' "$work/en/result.json" > "$here/sample/result_without_timing.txt"
if command -v chromium > /dev/null; then
  chromium --headless --no-sandbox --disable-gpu --disable-background-networking --hide-scrollbars \
    --window-size=1280,900 --screenshot="$here/sample/first_screen.png" "file://$here/sample/report.html" 2> /dev/null
fi
echo "$here/sample"
