#!/bin/sh
# One object of the library and what it needs of the rooms, in which only `lastroom_v0` can be linked to:
# one_object.sh LD OBJCOPY NM OUT LIBRARY ROOMS...
set -eu
ld=$1 objcopy=$2 nm=$3 out=$4 library=$5
shift 5
"$ld" -r --force-group-allocation -o "$out" --whole-archive "$library" --no-whole-archive --start-group "$@" --end-group
# A "unique" symbol (the statics of inline functions) can't be made local before it is weak.
"$nm" "$out" | awk '$2 == "u" { print $3 }' >"$out.unique"
"$objcopy" --weaken-symbols="$out.unique" "$out"
"$objcopy" --wildcard --keep-global-symbol='*lastroom_v0*' "$out"
rm "$out.unique"
