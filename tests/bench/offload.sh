#!/bin/sh
# SPDX-License-Identifier: ISC
# This program against the plain way, side by side in one run. The plain way: cp -r to each place, sync, drop caches, xxhsum of the card
# and of each copy, compare. Prints seconds and ratios, and a CSV line each. Needs root and the blkio controller of cgroup v1.
#   offload.sh [--runs N] [--quick]      median of N runs (3); --quick: a tenth of the data
# Cases: (a) everything in memory; (b) card 200 MB/s, places 300 and 150 MB/s, reads and writes each (loop devices throttled).
# Sets: mixed = 400 x 4 MB + 40 x 30 MB; small = 5,000 x 61 kB.
set -eu
source=$(cd "$(dirname "$0")/../.." && pwd)
. "$source/tests/support/media.sh"
headrace=${HEADRACE:-$source/build/release/src/cli/headrace}
runs=3 part=1
while [ $# -gt 0 ]; do
	case $1 in
	--runs)
		runs=$2
		shift
		;;
	--quick) part=10 ;;
	*)
		echo "usage: offload.sh [--runs N] [--quick]" >&2
		exit 2
		;;
	esac
	shift
done
reason=$(media_can throttle) || {
	echo "cannot measure here: $reason" >&2
	exit 1
}
media_begin "${TMPDIR:-/var/tmp}/headrace-bench"

# fill FOLDER SET
fill() {
	mkdir -p "$1/DCIM/100NMERE"
	openssl enc -aes-128-ctr -pass pass:northmere -nosalt -in /dev/zero 2>/dev/null | (
		case $2 in
		mixed)
			for i in $(seq $((400 / part))); do head -c 4000000 >"$1/DCIM/100NMERE/NMA_$(printf %04d "$i").JPG"; done
			for i in $(seq $((40 / part))); do head -c 30000000 >"$1/DCIM/100NMERE/NMA_$(printf %04d $((i + 5000))).DNG"; done
			;;
		small) for i in $(seq $((5000 / part))); do head -c 61441 >"$1/DCIM/100NMERE/NMA_$(printf %04d "$i").JPG"; done ;;
		esac
	)
}

forget() {
	sync
	echo 3 >/proc/sys/vm/drop_caches
}

now() {
	date +%s.%N
}

hashes() {
	(cd "$1" && find . -type f | sort | xargs -d '\n' xxhsum -H2 2>/dev/null)
}

plain() {
	for place in "$2" "$3"; do cp -r "$1/DCIM" "$place/"; done
	sync
	echo 3 >/proc/sys/vm/drop_caches
	hashes "$1/DCIM" >"$media_folder/card.sums"
	for place in "$2" "$3"; do hashes "$place/DCIM" | cmp - "$media_folder/card.sums"; done
}

ours() {
	XDG_STATE_HOME=$media_folder/state "$headrace" offload "$1" --to "$2" --to "$3" --job bench --same-device --quiet >/dev/null
}

# seconds FUNCTION CARD PLACE PLACE
seconds() {
	rm -rf "$3"/* "$4"/* "$media_folder/state"
	forget
	began=$(now)
	"$@"
	awk -v a="$began" -v b="$(now)" 'BEGIN { printf "%.2f\n", b - a }'
}

median() {
	sort -n | awk '{ v[NR] = $1 } END { print v[int((NR + 1) / 2)] }'
}

# measure CASE SET CARD PLACE PLACE
measure() {
	: >"$media_folder/ours"
	: >"$media_folder/plain"
	for _ in $(seq "$runs"); do
		seconds ours "$3" "$4" "$5" >>"$media_folder/ours"
		seconds plain "$3" "$4" "$5" >>"$media_folder/plain"
	done
	a=$(median <"$media_folder/ours") b=$(median <"$media_folder/plain")
	awk -v c="$1" -v s="$2" -v a="$a" -v b="$b" 'BEGIN { printf "%-24s %-6s  ours %7.2f s   plain %7.2f s   %.2f of plain, %.1f times faster\n", c, s, a, b, a / b, b / a }'
	echo "$1,$2,$a,$b" >>"$media_folder/offload.csv"
}

echo "case,set,ours_s,plain_s" >"$media_folder/offload.csv"
for set in mixed small; do
	mkdir -p "$media_folder/memory"
	mount -t tmpfs -o size=12g tmpfs "$media_folder/memory"
	media_at_end "umount '$media_folder/memory' 2>/dev/null"
	mkdir "$media_folder/memory/card" "$media_folder/memory/a" "$media_folder/memory/b"
	fill "$media_folder/memory/card" $set
	measure memory $set "$media_folder/memory/card" "$media_folder/memory/a" "$media_folder/memory/b"
	umount "$media_folder/memory"
done
media_ext4 card $((3600 / part + 200))
media_ext4 fast $((3600 / part + 200))
media_ext4 slow $((3600 / part + 200))
for set in mixed small; do
	media_unthrottle card
	rm -rf "$media_folder/card"/*
	fill "$media_folder/card" $set
	forget
	media_throttle card 200 200
	media_throttle fast 300 300
	media_throttle slow 150 150
	measure "card 200, places 300/150" $set "$media_folder/card" "$media_folder/fast" "$media_folder/slow"
done
mkdir -p "$source/build/bench"
cp "$media_folder/offload.csv" "$source/build/bench/offload.csv"
