#!/bin/sh
# SPDX-License-Identifier: ISC
# Files leave a bag, and that is killed, or refused by the system, at each of its renames, syncs, writes and removals. No byte
# may be lost at any moment, a bag that calls itself valid must be, and the next run must end what was begun.
set -eu
tool=$HEADRACE_BUILD/tests/bag/bag_tool
. "$HEADRACE_SOURCE/tests/support/tap.sh"
. "$HEADRACE_SOURCE/tests/support/able.sh"
scratch=$(mktemp -d "$HEADRACE_BUILD/give-up-XXXXXX")
trap 'rm -rf "$scratch"' EXIT

mkdir -p "$scratch/card/DCIM/100NORTH"
for name in A0001.JPG A0001.DNG A0002.JPG 'A0003, "push-back".JPG'; do
	echo "$name" >"$scratch/card/DCIM/100NORTH/NM_$name"
done

new_bag() {
	rm -rf "$scratch/place"
	mkdir "$scratch/place"
	bag=$("$tool" make "$scratch/place" "$scratch/card" sha256)
	play=${bag%/*}/sequences/play
}

give_up() {
	"$tool" give-up "$bag" sequences/play DCIM/100NORTH/NM_A0001.JPG DCIM/100NORTH/NM_A0001.DNG \
		'DCIM/100NORTH/NM_A0003, "push-back".JPG'
}

# give_up under strace, which does WHAT at the NUMBER-th CALL. Leak checking needs ptrace for itself.
at() {
	ASAN_OPTIONS=detect_leaks=0 strace -qq -f -o /dev/null -e trace="$1" -e inject="$1:$2:when=$3" \
		"$tool" give-up "$bag" sequences/play DCIM/100NORTH/NM_A0001.JPG DCIM/100NORTH/NM_A0001.DNG \
		'DCIM/100NORTH/NM_A0003, "push-back".JPG'
}

# A build that does not know how names are kept here lets a file go once its copy is proven: it may stand twice then.
twice=
able volumes || twice=-u

every_file_stands_once_and_right() {
	find "$bag/data" "$play" -name 'NM_*' 2>/dev/null | while read -r file; do
		[ "NM_$(cat "$file")" = "${file##*/}" ] && echo "${file##*/}"
	done >"$scratch/standing"
	sort $twice "$scratch/standing" | diff - "$scratch/all"
}
ls "$scratch/card/DCIM/100NORTH" | sort >"$scratch/all"

# By others' eyes too.
expect_three_have_left() {
	[ "$("$tool" verify "$bag")" = valid ]
	(cd "$bag" && sha256sum -c --quiet manifest-sha256.txt && xxhsum -c --quiet manifest-xxh128.txt)
	sh "$HEADRACE_SOURCE/tests/bag/second_reading.sh" "$bag"
	[ "$(cd "$bag/data" && find . -type f)" = ./DCIM/100NORTH/NM_A0002.JPG ]
	[ "$(wc -l <"$play/manifest-sha256.txt")" = 3 ]
	(cd "$play" && sha256sum -c --quiet manifest-sha256.txt && xxhsum -c --quiet manifest-xxh128.txt)
	[ "$(find "$bag" "$play" -name '.*' | wc -l)" = 0 ]
}

# At the first call, the second ... until the program gets through; `moments` says how many there were.
at_every() {
	moments=0
	for number in $(seq 1 200); do
		new_bag
		if at "$1" "$2" "$number" >"$scratch/said" 2>&1; then break; fi
		moments=$number
		every_file_stands_once_and_right
		# A bag whose files are under way is not called valid, and it is said why.
		if [ "$(find "$bag/data" -type f | wc -l)" != "$(wc -l <"$bag/manifest-sha256.txt")" ]; then
			tap_fails "$tool" verify "$bag" >"$scratch/said"
			grep -q 'fill them by move again' "$scratch/said"
		fi
		give_up
		expect_three_have_left
	done
	give_up
	expect_three_have_left
	[ "$moments" -ge "$3" ]
}

others_accept_the_bag_and_what_left_it() {
	new_bag
	give_up
	expect_three_have_left
	grep -qx 'Payload-Oxum: 10.1' "$bag/bag-info.txt"
	grep -qx 'External-Identifier: uuid:1B2C-3D4E' "$bag/bag-info.txt"
	give_up
	expect_three_have_left
}

# Nothing has left a bag whose new tag files found no room.
without_room_nothing_leaves() {
	new_bag
	find "$bag" -type f -exec sha256sum {} + | sort >"$scratch/before"
	tap_fails at pwrite64 error=ENOSPC 2
	find "$bag" -type f -exec sha256sum {} + | sort | diff - "$scratch/before"
	[ "$("$tool" verify "$bag")" = valid ]
}

# Three files, five tag files written and then put in place, the record, two manifests beside.
killed_at_a_rename_the_next_run_ends_it() { at_every renameat,renameat2 signal=KILL 13; }
killed_at_a_sync_the_next_run_ends_it() { at_every fsync signal=KILL 16; }
killed_at_a_write_the_next_run_ends_it() { at_every pwrite64 signal=KILL 8; }
killed_at_a_removal_the_next_run_ends_it() { at_every unlinkat signal=KILL 1; }
killed_at_a_folder_the_next_run_ends_it() { at_every mkdirat signal=KILL 2; }
refused_a_rename_the_next_run_ends_it() { at_every renameat,renameat2 error=EIO 13; }
refused_a_sync_the_next_run_ends_it() { at_every fsync error=EIO 16; }
refused_room_the_next_run_ends_it() { at_every pwrite64 error=ENOSPC 8; }

tap others_accept_the_bag_and_what_left_it
tap without_room_nothing_leaves
tap killed_at_a_rename_the_next_run_ends_it
tap killed_at_a_sync_the_next_run_ends_it
tap killed_at_a_write_the_next_run_ends_it
tap killed_at_a_removal_the_next_run_ends_it
tap killed_at_a_folder_the_next_run_ends_it
tap refused_a_rename_the_next_run_ends_it
tap refused_a_sync_the_next_run_ends_it
tap refused_room_the_next_run_ends_it
tap_done
