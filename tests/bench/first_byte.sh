#!/bin/sh
# SPDX-License-Identifier: ISC
# How long from the start of offload to the first byte of a picture in a place? An exFAT card (through FUSE, as a loop device) with 10,000
# small files, two ext4 drives, nothing throttled, nothing in memory: the worst that a full card does before anything moves. Prints
# milliseconds, the median of the runs, for each way of asking. Needs root.
#   first_byte.sh [--runs N] [--files N]      N thousands of files (10000)
set -eu
source=$(cd "$(dirname "$0")/../.." && pwd)
. "$source/tests/support/media.sh"
. "$source/tests/bench/measure.sh"
headrace=${HEADRACE:-$source/build/release/src/cli/headrace}
runs=5 files=10000
while [ $# -gt 1 ]; do
	case $1 in
	--runs) runs=$2 ;;
	--files) files=$2 ;;
	*) break ;;
	esac
	shift 2
done
if [ $# -gt 0 ]; then
	echo "usage: first_byte.sh [--runs N] [--files N]" >&2
	exit 2
fi
reason=$(media_can exfat) || {
	echo "cannot measure here: $reason" >&2
	exit 1
}
media_begin "${TMPDIR:-/var/tmp}/headrace-first-byte"
cd "$media_folder"

# A thousand files a folder.
fill_card() {
	media_exfat card $((files * 70 / 1000 + 50)) NORTHMERE_A
	openssl enc -aes-128-ctr -pass pass:northmere -nosalt -in /dev/zero 2>/dev/null | (
		for number in $(seq 100 $((99 + files / 1000))); do
			mkdir -p "card/DCIM/${number}NMERE"
			head -c 61441000 | split -b 61441 -a 5 --numeric-suffixes=$(((number - 100) * 1000 + 1)) --additional-suffix=.JPG - "card/DCIM/${number}NMERE/NMA_"
		done
	)
}

cold() {
	media_unmount card
	forget
	media_mount card
}

has_byte() {
	[ -n "$(find ssd backup -path '*/data/*' -type f -size +0 -cnewer began -print -quit 2>/dev/null)" ]
}

# milliseconds OPTION...: of one run, which is stopped as soon as the byte is there.
milliseconds() {
	$before
	cold
	touch began
	sleep 0.02 # file times are those of the last tick
	began=$(date +%s%N)
	XDG_STATE_HOME=$media_folder/state "$headrace" offload card --to ssd --to backup --quiet "$@" >/dev/null 2>&1 &
	until has_byte; do :; done
	ended=$(date +%s%N)
	kill -KILL $!
	wait $! || :
	echo $(((ended - began) / 1000000))
}

# What stands before each run.
nothing() {
	rm -rf ssd/* backup/* state
}

# The first half of the card, proven, and the run was killed.
half() {
	nothing
	XDG_STATE_HOME=$media_folder/state "$headrace" offload card --to ssd --to backup --quiet --job bench >/dev/null 2>&1 &
	until [ "$(find ssd -path '*/data/*' -name 'NMA*' | wc -l)" -gt $((files / 2)) ]; do sleep 0.1; done
	kill -KILL $!
	wait $! || :
}

# measure WORDS OPTION...
measure() {
	words=$1
	shift
	for _ in $(seq "$runs"); do milliseconds "$@"; done >figures 2>/dev/null
	printf '%-44s %6s ms\n' "$words" "$(median figures)"
}

fill_card
media_ext4 ssd $((files * 140 / 1000 + 200))
media_ext4 backup $((files * 140 / 1000 + 200))
echo "$files files of 61 kB, cold, to the first byte in a place:"
before=nothing
measure "in capture order, a job named" --job bench
measure "a job by date, newest first" --first newest
measure "best rated first, so each head is read" --first rated
before=half
measure "half of it there from a killed run" --job bench
