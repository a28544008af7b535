#!/usr/bin/env bash
# What is installed works for a stranger: into an empty prefix, which is then moved: install.sh BUILD
set -euo pipefail
root=$(cd "$(dirname "$0")/.." && pwd)
build=$(realpath "$1")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
wrong() { echo "install.sh: $*" >&2; exit 1; }

cmake --install "$build" --prefix "$work/first" >"$work/log" || { cat "$work/log" >&2; exit 1; }
cmake -S "$root/tests/install" -B "$work/client" -DCMAKE_PREFIX_PATH="$work/first" >"$work/log" 2>&1 &&
  cmake --build "$work/client" >>"$work/log" 2>&1 || { cat "$work/log" >&2; exit 1; }
[ "$(cat "$work/client/helpers")" = "$work/first/lib/lastroom" ] || wrong "lastroom_HELPERS is $(cat "$work/client/helpers")"

# From here on nothing may lead back to the build or to the first place.
mv "$work/first" "$work/moved"
prefix="$work/moved"
! grep -rlF -e "$build" -e "$work/first" "$prefix" || wrong "these name a folder that they were made in"
foreign=$(nm --defined-only --extern-only "$prefix/lib/liblastroom.a" | awk 'NF == 3 && $3 !~ /lastroom_v0/')
[ -z "$foreign" ] || wrong "the library shows more than its own: $foreign"
scan="$build/demo/brandt_right.ply" last="$build/demo/last_fifth_toe_pressed.stl"
[ -e "$scan" ] || "$build/lastroom" demo --quiet --overwrite -o "$build/demo" >/dev/null
cd "$work"
"$prefix/bin/lastroom" check "$scan" "$last" --quiet -o "$work/fitting" >"$work/said" || wrong "the program: $(cat "$work/said")"
"$work/client/client" "$scan" "$last" "$prefix/lib/lastroom" >"$work/told" || wrong "the client: $(cat "$work/told")"

# Zones as the program's, number for number, though the client was compiled for this machine's processor.
python3 - "$work/fitting/result.json" "$work/told" <<'PYTHON' || wrong "the client's zones are not the program's"
import json, sys
zones = [f"{z['zone']} {z['verdict']} {z['p05_mm']:.4f}" for z in json.load(open(sys.argv[1]))["zones"]]
told = open(sys.argv[2]).read().split("\n")[:-2]
sys.exit(zones != told or len(zones) < 10)
PYTHON

# The reader in the moved prefix is the one that is used.
echo "no mesh" >"$work/bad.dae"
measure_bad() { "$prefix/bin/lastroom" measure "$work/bad.dae" --as last 2>&1; }
! measure_bad >"$work/said" && ! grep "is not beside the program" "$work/said" || wrong "the reader was not found"
rm "$prefix/lib/lastroom/lastroom_open3d_reader"
! measure_bad >"$work/said" && grep -q "is not beside the program" "$work/said" || wrong "another reader was found"

grep -qF '\-\-overwrite' "$prefix/share/man/man1/lastroom.1" || wrong "the man page"
if command -v man >/dev/null; then
  man -l "$prefix/share/man/man1/lastroom.1" 2>"$work/said" >/dev/null
  [ ! -s "$work/said" ] || wrong "the man page: $(cat "$work/said")"
fi
words=$(PATH="$prefix/bin:$PATH" bash -c '. "$1"; COMP_WORDS=(lastroom check --templ); COMP_CWORD=2; _lastroom 2>/dev/null
  echo "${COMPREPLY[@]}"' - "$prefix/share/bash-completion/completions/lastroom")
[ "$words" = --template ] || wrong "the completion: '$words'"
"$prefix/bin/lastroom" check "$scan" "$last" --rules "$prefix/share/lastroom/rules.xml" --quiet -o "$work/ruled" >/dev/null ||
  wrong "the rules file"
[ -s "$prefix/share/doc/lastroom/copyright" ] || wrong "the licence"
echo "installed, moved, and built upon"
