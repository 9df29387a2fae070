#!/bin/sh
# SPDX-License-Identifier: ISC
# What happens midway while a card is copied to three places: one is full or takes no more, one or all are pulled out, the card is.
# What can be finished is; what failed, where and what to do next is said; the verdict is right; and when all is well again the same
# command ends the job.
set -eu
. "$HEADRACE_SOURCE/tests/faults/ground.sh"
HEADRACE_MEDIUM=$HEADRACE_BUILD/tests/support/medium

# begin PLACE...: these are sound drives; the others are for the case to make. The card is slow, so that there is a midway.
begin() {
	media_begin "$scratch"
	ground_folder
	media_at_end faulty_end
	mkdir -p one
	for place; do
		media_ext4 $place 60
	done
	frames card.real
	faulty_mount card 'read slow bytes_per_s=1500000'
}

offload() {
	# shellcheck disable=SC2086 # none or one word
	"$headrace" offload card --to one --to two --to three $same_device --job 'Cup final' "$@"
}

has_begun() { [ "$(find one two three -path '*/data/*.JPG' | wc -l)" -ge 9 ]; }

# midway COMMAND: is run while the card is being copied. The status of the offload is 1.
midway() {
	offload >said 2>complaints &
	tap_wait 60 has_begun
	"$@"
	status=0
	wait $! || status=$?
	cat said complaints
	[ "$status" = 1 ]
	grep '^not everything is done: the same command again goes on' said
}

# the_others_are_done REASON: and what is said of the place.
the_others_are_done() {
	[ "$(grep -c '^headrace: place .* FAILED: ' complaints)" = 1 ]
	grep "^headrace: place one FAILED: .*$1" complaints
	grep "^  one  FAILED: .*$1" said
	for place in two three; do
		holds_all_but $place
		has_right_bags $place
	done
	! able medium || grep '^card card: SAFE to format: all 12 files stand proven on 2 drives' said
	expect_safe card
}

the_same_command_ends_it() {
	names_nothing_wrong one
	offload
	for place in one two three; do
		holds_all_but $place
		has_right_bags $place
	done
	expect_safe card
}

mount_memory() {
	mount -t tmpfs -o "size=$1,mode=700" tmpfs one
	media_at_end "umount -l '$scratch/one'"
}

fill_up() { ! dd if=/dev/zero of=one/filler bs=64k status=none; }

a_place_that_is_full_midway_keeps_none_of_the_others() {
	begin two three
	mount_memory 8m
	midway fill_up
	the_others_are_done 'No space left on device'
	rm one/filler
	the_same_command_ends_it
}

a_place_without_inodes_midway_keeps_none_of_the_others() {
	begin two three
	media_ext4 one 20 128
	midway take_inodes
	the_others_are_done 'No space left on device'
	rm -r one/filler
	the_same_command_ends_it
}

take_inodes() {
	mkdir one/filler
	perl -e 'for (my $number = 0; open my $file, ">", "one/filler/$number"; $number++) {}'
}

# As the kernel does where the file system finds itself broken.
a_place_that_turns_read_only_midway_keeps_none_of_the_others() {
	begin two three
	media_ext4 one 60
	media_unmount one
	media_mount one errors=remount-ro
	midway find_an_error
	the_others_are_done '\(Read-only file system\|Input/output error\)' # the latter of a sync that was under way
	media_unmount one
	fsck.ext4 -fy "$(media_loop one)" >/dev/null || [ $? = 1 ]
	media_mount one
	the_same_command_ends_it
}

find_an_error() {
	device=$(media_loop one)
	echo 'found by a test' >"/sys/fs/ext4/${device#/dev/}/trigger_fs_error"
}

# While the card is read to compare its content with what is known: the folder it was mounted on is there still.
a_drive_that_drops_off_before_its_bag_is_begun_is_told() {
	begin one two three
	"$headrace" offload card --to one --to two $same_device --job 'Cup final' --quiet
	touch card.real/DCIM/100NMERE/*
	offload --progress=lines >said 2>complaints &
	tap_wait 60 grep '^[0-9]*% of card card' complaints
	media_unmount three
	status=0
	wait $! || status=$?
	cat said complaints
	[ "$status" = 1 ]
	grep 'FAILED: .*three: another drive stands there now' complaints
	[ -z "$(find three -type f)" ]
	media_mount three
	offload
	holds_all_but three
}

# When the card has been read and one place still reads back: what is not proven there is copied by the next run, into the same bag.
a_run_stopped_while_it_reads_back_is_gone_on_with() {
	begin two three
	faulty_rules card
	faulty_mount one 'read slow bytes_per_s=300000'
	same_device=--same-device status=0 # one does not show its disk
	env --default-signal=INT "$headrace" offload card --to one --to two --to three $same_device --job 'Cup final' --json-lines >events &
	tap_wait 60 grep -q '"card_free"' events
	kill -s INT $!
	wait $! || status=$?
	[ "$status" = 130 ]
	[ -z "$(find one -name bagit.txt)" ]
	faulty_rules one
	the_same_command_ends_it
	[ "$(find one -name bagit.txt | wc -l)" = 1 ]
}

a_place_too_small_is_refused_before_anything_is_written() {
	begin two three
	mount_memory 4m
	status=0
	offload 2>complaints || status=$?
	cat complaints
	[ "$status" = 4 ]
	grep '^headrace: refused: Place one ' complaints
	[ -z "$(ls -A one)$(ls -A two)$(ls -A three)" ]
}

a_place_with_too_few_inodes_is_refused_before_anything_is_written() {
	begin two three
	media_ext4 one 20 16
	touch one/1 one/2 one/3
	status=0
	offload 2>complaints || status=$?
	cat complaints
	[ "$status" = 4 ]
	grep '^headrace: refused: Place one has room (inodes) for .* are needed: name another drive' complaints
	[ -z "$(ls -A two)$(ls -A three)" ]
}

a_drive_that_is_pulled_midway_keeps_none_of_the_others() {
	begin one two three
	midway media_yank one
	the_others_are_done .
	media_replug one
	the_same_command_ends_it
}

pull_all() {
	for place in one two three; do
		media_yank $place
	done
}

all_drives_are_pulled_midway_and_the_run_ends() {
	begin one two three
	midway pull_all
	for place in one two three; do
		grep "^headrace: place $place FAILED: ." complaints
	done
	grep '^card card: NOT SAFE to format: ' said
	tap_fails "$headrace" safe card
	for place in one two three; do
		media_replug $place
		names_nothing_wrong $place
		[ -z "$(find $place -name bagit.txt)" ]
	done
	the_same_command_ends_it
}

a_card_that_is_pulled_midway_is_gone_on_with() {
	begin one two three
	faulty_unmount card
	media_drive card 20 2
	cp -r card.real/DCIM card/
	media_drop card
	midway media_yank card
	grep '^headrace: .*card: the card was pulled' complaints
	tap_fails grep '^headrace: place ' complaints
	grep '^card card: NOT SAFE to format: ' said
	grep '^  it was pulled while being read; put it back and run the same command' said
	for place in one two three; do
		names_nothing_wrong $place
		[ -z "$(find $place -name bagit.txt)" ]
	done
	media_replug card
	tap_fails "$headrace" safe card
	the_same_command_ends_it
}

take_one_out() {
	victim=$(named_in one | head -n 1 | cut -f 2)
	[ -s "$victim" ] && rm "$victim"
}

# Some tool takes a proven copy away while the bag is still being filled. The drive is asked for its word, and so is the record of it
# once the drive is unplugged.
a_file_that_is_taken_out_midway_counts_nowhere() {
	begin one two
	offload() {
		# shellcheck disable=SC2086 # none or one word
		"$headrace" offload card --to one --to two $same_device --job 'Cup final' "$@"
	}
	has_begun() { [ "$(named_in one | wc -l)" -ge 9 ]; }
	midway take_one_out
	grep '^headrace: place one FAILED: .*gone from data/' complaints
	grep '^card card: NOT SAFE to format: ' said
	media_unmount one
	tap_fails "$headrace" safe card
	media_mount one
	tap_fails "$headrace" safe card
	offload
	for place in one two; do holds_all_but $place; done
	expect_safe card
}

cases_of a_place_that_is_full_midway_keeps_none_of_the_others a_place_without_inodes_midway_keeps_none_of_the_others \
	a_place_that_turns_read_only_midway_keeps_none_of_the_others a_place_too_small_is_refused_before_anything_is_written \
	a_place_with_too_few_inodes_is_refused_before_anything_is_written \
	a_drive_that_is_pulled_midway_keeps_none_of_the_others all_drives_are_pulled_midway_and_the_run_ends \
	a_card_that_is_pulled_midway_is_gone_on_with a_file_that_is_taken_out_midway_counts_nowhere \
	a_run_stopped_while_it_reads_back_is_gone_on_with a_drive_that_drops_off_before_its_bag_is_begun_is_told
