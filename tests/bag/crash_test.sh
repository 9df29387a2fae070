#!/bin/sh
# SPDX-License-Identifier: ISC
# Finishing is killed, or refused by the system, at each of its renames, syncs, writes, opens and removals; the next run must
# finish the bag, and until it has, no bagit.txt may stand over less than a valid bag.
set -eu
tool=$HEADRACE_BUILD/tests/bag/bag_tool
. "$HEADRACE_SOURCE/tests/support/tap.sh"
scratch=$(mktemp -d "$HEADRACE_BUILD/crash-XXXXXX")
trap 'rm -rf "$scratch"' EXIT

mkdir -p "$scratch/card/DCIM/100NORTH"
echo 'the push-back' >"$scratch/card/DCIM/100NORTH/NM_A0001.JPG"
echo 'raw twin' >"$scratch/card/DCIM/100NORTH/NM_A0001.DNG"

begin_bag() {
	rm -rf "$scratch/place"
	mkdir "$scratch/place"
	bag=$("$tool" begin "$scratch/place" "$scratch/card" sha256)
}

# at CALL WHAT NUMBER: finishes under strace, which does WHAT at the NUMBER-th such call from when the journal is read. Leak
# checking needs ptrace for itself.
at() {
	ASAN_OPTIONS=detect_leaks=0 strace -qq -f -o /dev/null -e trace="$1" -e inject="$1:$2:when=$3" "$tool" finish "$scratch/place"
}

# A bag that calls itself complete is; one that does not is finished by the next run, with nothing of ours left. What may be
# left is a second name of bagit.txt, where the build renames by links.
expect_finished_by_next_run() {
	if [ -e "$bag/bagit.txt" ]; then
		"$tool" verify "$bag" | grep -qx valid
	else
		"$tool" finish "$scratch/place"
	fi
	[ "$("$tool" verify "$bag")" = valid ]
	[ -z "$(find "$bag" -name '.*.part' ! -path "$bag/.bagit.txt.part" -o -name '.*.part' -links 1)" ]
	[ "$(find "$bag/data" -type f | wc -l)" = 2 ]
}

# At the first call, the second ... until the program gets through; `moments` says how many there were.
at_every() {
	moments=0
	for number in $(seq 1 200); do
		begin_bag
		if at "$1" "$2" "$number" 2>"$scratch/said"; then break; fi
		moments=$number
		expect_finished_by_next_run
	done
	"$tool" verify "$bag"
	[ "$moments" -ge "$3" ]
}

# How often each is called at least: eight tag files are renamed, five of them made here. The portable build renames by a second
# name and the removal of the first.
killed_at_a_rename_it_is_finished_by_the_next_run() { at_every renameat2,linkat signal=KILL 8; }
killed_at_a_sync_it_is_finished_by_the_next_run() { at_every fsync signal=KILL 10; }
killed_at_a_write_it_is_finished_by_the_next_run() { at_every pwrite64 signal=KILL 5; }
killed_at_a_removal_it_is_finished_by_the_next_run() { at_every unlinkat signal=KILL 1; }
refused_a_rename_it_is_finished_by_the_next_run() { at_every renameat2,linkat error=EIO 8; }
refused_a_sync_it_is_finished_by_the_next_run() { at_every fsync error=EIO 10; }
refused_room_it_is_finished_by_the_next_run() { at_every pwrite64 error=ENOSPC 5; }

tap killed_at_a_rename_it_is_finished_by_the_next_run
tap killed_at_a_sync_it_is_finished_by_the_next_run
tap killed_at_a_write_it_is_finished_by_the_next_run
tap killed_at_a_removal_it_is_finished_by_the_next_run
tap refused_a_rename_it_is_finished_by_the_next_run
tap refused_a_sync_it_is_finished_by_the_next_run
tap refused_room_it_is_finished_by_the_next_run
tap_done
