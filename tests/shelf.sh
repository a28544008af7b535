#!/usr/bin/env bash
# shelf.sh PROGRAM SHELF_FILES [LASTS]: a shelf under way: killed and resumed, two programs at one index, a last that
# changes, every kind of damage. Each line is a case and what came of it, as a row of a Markdown table. Exit status 1
# when one of them went wrong.
set -uo pipefail
if [ $# -lt 2 ]; then
  echo "usage: shelf.sh PROGRAM SHELF_FILES [LASTS]" >&2
  exit 2
fi
program=$(realpath "$1")
maker=$(realpath "$2")
lasts=${3:-24}
bench=$(mktemp -d)
trap 'rm -rf "$bench"' EXIT
failed=0

row() { printf '| %s | %s |\n' "$1" "$2"; }
wrong() { row "$1" "WRONG: $2"; failed=1; }
sums() { (cd "$1" && find . -type f | LC_ALL=C sort | xargs sha256sum | sha256sum); }
screening=("$program" screen "$bench/client.ply" --shelf "$bench/lasts" --date 2026-01-02 --all --quiet)
screen() { "${screening[@]}" "$@"; }

"$maker" "$lasts" 1 5 "$bench" || exit 1
echo "| case | what came of it |"
echo "| --- | --- |"

# SIGKILL at ten random moments, then once to the end: the same bytes as without a kill, and nothing left over.
before=$(date +%s%N)
screen -o "$bench/whole" >/dev/null || wrong "screen" "status $?"
whole_ms=$((($(date +%s%N) - before) / 1000000))
rm "$bench"/lasts/lastroom-index.sqlite
RANDOM=7
finished=0
for ((i = 0; i < 10; ++i)); do
  "${screening[@]}" -o "$bench/killed" >/dev/null 2>&1 &  # no function: that would be a shell of its own, and killed for it
  process=$!
  sleep "$(awk -v r="$RANDOM" -v w="$whole_ms" 'BEGIN { printf "%.3f", r / 32768 * w / 1000 }')"
  kill -KILL "$process" 2>/dev/null
  wait "$process" 2>/dev/null
  [ -d "$bench/killed" ] && { finished=$((finished + 1)); rm -rf "$bench/killed"; }
done 2>/dev/null
kept=$(cat "$bench/killed.unfinished" 2>/dev/null | wc -l)
screen --overwrite -o "$bench/killed" >/dev/null || wrong "SIGKILL" "status $?"
if [ "$(sums "$bench/whole")" != "$(sums "$bench/killed")" ]; then wrong "SIGKILL" "other bytes than without a kill"
elif [ -e "$bench/killed.unfinished" ] || [ "$(find "$bench" -maxdepth 1 -name '.lastroom-*' | wc -l)" -ne 0 ]; then
  wrong "SIGKILL" "something was left beside the output"
else row "SIGKILL at ten random moments" "$finished runs were done before it; the last run took over $((kept > 0 ? kept - 1 : 0)) lasts and gave the bytes of a run that was not killed"; fi

# A torn last line, as a full disk or a power cut may leave it.
(ulimit -t 1; screen -o "$bench/torn" >/dev/null 2>&1)
[ -e "$bench/torn.unfinished" ] && truncate -s -3 "$bench/torn.unfinished"
screen --overwrite -o "$bench/torn" >/dev/null || wrong "a torn record" "status $?"
if [ "$(sums "$bench/whole")" = "$(sums "$bench/torn")" ]; then row "a torn record" "left out and done again: the same bytes"
else wrong "a torn record" "other bytes"; fi

# Two programs at one index at once, from nothing.
rm "$bench"/lasts/lastroom-index.sqlite
"$program" shelf add "$bench/lasts" --quiet >"$bench/add1" 2>&1 & first=$!
"$program" shelf add "$bench/lasts" --quiet >"$bench/add2" 2>&1 & second=$!
wait "$first"; first=$?
wait "$second"; second=$?
if [ "$first" -ne 0 ] || [ "$second" -ne 0 ]; then wrong "two programs at one index" "status $first and $second: $(tail -n 1 "$bench/add1" "$bench/add2")"
elif ! "$program" shelf verify "$bench/lasts" --quiet >"$bench/verify" || grep -q '^\(new\|stale\|unusable\)' "$bench/verify"; then
  wrong "two programs at one index" "the index does not hold every last"
else row "two programs add to one index" "both done, every last verified"; fi

# An index of another name that lies on the shelf is none of its lasts.
for run in first second; do screen --overwrite --index "$bench/lasts/my.sqlite" -o "$bench/beside" >/dev/null || wrong "an index on the shelf" "status $?"; done
if [ "$(sums "$bench/whole")" = "$(sums "$bench/beside")" ]; then row "an index of another name on the shelf" "the same bytes, twice"
else wrong "an index of another name on the shelf" "other bytes"; fi
rm "$bench/lasts/my.sqlite"

# The index: damaged, another program's, from a newer version.
# refused NAME WORDS: `shelf list` ends with status 3 and one sentence with these words in it.
refused() {
  "$program" shelf list "$bench/lasts" --index "$bench/index" --quiet >/dev/null 2>"$bench/err"
  status=$?
  if [ "$status" -eq 3 ] && grep -q -- "$2" "$bench/err" && [ "$(wc -l <"$bench/err")" -eq 1 ]; then row "$1" "status 3, $(cat "$bench/err")"
  else wrong "$1" "status $status: $(cat "$bench/err")"; fi
}
# edit SQL: an index as another program would leave it.
edit() { python3 -c 'import sqlite3, sys; c = sqlite3.connect(sys.argv[1]); c.executescript(sys.argv[2]); c.commit()' "$bench/index" "$1"; }
echo "no database" >"$bench/index"
refused "an index that is a text" "damaged"
cp "$bench/lasts/lastroom-index.sqlite" "$bench/index" && edit "PRAGMA user_version=99"
refused "an index from a newer version" "newer"
rm "$bench/index" && edit "CREATE TABLE invoice(id)"
refused "another program's database" "another program"
cp "$bench/lasts/lastroom-index.sqlite" "$bench/index" && dd if=/dev/urandom of="$bench/index" bs=4096 seek=3 count=20 conv=notrunc status=none
refused "an index with damaged pages" "damaged"
for set in "body = zeroblob(length(body))" "side = 1 - side" "numbers = zeroblob(length(numbers))" "chance_of_wrong_side = 9e999"; do
  cp "$bench/lasts/lastroom-index.sqlite" "$bench/index" && edit "UPDATE last SET $set"
  "$program" shelf verify "$bench/lasts" --index "$bench/index" --quiet >/dev/null 2>"$bench/err"
  status=$?
  if [ "$status" -eq 3 ]; then row "verify an index with $set" "status 3, $(cat "$bench/err")"; else wrong "verify, $set" "status $status"; fi
  screen --overwrite --index "$bench/index" -o "$bench/changed" >/dev/null || wrong "screen, $set" "status $?"
  if [ "$(sums "$bench/whole")" = "$(sums "$bench/changed")" ]; then row "screen with that index" "prepared again: the same bytes"; else wrong "screen, $set" "other bytes"; fi
done
cp "$bench/lasts/lastroom-index.sqlite" "$bench/index" && edit "UPDATE last SET tool = 'older'"
"$program" shelf add "$bench/lasts" --index "$bench/index" --quiet >"$bench/add1" || wrong "changed rows" "status $?"
if grep -q '^mended' "$bench/add1" && ! grep -q '^kept' "$bench/add1"; then row "an index whose rows were changed" "every last prepared again"; else wrong "changed rows" "$(head -n 1 "$bench/add1")"; fi

# A shelf with a file of every kind of damage beside good ones.
mkdir "$bench/damaged"
good=$(find "$bench/lasts" -name '*right.stl' | LC_ALL=C sort | head -n 1)
cp "$good" "$bench/damaged/good.stl"
cp "$good" "$bench/damaged/same.stl"
cp "$bench/client.ply" "$bench/damaged/a_foot.ply"
: >"$bench/damaged/empty.stl"
head -c 20000 "$good" >"$bench/damaged/cut.stl"
echo "Dear maker, the lasts are in the other folder." >"$bench/damaged/letter.stl"
printf 'ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\nnan nan nan\nnan 0 0\n0 nan 0\n3 0 1 2\n' >"$bench/damaged/nan.ply"
head -c 30000 /dev/urandom >"$bench/damaged/noise.glb"
head -c 80 /dev/zero >"$bench/damaged/liar.stl" && printf '\377\377\377\377' >>"$bench/damaged/liar.stl"
mkfifo "$bench/damaged/pipe.stl"
ln -s /nowhere "$bench/damaged/dangling.stl"
ln -s loop.stl "$bench/damaged/loop.stl"
mkdir "$bench/damaged/folder.stl"
cp "$good" "$bench/damaged/"$'odd "name", really.stl'
printf '%b' 'not \xff UTF-8' >"$bench/damaged/"$'b\xffd.stl'
timeout 120 "$program" screen "$bench/client.ply" --shelf "$bench/damaged" --date 2026-01-02 --quiet -o "$bench/out" >/dev/null 2>"$bench/err"
status=$?
timeout 120 "$program" screen "$bench/client.ply" --shelf "$bench/damaged" --date 2026-01-02 --language de --quiet -o "$bench/deutsch" >/dev/null 2>&1
if [ -s "$bench/deutsch/shelf.html" ] && ! grep -q 'lang="en"' "$bench/deutsch/shelf.html"; then
  row "that shelf's page in German" "every reason is German"
else
  wrong "that shelf's page in German" "English sentences, or no page"
fi
python3 - "$bench/out" "$status" <<'PY' || failed=1
import csv, json, sys
out, status = sys.argv[1], sys.argv[2]
rows = json.load(open(out + '/shelf.json'))['lasts']
table = list(csv.DictReader(open(out + '/shelf.csv', newline='', encoding='utf-8')))
text = lambda v: '' if v is None else v if isinstance(v, str) else json.dumps(v)
same = len(rows) == len(table) and all({k: text(v) for k, v in r.items()} == t for r, t in zip(rows, table))
fates = {r['last']: r['fate'] for r in rows}
bad = [n for n in ('a_foot.ply', 'empty.stl', 'cut.stl', 'letter.stl', 'nan.ply', 'noise.glb', 'liar.stl', 'pipe.stl', 'dangling.stl', 'loop.stl', 'b�d.stl')
       if fates.get(n) != 'unusable' or not next(r['problem'] for r in rows if r['last'] == n)]
good = status in '04' and fates.get('good.stl') in ('judged', 'unusable') and fates.get('same.stl') == 'same_file' and fates.get('odd "name", really.stl') == 'same_file'
print('| a shelf with every kind of damage | %s |' % (f'{len(rows)} files, each with its reason' if good and not bad else f'WRONG: status {status}, {bad or fates}'))
print('| shelf.csv against shelf.json | %s |' % ('the same values, also of a name with quotes and commas' if same else 'WRONG: they differ'))
sys.exit(0 if good and not bad and same else 1)
PY

exit "$failed"
