#!/usr/bin/env bash
# Prints reports/accuracy.md from real runs: bash tests/accuracy.sh [CASES] [SEEDS]   (defaults 200 and 100; about 20 minutes)
set -euo pipefail
. "$(dirname "$0")/../fixtures/setup.sh"
need "${build_packages[@]}" doctest-dev libcgal-dev libboost-dev
build -DLASTROOM_TESTS=ON -- accuracy defects lastroom_open3d
bash "$root/tests/makehuman.sh" "$root/build/makehuman" || true
export LASTROOM_MAKEHUMAN="$root/build/makehuman"
page=$(mktemp)
{
  echo "# How accurate lastroom is"
  echo
  echo "Tables printed by \`accuracy --cases ${1:-200} --seed 1\` and \`defects ${2:-100}\`, as \`bash tests/accuracy.sh ${1:-200} ${2:-100}\` runs them; do not edit."
  echo
  echo "## Where the foot stands"
  echo
  echo "A foot is posed, a last is lofted around it with room drawn at random per region, then the scan is moved, scaled to"
  echo "another unit, mirrored, roughened, holed, cut and given a floor, and lastroom stands it in the last again. Errors are"
  echo "against the pose known by construction; the rows of zones are errors of the 5th percentile of clearance."
  echo
  "$root/build/accuracy" --cases "${1:-200}" --seed 1
  echo
  echo "## What is found and what is alarmed"
  echo
  "$root/build/defects" "${2:-100}"
} >"$page"
mv "$page" "$root/reports/accuracy.md"
chmod 644 "$root/reports/accuracy.md"
echo "$root/reports/accuracy.md"
