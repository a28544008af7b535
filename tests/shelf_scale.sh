#!/usr/bin/env bash
# Writes reports/shelf.md and reports/shelf.svg: bash tests/shelf_scale.sh [LASTS-OF-A-PROOF [SEEDS [LARGEST-SHELF]]]
# The sieve against the full check of every last, then time and memory of `screen` on shelves of 10 to 1,000 lasts. Takes
# a quarter of an hour; smaller numbers make it shorter and print the same tables.
set -euo pipefail
. "$(dirname "$0")/../fixtures/setup.sh"
need "${build_packages[@]}" doctest-dev libcgal-dev libboost-dev libpng-dev
build -DLASTROOM_TESTS=ON -- lastroom shelf_proof shelf_files >/dev/null
lasts=${1:-200} seeds=${2:-10} largest=${3:-1000}
bench=$(mktemp -d)
trap 'rm -rf "$bench"' EXIT
"$root/build/shelf_proof" "$lasts" "$seeds" >"$bench/proof" || echo "THE SIEVE LOST A LAST" >>"$bench/proof"
"$root/build/shelf_files" "$largest" 1 5 "$bench/all"
python3 "$root/tests/shelf_scale.py" "$root/build/lastroom" "$bench/all" "$bench/proof" "$root/reports/shelf.md" "$root/reports/shelf.svg" "$*"
