#!/usr/bin/env bash
# Prints reports/accuracy.md from real runs: bash tests/accuracy.sh [CASES] [SEEDS] [PAIRS] [FEET] [STANDING]
# (defaults 200, 100, 20, 620 and 150; about an hour on two cores)
set -euo pipefail
. "$(dirname "$0")/../fixtures/setup.sh"
cases=${1:-200} seeds=${2:-100} pairs=${3:-20} feet=${4:-620} standing=${5:-150}
programs=${BUILD:-$root/build}
if [ -z "${BUILD:-}" ]; then
  need "${build_packages[@]}" doctest-dev libcgal-dev libboost-dev
  build -DLASTROOM_TESTS=ON -- accuracy defects misfits feet standing lastroom_open3d
fi
if [ -z "${LASTROOM_MAKEHUMAN:-}" ]; then
  bash "$root/tests/makehuman.sh" "$root/build/makehuman" || true
  export LASTROOM_MAKEHUMAN="$root/build/makehuman"
fi
tables=$(mktemp -d)
trap 'rm -rf "$tables"' EXIT
"$programs/accuracy" --cases "$cases" --seed 1 >"$tables/accuracy" & first=$!
"$programs/defects" "$seeds" >"$tables/defects" & second=$!
"$programs/misfits" "$pairs" >"$tables/misfits"
"$programs/feet" --cases "$feet" --seed 1 >"$tables/feet"
wait $first && wait $second
"$programs/standing" --family a --cases "$standing" --seed 101 >"$tables/standing_a" & first=$!
"$programs/standing" --family b --cases "$standing" --seed 2001 >"$tables/standing_b" & second=$!
wait $first && wait $second
"$programs/standing" --family c --cases "$standing" --seed 3001 >"$tables/standing_c"
{
  echo "# How accurate lastroom is"
  echo
  echo "Printed by \`bash tests/accuracy.sh $cases $seeds $pairs $feet $standing\`, which runs \`accuracy --cases $cases --seed 1\`, \`defects $seeds\`, \`misfits $pairs\`, \`feet --cases $feet --seed 1\` and \`standing --cases $standing\`; do not edit."
  echo
  echo "## Where the foot stands"
  echo
  echo "A foot is posed, a last is lofted around it with room drawn at random per region, then the scan is moved, scaled to"
  echo "another unit, mirrored, roughened, holed, cut and given a floor, and lastroom stands it in the last again. Errors are"
  echo "against where the foot would settle in its last, by the tests' own solver (see the last part); the rows of zones are"
  echo "errors of the 5th percentile of clearance. Where a floor was scanned along, what lies under the foot is not judged and"
  echo "not counted."
  echo
  cat "$tables/accuracy"
  echo
  echo "## What is found and what is alarmed"
  echo
  echo "Faults are built into lasts that fit, beyond their limits as the foot stands by construction; what counts is whether they"
  echo "are there, by 1.2 mm and more, where the foot settles by the tests' own solver. Lasts that fit were given more room for"
  echo "the toes than drawn: 5.5 mm over them, 3.5 beside, 18 before."
  echo
  cat "$tables/defects"
  echo
  echo "## Feet that do not suit their last"
  echo
  echo "Feet made longer, wider or of another size after the last was lofted around them. They have no place of their own in"
  echo "it: what counts is that none is told to fit."
  echo
  cat "$tables/misfits"
  echo
  echo "## How feet of every kind are read"
  echo
  echo "Feet about which everything is known: made by us, or of MakeHuman's body with random age, sex, origin and weight; of"
  echo "one kind as clinics see them, or by one kind of scanner, or both. A toe is wrong when what is said to be its tip lies"
  echo "on a toe that is said to be another. There is no second body with parted toes in the registries that tests may use."
  echo
  cat "$tables/feet"
  echo
  echo "## Where feet settle"
  echo
  echo "The truth here is not how a last was made but where the foot would stand, by a solver of the tests' own: weight on the"
  echo "sole, the fastening's pull, the give of skin over leather, each drawn within its range"
  echo "(\`tests/settled_truth.h\`). What nobody can know is how far the pose by the middle of all ranges lies from it. Families:"
  echo "a, lasts lofted around the very foot; b, lasts made from tape numbers alone; c, stock lasts in sizes and fittings, the"
  echo "nearest taken or one off on purpose. Of the program's constants one, how much the doubt is widened for what an"
  echo "elastic foundation leaves out, was set on family b, seeds 1 to 24; of the families a and c the first 24 seeds were"
  echo "looked at while the program was made, and so were those of b below, once; nothing was set on them."
  for family in a b c; do cat "$tables/standing_$family"; done
} >"$tables/page"
mv "$tables/page" "$root/reports/accuracy.md"
chmod 644 "$root/reports/accuracy.md"
echo "$root/reports/accuracy.md"
