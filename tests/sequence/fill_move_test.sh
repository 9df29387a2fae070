#!/bin/sh
# SPDX-License-Identifier: ISC
# Sequence folders that frames are moved into, out of real bags: on exFAT, where they go by way of a copy; on a drive that writes them
# wrong or is full; and killed at every step.
set -eu
tool=$HEADRACE_BUILD/tests/sequence/fill_tool
bag_tool=$HEADRACE_BUILD/tests/bag/bag_tool
. "$HEADRACE_SOURCE/tests/support/tap.sh"
. "$HEADRACE_SOURCE/tests/support/able.sh"
. "$HEADRACE_SOURCE/tests/support/media.sh"
. "$HEADRACE_SOURCE/tests/support/faulty_mount.sh"
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

# Each frame once, or by way of a copy in both places for a moment: then with `-u`.
each_frame_stands_right() {
	find "$bag/data" "$sequences" -name '*NMA_*' -type f 2>/dev/null | while read -r file; do
		name=${file##*/}
		[ "$(cat "$file")" = "DCIM/100NMERE/NMA_${name#*NMA_}" ] && echo "NMA_${name#*NMA_}"
	done | sort "$@" | diff - "$scratch/all"
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

# at CALL NUMBER: fills under strace, which does $harm to it at the NUMBER-th such call. Leak checking needs ptrace for itself.
harm=signal=KILL
at() {
	ASAN_OPTIONS=detect_leaks=0 strace -qq -f -o /dev/null -e trace="$1" -e inject="$1:$harm:when=$2" \
		"$tool" fill move "$place" "${bag##*/}" $plays
}

anew() {
	rm -rf "$scratch/place"/*
	deliver "$scratch/place"
}

# harmed_at_every CALL AT-LEAST [-u]
harmed_at_every() {
	call=$1 least=$2
	shift 2
	moments=0
	for number in $(seq 1 200); do
		anew
		if at "$call" "$number" >"$scratch/said" 2>&1; then break; fi
		moments=$number
		each_frame_stands_right "$@"
		fill
		expect_moved
	done
	[ "$moments" -ge "$least" ]
}

# Ten files, two tables of the index twice, five tag files written and put in place, the record, four manifests.
# A build that does not know how names are kept here moves by way of copies everywhere.
twice=
able volumes || twice=-u
killed_at_a_rename_the_next_run_ends_it() { harmed_at_every renameat,renameat2 14 $twice; }
killed_at_a_sync_the_next_run_ends_it() { harmed_at_every fsync 24 $twice; }

# Also the steps of each file by way of a copy: no file is without a right copy at any of them.
killed_where_a_rename_may_be_torn_the_next_run_ends_it() {
	faulty_begin "$scratch"
	trap faulty_end EXIT
	faulty_mount place
	harmed_at_every renameat,renameat2 14 -u
	harmed_at_every fsync 44 -u
	harmed_at_every unlinkat 11 -u
}

refused_a_sync_where_a_rename_may_be_torn_the_next_run_ends_it() {
	harm=error=EIO
	faulty_begin "$scratch"
	trap faulty_end EXIT
	faulty_mount place
	harmed_at_every fsync 16 -u
}

# stays NAME WHY: a copy that does not become right, or does not fit, is taken away again, and the file stays in its bag.
stays() {
	tap_fails fill >"$scratch/said"
	grep "1 failed: $2 .*$1" "$scratch/said"
	[ "$(find "$sequences" -name "*$1*" | wc -l)" = 0 ]
	[ -z "$(find "$bag" "$sequences" -name '.*')" ]
	[ "$("$bag_tool" verify "$bag")" = valid ]
	each_frame_stands_right
	faulty_rules place
	fill
	expect_moved
}

a_copy_that_does_not_become_right_leaves_the_file_where_it_is() {
	faulty_begin "$scratch"
	trap faulty_end EXIT
	faulty_mount place 'write flip path=*.0002_NMA_0002.JPG.part'
	anew
	stays NMA_0002.JPG differs
	faulty_rules place 'write ENOSPC path=*.0002_NMA_0002.JPG.part'
	anew
	stays NMA_0002.JPG full
}

a_bag_that_is_not_as_it_says_gives_nothing() {
	anew
	echo more >>"$bag/files.csv"
	tap_fails fill >"$scratch/said"
	grep -q '^- 0 new, 0 there, 6 failed: nothing leaves a bag that is not as it must be: files.csv' "$scratch/said"
	each_frame_stands_right
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
tap_if exfat killed_where_a_rename_may_be_torn_the_next_run_ends_it
tap_if exfat refused_a_sync_where_a_rename_may_be_torn_the_next_run_ends_it
tap_if exfat a_copy_that_does_not_become_right_leaves_the_file_where_it_is
tap a_bag_that_is_not_as_it_says_gives_nothing
tap frames_outside_of_bags_stay_where_they_are
rm -rf "$scratch"
tap_done
