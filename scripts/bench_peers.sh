#!/usr/bin/env bash
# Time of `sprigcast measure` against a short OpenCV script on the same photos, in one run on this machine.
#
# usage: scripts/bench_peers.sh PEER.py [N_PHOTOS] [WIDTH]
#   PEER.py  prints percent green of every photo in a folder: PEER.py FOLDER [--workers N]
#   FEATURES=turbo measures the build with libjpeg-turbo
# needs: python3 with numpy and opencv-python-headless
set -euo pipefail
cd "$(dirname "$0")/.."
peer=${1:-}
n_photos=${2:-16}
width=${3:-4032}
if [ -z "$peer" ] || [ ! -f "$peer" ]; then
  echo "no peer script at '${peer}': name one as the first argument; nothing was measured" >&2
  exit 77
fi
features=${FEATURES:-}
cargo build --release --quiet --examples
cargo build --release --quiet --features "$features"
target=${CARGO_TARGET_DIR:-target}
season=$(mktemp -d)
trap 'rm -rf "$season"' EXIT
"$target/release/examples/render-season" --big "$season" --photos "$n_photos" --width "$width"

# prints the median wall time of three runs, in seconds
seconds() {
  for _ in 1 2 3; do
    rm -rf "$season/ledger.gpkg" "$season/out"
    python3 - "$@" <<'PYTHON'
import subprocess, sys, time
start = time.perf_counter()
code = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode
if code not in (0, 3):
    sys.exit(f"{sys.argv[1]} ended with {code}")
print(time.perf_counter() - start)
PYTHON
  done | sort -n | sed -n 2p
}

find "$season/photos" -type f -exec cat {} + >/dev/null # into the page cache
ours=$(seconds "$target/release/sprigcast" measure "$season")
for workers in 1 2; do
  theirs=$(seconds python3 "$peer" "$season/photos" --workers "$workers")
  python3 -c "print(f'$n_photos photos: sprigcast on all cores {$ours:.2f} s, peer with $workers workers {$theirs:.2f} s, ratio {$ours / $theirs:.2f}')"
done
