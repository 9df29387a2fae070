#!/bin/sh
# SPDX-License-Identifier: ISC
# Sequence folders on real volumes: what has links, what has none, what is full; and runs that are killed.
set -eu
tool=$HEADRACE_BUILD/tests/sequence/fill_tool
. "$HEADRACE_SOURCE/tests/support/tap.sh"
. "$HEADRACE_SOURCE/tests/support/able.sh"
. "$HEADRACE_SOURCE/tests/support/media.sh"
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-fill.XXXXXX")
volumes=$scratch/volumes
bag=20260523-151200_NMERE_A
plays='1:3:0 11:2:9000'

# A place with a bag of both plays.
deliver() {
	mkdir -p "$1/Cup final/$bag/data"
	"$tool" card "$1/Cup final/$bag/data" $plays
	sequences="$1/Cup final/sequences"
}

fill() {
	"$tool" fill "$1" "$2" "$bag" $plays
}

# Each file in the folders is right, whatever came of the run.
expect_right_files() {
	find "$sequences" -name '0*' -type f | while read -r file; do
		[ "$(cat "$file")" = "DCIM/100NMERE/${file##*/000?_}" ]
	done
}

expect_full_folders() {
	expect_right_files
	[ "$(ls "$sequences" | tr '\n' ' ')" = "20260523-143000_A_3f 20260523-143009_A_2f files.csv sequences.csv " ]
	[ "$(find "$sequences" -name '0*' | wc -l)" = 10 ]
	[ -z "$(find "$sequences" -name '.*')" ]
}

links_take_no_room() {
	media_begin "$volumes"
	media_ext4 ssd 64
	deliver "$volumes/ssd"
	fill default "$volumes/ssd" >"$scratch/said"
	expect_full_folders
	[ "$(stat -c %h "$sequences/20260523-143000_A_3f/0001_NMA_0001.JPG")" = 2 ]
	[ "$(head -n 1 "$scratch/said")" = "link: " ]
}

an_exfat_drive_is_listed_and_the_other_ways_are_named() {
	media_begin "$volumes"
	media_exfat drive 64
	deliver "$volumes/drive"
	fill default "$volumes/drive" >"$scratch/said"
	grep -q '^list: this drive has no hard links.*by copy.*by move' "$scratch/said"
	[ "$(grep -c '^- 0 new' "$scratch/said")" = 2 ]
	[ "$(ls -A "$sequences" | tr '\n' ' ')" = "files.csv sequences.csv " ]
	[ "$(wc -l <"$sequences/files.csv")" = 11 ]
	tap_fails fill link "$volumes/drive" >"$scratch/said"
	grep -q '^- 0 new, 0 there, 0 failed: this drive has no hard links: fill by copy, or by move' "$scratch/said"
	tap_fails fill reflink "$volumes/drive" >"$scratch/said"
	grep -q '0 new, 0 there, 6 failed: this drive has no reflinks' "$scratch/said"
	fill copy "$volumes/drive"
	expect_full_folders
}

reflinks_share_their_blocks_where_there_are_some() {
	media_begin "$volumes"
	media_prepare pool 256 ext4
	mkfs.btrfs -q "$(media_loop pool)"
	mount -t btrfs "$(media_loop pool)" "$volumes/pool"
	deliver "$volumes/pool"
	# POSIX alone knows no reflinks.
	if ! able volumes; then
		tap_fails fill reflink "$volumes/pool" >"$scratch/said"
		grep -q 'this drive has no reflinks' "$scratch/said"
		return
	fi
	# Small files stand in the tree of btrfs itself: one that has blocks of its own.
	head -c 8000000 /dev/urandom >"$volumes/pool/Cup final/$bag/data/DCIM/100NMERE/NMA_0001.JPG"
	sync -f "$volumes/pool"
	before=$(df --output=used "$volumes/pool" | tail -n 1)
	fill reflink "$volumes/pool"
	sync -f "$volumes/pool"
	file=$sequences/20260523-143000_A_3f/0001_NMA_0001.JPG
	cmp "$file" "$volumes/pool/Cup final/$bag/data/DCIM/100NMERE/NMA_0001.JPG"
	[ "$(stat -c %h "$file")" = 1 ]
	[ "$(btrfs filesystem du --raw "$file" | awk 'END { print $2 }')" = 0 ]
	[ "$(df --output=used "$volumes/pool" | tail -n 1)" -lt $((before + 1000)) ]
}

a_full_drive_is_said_and_what_came_is_right() {
	media_begin "$volumes"
	media_ext4 ssd 8 64
	deliver "$volumes/ssd"
	# No inodes left but a few: the folders come, some files do not.
	number=0
	while [ "$(df --output=iavail "$volumes/ssd" | tail -n 1)" -gt 6 ]; do
		number=$((number + 1))
		: >"$volumes/ssd/filler-$number"
	done
	tap_fails fill copy "$volumes/ssd" >"$scratch/said"
	grep -q 'No space left on device' "$scratch/said"
	expect_right_files
	rm -f "$volumes/ssd"/filler-*
	fill copy "$volumes/ssd"
	expect_full_folders
}

# at CALL NUMBER WAY: fills under strace, which kills it at the NUMBER-th such call. Leak checking needs ptrace for itself.
at() {
	ASAN_OPTIONS=detect_leaks=0 strace -qq -f -o /dev/null -e trace="$1" -e inject="$1:signal=KILL:when=$2" \
		"$tool" fill "$3" "$scratch/place" "$bag" $plays
}

# Killed at the first call, the second ... until it gets through; the next run, with one more play, keeps the names.
killed_at_every() {
	moments=0
	for number in $(seq 1 200); do
		rm -rf "$scratch/place"
		deliver "$scratch/place"
		if at "$1" "$number" "$2" >"$scratch/said" 2>&1; then break; fi
		moments=$number
		expect_right_files
		fill "$2" "$scratch/place"
		expect_full_folders
		fill "$2" "$scratch/place" >"$scratch/said"
		grep -q '^20260523-143000_A_3f 0 new, 6 there, 0 failed$' "$scratch/said"
	done
	[ "$moments" -ge "$3" ]
}

# Two folders, ten files, two tables of the index written twice.
killed_at_a_link_the_next_run_goes_on() { killed_at_every linkat link 10; }
killed_at_a_rename_the_next_run_goes_on() { killed_at_every renameat2,renameat,linkat copy 10; }
killed_at_an_index_the_next_run_goes_on() { killed_at_every renameat2,renameat link 4; }
killed_at_a_write_the_next_run_goes_on() { killed_at_every pwrite64 copy 14; }
killed_at_a_sync_the_next_run_goes_on() { killed_at_every fsync copy 14; }
killed_at_a_folder_the_next_run_goes_on() { killed_at_every mkdirat copy 3; }

tap_if "" links_take_no_room a_full_drive_is_said_and_what_came_is_right
tap_if exfat an_exfat_drive_is_listed_and_the_other_ways_are_named
tap_if btrfs reflinks_share_their_blocks_where_there_are_some
tap killed_at_a_link_the_next_run_goes_on
tap killed_at_a_rename_the_next_run_goes_on
tap killed_at_an_index_the_next_run_goes_on
tap killed_at_a_write_the_next_run_goes_on
tap killed_at_a_sync_the_next_run_goes_on
tap killed_at_a_folder_the_next_run_goes_on
rm -rf "$scratch"
tap_done
