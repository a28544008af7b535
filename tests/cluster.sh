#!/usr/bin/env bash
# cluster.sh PROGRAM SHELF_FILES: `lastroom batch` as an array job of a real Slurm. Installs Debian's slurm-wlm and munge
# where they are missing (as root or with sudo), starts one node of them in a folder of its own, submits the list in four
# parts, kills one half-way, submits again, and holds the bytes against a run without Slurm. Takes about a minute.
set -euo pipefail
. "$(dirname "$0")/../fixtures/setup.sh"
if [ $# -ne 2 ]; then
  echo "usage: cluster.sh PROGRAM SHELF_FILES" >&2
  exit 2
fi
program=$(realpath "$1")
maker=$(realpath "$2")
need slurm-wlm munge
export PATH=$PATH:/usr/sbin
bench=$(mktemp -d)
daemons=()
finish() {
  for process in "${daemons[@]}"; do kill "$process" 2>/dev/null || true; done
  wait 2>/dev/null || true
  rm -rf "$bench"
}
trap finish EXIT
fail() { echo "cluster: $1" >&2; tail -n 5 "$bench"/*.log >&2 || true; exit 1; }

# One node that is also the controller. munged wants its folder closed to others.
chmod 755 "$bench"
mkdir -m 700 "$bench/munge"
mkdir "$bench/run" "$bench/state" "$bench/spool"
chmod 755 "$bench/run"
dd if=/dev/urandom of="$bench/munge/key" bs=1024 count=1 status=none
chmod 400 "$bench/munge/key"
munged --foreground --force --key-file "$bench/munge/key" --seed-file "$bench/munge/seed" --pid-file "$bench/munge/pid" \
  --log-file "$bench/munge/log" --socket "$bench/run/munge.socket" 2>"$bench/munged.log" &
daemons+=($!)
node=$(hostname -s)
port=$((20000 + RANDOM % 20000))
cat >"$bench/slurm.conf" <<CONF
ClusterName=lastroom
SlurmctldHost=$node(127.0.0.1)
SlurmUser=$(id -un)
SlurmdUser=$(id -un)
SlurmctldPort=$port
SlurmdPort=$((port + 1))
AuthType=auth/munge
AuthInfo=socket=$bench/run/munge.socket
CredType=cred/munge
StateSaveLocation=$bench/state
SlurmdSpoolDir=$bench/spool
SlurmctldPidFile=$bench/run/slurmctld.pid
SlurmdPidFile=$bench/run/slurmd.pid
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
SelectType=select/cons_tres
SelectTypeParameters=CR_Core
ReturnToService=2
MpiDefault=none
AccountingStorageType=accounting_storage/none
JobAcctGatherType=jobacct_gather/none
SchedulerParameters=sched_interval=1,batch_sched_delay=0
KillWait=2
NodeName=$node NodeAddr=127.0.0.1 CPUs=$(nproc) RealMemory=1000 State=UNKNOWN
PartitionName=all Nodes=ALL Default=YES MaxTime=INFINITE State=UP
CONF
export SLURM_CONF=$bench/slurm.conf
for ((i = 0; i < 50; ++i)); do [ -S "$bench/run/munge.socket" ] && break; sleep 0.1; done
slurmctld -D >"$bench/slurmctld.log" 2>&1 &
daemons+=($!)
slurmd -D >"$bench/slurmd.log" 2>&1 &
daemons+=($!)
for ((i = 0; i < 150; ++i)); do sinfo -h -o %T 2>/dev/null | grep -q idle && break; sleep 0.2; done
sinfo -h -o %T 2>/dev/null | grep -q idle || fail "no node of Slurm came up"

# Twelve jobs: a foot in single lasts and on the shelf, for different wearers.
"$maker" 10 3 5 "$bench"
{
  echo "scan,last,shelf,side,wearer,client"
  for last in $(cd "$bench" && find lasts -name '*.stl' | LC_ALL=C sort | head -n 9); do echo "client.ply,$last,,,,"; done
  echo 'client.ply,,lasts,right,standard,"Brandt, E."'
  echo 'client.ply,,lasts,right,at-risk,"Brandt, E."'
  echo 'client.ply,nowhere.stl,,,,'
} >"$bench/jobs.csv"
batch=("$program" batch "$bench/jobs.csv" --date 2026-01-02 --index "$bench/index.sqlite" --quiet)
"${batch[@]}" -o "$bench/alone" >/dev/null 2>"$bench/alone.log" && fail "a job with a missing last did not fail"
grep -q '1 of 12 jobs could not be done' "$bench/alone.log" || fail "$(cat "$bench/alone.log")"
rm "$bench/index.sqlite"

submit() {
  sbatch --parsable --array=1-4 --output="$bench/job-%a.log" --wrap \
    "$(printf '%q ' "${batch[@]}") -o $(printf '%q' "$bench/out") --shard \$SLURM_ARRAY_TASK_ID/4"
}
await() { while [ -n "$(squeue -h -j "$1" 2>/dev/null)" ]; do sleep 0.3; done; }
# The second part is killed as soon as its first job is done and the others are not.
array=$(submit)
for ((i = 0; i < 600; ++i)); do
  [ -e "$bench/out/jobs/0002/job.json" ] && [ ! -e "$bench/out/jobs/0010/job.json" ] && scancel --signal=KILL --full "${array}_2" && break
  [ -e "$bench/out/jobs/0010/job.json" ] && break
  sleep 0.02
done
await "$array"
killed=$([ -e "$bench/out/jobs/0010/job.json" ] && echo "too late to be killed" || echo "killed half-way")
await "$(submit)"
await "$(submit)"  # and once more: nothing is left to do
sums() { (cd "$1" && find . -type f ! -name '.*' | LC_ALL=C sort | xargs sha256sum); }
sums "$bench/alone" >"$bench/alone.sums"
sums "$bench/out" >"$bench/out.sums"
cmp -s "$bench/alone.sums" "$bench/out.sums" || { diff "$bench/alone.sums" "$bench/out.sums" >&2 || true; fail "other bytes than without Slurm"; }
[ -z "$(find "$bench/out" -name '*.unfinished' -o -name '.lastroom-*')" ] || fail "something unfinished was left"
echo "cluster: 12 jobs in 4 parts by Slurm $(sinfo --version | cut -d' ' -f2), part 2 $killed, finished on resubmission: $(wc -l <"$bench/out.sums") files with the bytes of a run without Slurm"
