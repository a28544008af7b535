#!/usr/bin/env bash
# faults.sh PROGRAM: full disk, read-only folder, kills, Ctrl-C, memory and process limits, links and devices. Each line
# is one fault and what came of it, as a row of a Markdown table. Exit status 1 when one of them went wrong.
set -uo pipefail
if [ $# -ne 1 ]; then
  echo "usage: faults.sh PROGRAM" >&2
  exit 2
fi
program=$(realpath "$1")
kills=${LASTROOM_KILLS:-100}
bench=$(mktemp -d)
trap 'umount "$bench/disk" 2>/dev/null; rm -rf "$bench"' EXIT
chmod 755 "$bench"
failed=0

row() { printf '| %s | %s |\n' "$1" "$2"; }
wrong() { row "$1" "WRONG: $2"; failed=1; }
# expect NAME STATUS WORDS: holds the last run's status, and that it said one sentence with these words in it.
expect() {
  if [ "$status" -ne "$2" ]; then
    wrong "$1" "exit status $status instead of $2: $(tail -n 1 "$bench/err")"
  elif ! grep -q -- "$3" "$bench/err"; then
    wrong "$1" "does not say '$3': $(tail -n 1 "$bench/err")"
  elif [ "$(grep -c '^lastroom: ' "$bench/err")" -ne 1 ]; then
    wrong "$1" "says more or less than one sentence"
  else
    row "$1" "status $status, $(tail -n 1 "$bench/err" | sed "s|$bench/||g")"
  fi
}
run() { "$@" >"$bench/out" 2>"$bench/err"; status=$?; }
hidden() { find "$1" -maxdepth 1 -name '.lastroom-*' | wc -l; }

"$program" demo -o "$bench/demo" --quiet >/dev/null 2>&1 || "$program" demo -o "$bench/demo" >/dev/null 2>&1 || exit 1
scan=$bench/demo/brandt_right.ply
last=$bench/demo/last_fits.stl
[ -s "$scan" ] && [ -s "$last" ] || { echo "faults.sh: the demo wrote no $scan" >&2; exit 1; }
check=("$program" check "$scan" "$last" --quiet --date 2026-01-02)

echo "| fault | outcome |"
echo "| --- | --- |"

# Full disk.
mkdir "$bench/disk"
if [ "$(id -u)" -eq 0 ] && mount -t tmpfs -o size=200k tmpfs "$bench/disk" 2>/dev/null; then
  run "${check[@]}" -o "$bench/disk/out"
  expect "the disk is full" 5 "make room"
  [ -z "$(ls -A "$bench/disk")" ] || wrong "the disk is full" "left behind: $(ls -A "$bench/disk")"
  umount "$bench/disk"
else
  (ulimit -f 100 && "${check[@]}" -o "$bench/disk/out") >"$bench/out" 2>"$bench/err"
  status=$?
  expect "the disk is full (no tmpfs here: files limited to 100 kB instead)" 5 "make room"
  [ -z "$(ls -A "$bench/disk")" ] || wrong "the disk is full" "left behind: $(ls -A "$bench/disk")"
fi

"$program" measure "$scan" --as foot --quiet >/dev/full 2>"$bench/err"
status=$?
expect "standard output goes to a full disk" 5 "standard output"

# Folders and names that may not be written.
mkdir "$bench/locked" && chmod 555 "$bench/locked"
as_user=() who=
[ "$(id -u)" -eq 0 ] && as_user=(setpriv --reuid=65534 --regid=65534 --clear-groups) who=" (as user nobody: root may write anywhere)"
run "${as_user[@]}" "${check[@]}" -o "$bench/locked/out"
expect "the folder is read-only$who" 5 "can't be written"
mkdir "$bench/real" && ln -s "$bench/real" "$bench/link"
run "${check[@]}" -o "$bench/link"
expect "the output is a symbolic link" 5 "symbolic link"
run "${check[@]}" -o /dev/null
expect "the output is a device" 5 "not a folder"
run "${check[@]}" -o /dev/null/out
expect "the output is inside a device" 5 "can't be written"
run "$program" check /dev/zero "$last" --quiet -o "$bench/never"
expect "the scan is a device" 3 "not an ordinary file"
run "$program" check "$scan" "$last" --quiet --landmarks /dev/zero -o "$bench/never"
expect "the landmarks are a device" 3 "not an ordinary file"
run "$program" check "$scan" "$last" --quiet --rules /dev/zero -o "$bench/never"
expect "the rules are a device" 3 "no such rules file"

# Limits, and that they can be raised.
run "${check[@]}" --largest-file 1 --overwrite -o "$bench/small"
expect "a file over the limit" 3 "--largest-file"
run "${check[@]}" --largest-triangles 1000 --overwrite -o "$bench/small"
expect "a mesh over the limit" 3 "--largest-triangles"
run "${check[@]}" --largest-file 4000 --largest-triangles 40000000 --overwrite -o "$bench/small"
if [ "$status" -eq 0 ]; then row "limits raised" "status 0"; else wrong "limits raised" "status $status"; fi
head -c 80 /dev/zero >"$bench/liar.stl" && printf '\377\377\377\377' >>"$bench/liar.stl"
run timeout 1 "$program" check "$bench/liar.stl" "$last" --quiet -o "$bench/never"
expect "84 bytes that claim four billion triangles" 3 "liar.stl"

# Memory and processes run out.
for kilobytes in 20000 30000 40000 50000 60000 70000 100000 200000; do
  (ulimit -v "$kilobytes" && exec "${check[@]}" --overwrite -o "$bench/little") >"$bench/out" 2>"$bench/err"
  status=$?
  if [ "$status" -eq 0 ]; then row "ulimit -v $kilobytes" "status 0: it was enough"
  elif [ "$status" -eq 127 ]; then row "ulimit -v $kilobytes" "the system could not even start the program"
  else expect "ulimit -v $kilobytes" 3 "memory"; fi
  [ "$(hidden "$bench")" -eq 0 ] || wrong "ulimit -v $kilobytes" "a hidden folder was left behind"
done
if [ "$(id -u)" -eq 0 ]; then
  mkdir "$bench/open" && chmod 777 "$bench/open"
  (exec "${as_user[@]}" bash -c 'ulimit -u 1; exec "$@"' bash "${check[@]}" -o "$bench/open/out") >"$bench/out" 2>"$bench/err"
  status=$?
  if [ "$status" -eq 0 ]; then row "not one thread may be started" "status 0: one is enough"
  else expect "not one thread may be started" 3 "threads"; fi
else
  row "not one thread may be started" "skipped: it takes root to become another user"
fi

# Ctrl-C at many moments: status 130 within a second and nothing hidden left, or the run was already done.
stopped=0 slowest=0
mkdir "$bench/stop"
for ((i = 0; i < 20; ++i)); do
  env --default-signal=INT "${check[@]}" --overwrite -o "$bench/stop/out" >"$bench/out" 2>"$bench/err" &
  process=$!
  sleep "0.$(printf '%03d' $((10 + i * 30)))"
  before=$(date +%s%N)
  kill -INT "$process" 2>/dev/null
  wait "$process"
  status=$?
  took=$((($(date +%s%N) - before) / 1000000))
  ((took > slowest)) && slowest=$took
  if [ "$status" -eq 130 ]; then stopped=$((stopped + 1))
  elif [ "$status" -ne 0 ]; then wrong "Ctrl-C" "exit status $status"; fi
  [ "$(hidden "$bench/stop")" -eq 0 ] || wrong "Ctrl-C" "a hidden folder was left behind"
done
if [ "$stopped" -eq 0 ] || [ "$slowest" -gt 1000 ]; then wrong "Ctrl-C" "$stopped of 20 stopped, slowest after $slowest ms"
else row "Ctrl-C at 20 moments" "$stopped stopped with status 130, the others were done; slowest end after $slowest ms"; fi

# SIGTERM while the report is printed: the browser ends too, and nothing of the report is left in the temporary folder.
mkdir "$bench/browser" "$bench/tmp"
cat >"$bench/browser/chromium" <<'BROWSER'
#!/bin/sh
while read -r name value; do [ "$name" = SigBlk: ] && echo "$value" >"$LASTROOM_BENCH/browser.signals"; done </proc/self/status
for word; do case $word in --user-data-dir=*) mkdir "${word#*=}" && echo a foot >"${word#*=}/cache" ;; esac; done
echo a foot >"$TMPDIR/more"
echo $$ >"$LASTROOM_BENCH/browser.id"
sleep 20
BROWSER
chmod 755 "$bench/browser/chromium"
LASTROOM_BENCH=$bench TMPDIR=$bench/tmp PATH="$bench/browser:$PATH" "${check[@]}" --overwrite -o "$bench/stop/out" --pdf "$bench/stop/report.pdf" >"$bench/out" 2>"$bench/err" &
process=$!
for ((i = 0; i < 600; ++i)); do [ -s "$bench/browser.id" ] && break; sleep 0.05; done
kill -TERM "$process"
wait "$process"
status=$?
sleep 0.1
expect "SIGTERM while the report is printed" 143 "interrupted; only what was finished before"
[ -s "$bench/stop/out/report.html" ] || wrong "SIGTERM while the report is printed" "the report that was finished is gone"
[ -z "$(ls -A "$bench/tmp")" ] || wrong "SIGTERM while the report is printed" "left behind: $(ls -A "$bench/tmp")"
if grep -q '^State:.[RSD]' "/proc/$(cat "$bench/browser.id")/status" 2>/dev/null; then wrong "SIGTERM while the report is printed" "the browser goes on"; fi
grep -q '^0*$' "$bench/browser.signals" || wrong "SIGTERM while the report is printed" "the browser holds signals back: $(cat "$bench/browser.signals")"

# SIGKILL at random moments of every command that writes, a hundred in all.
RANDOM=1
mkdir "$bench/kill" "$bench/lasts"
cp "$bench"/demo/last_{fits,fifth_toe_pressed}.stl "$bench/lasts"
printf 'scan,last\n%s,%s\n%s,%s\n' "$scan" "$last" "$scan" "$bench/demo/last_fifth_toe_pressed.stl" >"$bench/jobs.csv"
# What may lie in a folder: the bytes of the old result or the new one, but for the times in result.json.
sums() { (cd "$1" 2>/dev/null && find . -type f ! -name 'result*.json' -exec sha256sum {} + | sort | sha256sum); }
torn() { find "$1" -name 'result*.json' ! -exec sh -c 'tail -c 3 "$1" | grep -q "}"' - {} ';' -print; }
ms() { local from; from=$(date +%s%N); "$@" >/dev/null 2>&1; echo $((($(date +%s%N) - from) / 1000000)); }
# kill_at WHOLE-MS COMMAND...: no function as the command, that would be a shell of its own, and killed for it.
kill_at() {
  local at
  at=$(awk -v r="$RANDOM" -v w="$1" 'BEGIN { printf "%.3f", r / 32768 * w * 1.1 / 1000 }')
  shift
  "$@" >/dev/null 2>&1 &
  sleep "$at"
  kill -KILL $! 2>/dev/null
  wait $! 2>/dev/null
}
# replaced NAME TIMES OLD-OPTIONS NEW-OPTIONS COMMAND...: always one whole result, the old one or the new one.
replaced() {
  local name=$1 times=$2 with_old with_new out=$bench/kill/out seen_old=0 seen_new=0 old new now whole i
  read -ra with_old <<<"$3"
  read -ra with_new <<<"$4"
  shift 4
  "$@" "${with_new[@]}" --overwrite -o "$out" >/dev/null 2>&1
  new=$(sums "$out")
  whole=$(ms "$@" "${with_new[@]}" --overwrite -o "$out")
  "$@" "${with_old[@]}" --overwrite -o "$out" >/dev/null 2>&1
  old=$(sums "$out")
  for ((i = 0; i < times; ++i)); do
    kill_at "$whole" "$@" "${with_new[@]}" --overwrite -o "$out"
    now=$(sums "$out")
    if [ -n "$(torn "$out")" ]; then wrong "SIGKILL of $name" "half a result.json"
    elif [ "$now" = "$old" ]; then seen_old=$((seen_old + 1))
    elif [ "$now" = "$new" ]; then
      seen_new=$((seen_new + 1))
      "$@" "${with_old[@]}" --overwrite -o "$out" >/dev/null 2>&1
    else wrong "SIGKILL of $name" "the folder holds neither the old nor the new result"; fi
  done 2>/dev/null
  "$@" "${with_new[@]}" --overwrite -o "$out" >/dev/null 2>&1
  if [ "$(hidden "$bench/kill")" -ne 0 ] || [ "$(sums "$out")" != "$new" ]; then
    wrong "SIGKILL of $name" "the next run did not make all good"
  else row "$times times SIGKILL of $name" "$seen_old times the whole old result, $seen_new times the whole new one; nothing hidden after the next run"; fi
  rm -rf "$bench"/kill/*
}
# resumed NAME TIMES OUTPUT COMMAND...: killed on its way, then once to the end: as if it had never been killed.
resumed() {
  local name=$1 times=$2 out=$3 whole unkilled i
  shift 3
  whole=$(ms "$@")
  unkilled=$(said_of "$out")
  rm -rf "$out"
  for ((i = 0; i < times; ++i)); do kill_at "$whole" "$@"; done 2>/dev/null
  if ! "$@" >/dev/null 2>&1 || [ "$(said_of "$out")" != "$unkilled" ]; then wrong "SIGKILL of $name" "other than without a kill"
  elif [ -n "$(find "$bench/kill" "$bench/lasts" -name '.lastroom-*')" ]; then wrong "SIGKILL of $name" "something hidden is left"
  else row "$times times SIGKILL of $name" "then to its end: as without a kill, nothing hidden"; fi
  rm -rf "$bench"/kill/* "$out"
}
said_of() { if [ -d "$1" ]; then sums "$1"; else "$program" shelf verify "$bench/lasts" --index "$1" --quiet; fi; }

tenth=$((kills / 10))
replaced check $((kills - 7 * tenth)) "--client old" "--client new" "${check[@]}"
replaced "check of both feet" "$tenth" "--client old" "--client new" "$program" check --quiet --date 2026-01-02 \
  --left "$bench/demo/brandt_left.ply" "$bench/demo/last_left_with_bunion.stl" --right "$scan" "$last"
replaced measure "$tenth" "--language de" "--language en" "$program" measure "$scan" --as foot --quiet --date 2026-01-02
replaced screen "$tenth" "--client old" "--client new" "$program" screen "$scan" --shelf "$bench/lasts" --quiet --date 2026-01-02
"${check[@]}" -o "$bench/a" >/dev/null 2>&1
"${check[@]}" --sock 2 -o "$bench/b" >/dev/null 2>&1
replaced compare "$tenth" "--language de" "--language en" "$program" compare "$bench/a" "$bench/b" --date 2026-01-02
replaced demo "$tenth" "" "" "$program" demo --quiet
resumed batch "$tenth" "$bench/kill/out" "$program" batch "$bench/jobs.csv" --quiet -o "$bench/kill/out"
resumed "shelf add" "$tenth" "$bench/kill.index" "$program" shelf add "$bench/lasts" --index "$bench/kill.index" --quiet

exit "$failed"
