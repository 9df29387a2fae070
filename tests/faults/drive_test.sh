#!/bin/sh
# SPDX-License-Identifier: ISC
# A drive that lies below its file system, where nothing above it can see: a bit changes on the way to the medium, or on the way back. The
# drive is a file on a volume that does harm, under a loop device with an ext4 of its own, so that copies there can be proven.
set -eu
. "$HEADRACE_SOURCE/tests/faults/ground.sh"

# drive_does RULE...: `two` is on a drive that does this harm.
drive_does() {
	media_begin "$scratch"
	ground_folder
	frames card.real
	for number in 0007 0012; do
		printf 'the push-back, %s' "$number" | dd of="card.real/DCIM/100NMERE/NMA_$number.JPG" bs=1 seek=50000 conv=notrunc status=none
	done
	cp -R card.real card
	media_ext4 one 60
	faulty_mount two.medium "$@"
	truncate -s 60000000 two.medium.real/IMAGE
	media_ext4 two 60
}

# caught FRAME: that copy was found to differ and is kept aside, and another took its place.
caught() {
	grep "NMA_$1.JPG.part: reads back different from the card" complaints
	[ "$(find two -path "*.aside/*NMA_$1*" -type f | wc -l)" = 1 ]
	[ "$(find two -path '*.aside/*' -type f | wc -l)" = 1 ]
	for place in one two; do
		holds_all_but $place
		has_right_bags $place
	done
	verdict 'SAFE to format: all 12 files stand proven on 2 drives'
}

a_bit_of_a_small_file_that_changes_on_its_way_to_the_medium_is_caught() {
	drive_does 'write flip holds=push-back,%200007 once'
	run 0
	[ "$(faulty_count two.medium 'write flip')" = 1 ]
	caught 0007
}

a_bit_of_a_large_file_that_changes_on_its_way_to_the_medium_is_caught() {
	drive_does 'write flip holds=push-back,%200012 once'
	run 0
	[ "$(faulty_count two.medium 'write flip')" = 1 ]
	caught 0012
}

a_bit_that_changes_on_its_way_back_is_caught() {
	drive_does 'read flip holds=push-back,%200007 once'
	run 0
	[ "$(faulty_count two.medium 'read flip')" = 1 ]
	caught 0007
}

# The same write is lost each time, and with it whatever goes to the medium in the same one.
what_a_drive_never_writes_gets_no_name() {
	drive_does 'write lost holds=push-back,%200007'
	run 1
	[ "$(faulty_count two.medium 'write lost')" = 3 ]
	[ "$(grep -c 'NMA_0007.JPG.*reads back different from the card' complaints)" = 3 ]
	holds_all_but one
	names_nothing_wrong two
	tap_fails grep NMA_0007 named
	verdict 'NOT SAFE to format'
	tap_fails "$headrace" safe card >said 2>&1
	grep "NOT SAFE" said
}

cases_of a_bit_of_a_small_file_that_changes_on_its_way_to_the_medium_is_caught \
	a_bit_of_a_large_file_that_changes_on_its_way_to_the_medium_is_caught a_bit_that_changes_on_its_way_back_is_caught \
	what_a_drive_never_writes_gets_no_name
