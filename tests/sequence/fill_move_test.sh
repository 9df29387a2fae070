#!/bin/sh
# SPDX-License-Identifier: ISC
# Sequence folders that frames are moved into, out of real bags: on exFAT, and killed at every step.
set -eu
tool=$HEADRACE_BUILD/tests/sequence/fill_tool
bag_tool=$HEADRACE_BUILD/tests/bag/bag_tool
. "$HEADRACE_SOURCE/tests/support/tap.sh"
. "$HEADRACE_SOURCE/tests/support/media.sh"
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-move.XXXXXX")
plays='1:3:0 11:2:9000'

mkdir "$scratch/card"
"$tool" card "$scratch/card" $plays 21:1:20000
printf 'colours of the cup final' >"$scratch/card/NOTES.TXT"

# A bag of both plays, a single frame and a note, in place $1.
deliver() {
	place=$1
	mkdir -p "$place"
	bag=$("$bag_tool" make "$place" "$scratch/card" sha256)
	sequences="${bag%/*}/sequences"
}

fill() {
	"$tool" fill move "$place" "${bag##*/}" $plays
}

# Ten files stand in two folders, the rest in the bag; all proven by others, each by the sums that stand with it.
expect_moved() {
	[ "$("$bag_tool" verify "$bag")" = valid ]
	(cd "$bag" && sha256sum -c --quiet manifest-sha256.txt && xxhsum -c --quiet manifest-xxh128.txt)
	[ "$(find "$bag/data" -type f | wc -l)" = 3 ]
	for play in 20260523-143000_A_3f 20260523-143009_A_2f; do
		(cd "$sequences/$play" && sha256sum -c --quiet manifest-sha256.txt && xxhsum -c --quiet manifest-xxh128.txt)
	done
	[ "$(cat "$sequences"/2026*/manifest-sha256.txt | wc -l)" = 10 ]
	[ "$(find "$sequences" -name '0*' | wc -l)" = 10 ]
	[ "$(grep -c ',move$' "$sequences/files.csv")" = 10 ]
	[ -z "$(find "$bag" "$sequences" -name '.*')" ]
}

each_frame_stands_once_and_right() {
	find "$bag/data" "$sequences" -name '*NMA_*' -type f 2>/dev/null | while read -r file; do
		name=${file##*/}
		[ "$(cat "$file")" = "DCIM/100NMERE/NMA_${name#*NMA_}" ] && echo "NMA_${name#*NMA_}"
	done | sort | diff - "$scratch/all"
}
ls "$scratch/card/DCIM/100NMERE" | sort >"$scratch/all"

an_exfat_drive_gives_its_frames_to_sequences() {
	media_begin "$scratch/volumes"
	media_exfat drive 64
	deliver "$scratch/volumes/drive"
	used=$(df --output=used "$place" | tail -n 1)
	fill >"$scratch/said"
	expect_moved
	grep -q '^move: 10 files left the bags: on this drive they stand in sequences alone' "$scratch/said"
	[ "$(df --output=used "$place" | tail -n 1)" -lt $((used + 2000)) ]
	fill >"$scratch/said"
	grep -q '^20260523-143000_A_3f 0 new, 6 there, 0 failed$' "$scratch/said"
	expect_moved
}

# at CALL NUMBER: fills under strace, which kills it at the NUMBER-th such call. Leak checking needs ptrace for itself.
at() {
	ASAN_OPTIONS=detect_leaks=0 strace -qq -f -o /dev/null -e trace="$1" -e inject="$1:signal=KILL:when=$2" \
		"$tool" fill move "$place" "${bag##*/}" $plays
}

killed_at_every() {
	moments=0
	for number in $(seq 1 200); do
		rm -rf "$scratch/place"
		deliver "$scratch/place"
		if at "$1" "$number" >"$scratch/said" 2>&1; then break; fi
		moments=$number
		each_frame_stands_once_and_right
		fill
		expect_moved
	done
	[ "$moments" -ge "$2" ]
}

# Ten files, two tables of the index twice, five tag files written and put in place, the record, four manifests.
killed_at_a_rename_the_next_run_ends_it() { killed_at_every renameat,renameat2 14; }
killed_at_a_sync_the_next_run_ends_it() { killed_at_every fsync 24; }

a_bag_that_is_not_as_it_says_gives_nothing() {
	rm -rf "$scratch/place"
	deliver "$scratch/place"
	echo more >>"$bag/files.csv"
	tap_fails fill >"$scratch/said"
	grep -q '^- 0 new, 0 there, 6 failed: nothing leaves a bag that is not as it must be: files.csv' "$scratch/said"
	each_frame_stands_once_and_right
}

frames_outside_of_bags_stay_where_they_are() {
	place=$scratch/plain
	bag="$place/Cup final/later"
	mkdir -p "$bag"
	cp -r "$scratch/card" "$bag/data"
	tap_fails fill >"$scratch/said"
	grep -q '^- 0 new, 0 there, 6 failed: no bag' "$scratch/said"
	[ "$(find "$bag/data" -type f | wc -l)" = 13 ]
}

tap_if exfat an_exfat_drive_gives_its_frames_to_sequences
tap killed_at_a_rename_the_next_run_ends_it
tap killed_at_a_sync_the_next_run_ends_it
tap a_bag_that_is_not_as_it_says_gives_nothing
tap frames_outside_of_bags_stay_where_they_are
rm -rf "$scratch"
tap_done
