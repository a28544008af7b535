#!/usr/bin/env bash
# The packages on a clean Debian 12, made for this from Debian's mirror: package.sh BUILD. As root; some minutes, so it is
# not part of tests/run.sh.
set -euo pipefail
root=$(cd "$(dirname "$0")/.." && pwd)
build=$(realpath "$1")
. "$root/fixtures/setup.sh"
need mmdebstrap dpkg-dev
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
chmod 755 "$work"
wrong() { echo "package.sh: $*" >&2; exit 1; }

(cd "$build" && cpack -B "$work/packages") >"$work/log" 2>&1 || { cat "$work/log" >&2; exit 1; }
scan="$build/demo/brandt_right.ply" last="$build/demo/last_fifth_toe_pressed.stl"
[ -e "$scan" ] || "$build/lastroom" demo --quiet --overwrite -o "$build/demo" >/dev/null
clean="$work/debian"
mmdebstrap --variant=apt bookworm "$clean" "deb http://deb.debian.org/debian bookworm main" >"$work/log" 2>&1 ||
  { tail "$work/log" >&2; exit 7; }  # no mirror, or not root
mkdir "$clean/given"
cp "$work"/packages/*.deb "$scan" "$last" "$clean/given"
within() { chroot "$clean" env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin DEBIAN_FRONTEND=noninteractive "$@"; }
apt() { within apt-get install -y -qq "$@" >"$work/log" 2>&1 || { tail -n 20 "$work/log" >&2; exit 1; }; }
package() { (cd "$work/packages" && echo "/given/$(echo "$1"_*.deb)"); }
within apt-get update -qq

# The program without Open3D: it checks as here, byte for byte, and says what it lacks.
apt --no-install-recommends "$(package lastroom)"
! within dpkg -s libopen3d0.16 >/dev/null 2>&1 || wrong "Open3D was required"
within lastroom check /given/"${scan##*/}" /given/"${last##*/}" --quiet --date 2026-01-01 -o /fitting >/dev/null ||
  wrong "it does not run"
"$build/lastroom" check "$scan" "$last" --quiet --date 2026-01-01 -o "$work/fitting" >/dev/null
cmp "$clean/fitting/report.html" "$work/fitting/report.html" || wrong "another report than here"
echo "no mesh" >"$clean/given/bad.dae"
within lastroom measure /given/bad.dae --as last 2>"$work/said" && wrong "bad.dae was read"
grep -q "install it" "$work/said" || wrong "without Open3D: $(cat "$work/said")"

# With what it recommends apt would bring Open3D; the library builds a stranger's program.
within apt-get install --simulate -qq "$(package lastroom)" "$(package lastroom-open3d)" |
  grep -q "Inst libopen3d0.16" || wrong "Open3D can't be installed beside it"
apt --no-install-recommends "$(package liblastroom-dev)" g++ cmake make
cp -r "$root/tests/install" "$clean/given/client"
within sh -c 'cmake -S /given/client -B /client && cmake --build /client' >"$work/log" 2>&1 || { cat "$work/log" >&2; exit 1; }
within /client/client /given/"${scan##*/}" /given/"${last##*/}" /usr/lib/lastroom >"$work/told" || true
grep -q "^fifth_toe_side pinch" "$work/told" || wrong "the client: $(cat "$work/told")"
apt --no-install-recommends "$(package python3-lastroom)"
within python3 - "/given/${scan##*/}" "/given/${last##*/}" >"$work/told" <<'PYTHON' || wrong "the Python module"
import sys, numpy, lastroom
judged = lastroom.fit(*sys.argv[1:])
assert numpy.isfinite(judged.skin().clearance_mm).any()
print(judged.verdict, *(zone.zone for zone in judged.zones if zone.verdict == "pinch"))
PYTHON
grep -q "^pinch .*fifth_toe_side" "$work/told" || wrong "the Python module: $(cat "$work/told")"
within apt-get remove -y -qq lastroom liblastroom-dev python3-lastroom >"$work/log" 2>&1
[ -z "$(find "$clean/usr" -name '*lastroom*')" ] || wrong "something stayed behind"
echo "installed, run, built upon and removed on a clean Debian 12"
