#!/bin/sh
# SPDX-License-Identifier: ISC
# A failing place beside a sound one. The faulty volume is FUSE, where nothing can be shown to come from the medium, so no copy
# there ever counts towards SAFE; but what it writes wrong must never bear a final name, and the other place must finish.
set -eu
. "$HEADRACE_SOURCE/tests/faults/ground.sh"
run_options=--same-device # a FUSE volume does not show its disk

# with RULE...: the place `one` does this harm; card and `two` stand on sound drives.
with() {
	media_begin "$scratch"
	ground_folder
	media_at_end faulty_end
	media_ext4 two 60
	frames card.real
	ln -sfn card.real card
	faulty_mount one "$@"
}

# All is done in both, and what the harm left aside is no part of the bag.
expect_all_done() {
	grep '^NOT SAFE to format: .* Copies on a drive that could not show they were read back from the medium do not count' sentence
	for place in one two; do
		holds_all_but $place
		has_right_bags $place
	done
}

# The sound place is finished whatever happens to the other, and the same command on a sound drive ends the job.
expect_other_place_done_and_the_rest_next_time() {
	holds_all_but two
	has_right_bags two
	names_nothing_wrong one.real
	faulty_rules one
	run 0 --quiet
	expect_all_done
}

aside_of() {
	find one.real -path '*.aside/*' -type f
}

is_done_where_the_place_is_sound() {
	with
	run 0
	expect_all_done
	[ ! -s one.log ]
	[ -z "$(aside_of)" ]
}

# caught_once RULE FRAME: the copy that was written wrong is told and kept aside, and the frame copied anew.
caught_once() {
	with "$1"
	run 0
	[ "$(wc -l <one.log)" = 1 ]
	grep "NMA_$2.*: reads back different from the card; the bad copy is kept as" complaints
	[ "$(aside_of | wc -l)" = 1 ]
	tap_fails cmp "$(aside_of)" "card.real/DCIM/100NMERE/NMA_$2.JPG"
	expect_all_done
}

a_bit_flipped_in_writing_is_caught_and_the_file_copied_anew() { caught_once 'write flip path=*NMA_0007* once' 0007; }
a_bit_flipped_in_a_large_file_is_caught() { caught_once 'write flip path=*NMA_0012* offset=2097151 once' 0012; }
a_block_of_zeros_is_caught() { caught_once 'write zero-block path=*NMA_0007* once' 0007; }
a_block_that_is_another_is_caught() { caught_once 'write other-block path=*NMA_0011* once' 0011; }
a_torn_tail_is_caught() { caught_once 'write torn-tail path=*NMA_0007* once' 0007; }
a_write_that_is_lost_is_caught() { caught_once 'write lost path=*NMA_0007* once' 0007; }
a_wrong_reading_back_is_caught() { caught_once_though_right 'read flip path=*NMA_0007* once' 0007; }

# What is told of the card while the last frame, which is slow to read back, turns out to be wrong.
a_card_that_was_free_is_called_back() {
	with 'read slow bytes_per_s=3000000' 'write flip path=*NMA_0012* once'
	run 0
	[ "$(jq -r 'select(.event == "card_free" or .event == "card_needed") | .event' events | paste -sd' ')" = 'card_free card_needed card_free' ]
	expect_all_done
}

# The copy kept aside may be a right one, if it was the reading back that was wrong.
caught_once_though_right() {
	with "$1"
	run 0
	[ "$(wc -l <one.log)" = 1 ]
	grep "NMA_$2.*: reads back different from the card; the bad copy is kept as" complaints
	cmp "$(aside_of)" "card.real/DCIM/100NMERE/NMA_$2.JPG"
	expect_all_done
}

a_file_that_is_always_written_wrong_never_bears_its_name() {
	with 'write flip path=*NMA_0007*'
	run 1
	[ "$(faulty_count one 'write flip .*NMA_0007')" -ge 2 ]
	grep 'FAILED DCIM/100NMERE/NMA_0007.JPG in one' complaints
	holds_all_but one 0007
	has_right_bags one
	[ "$(aside_of | wc -l)" -ge 2 ]
	expect_other_place_done_and_the_rest_next_time
}

an_input_output_error_once_costs_an_attempt() {
	with 'write EIO path=*NMA_0007* once'
	run 0
	[ "$(wc -l <one.log)" = 1 ]
	grep 'NMA_0007.*Input/output error' complaints
	expect_all_done
}

a_read_back_that_fails_once_costs_an_attempt() {
	with 'read EIO path=*NMA_0011* once'
	run 0
	[ "$(wc -l <one.log)" = 1 ]
	grep 'NMA_0011.*Input/output error' complaints
	expect_all_done
}

a_file_that_cannot_be_written_fails_alone() {
	with 'write EIO path=*NMA_0007*'
	run 1
	grep 'FAILED DCIM/100NMERE/NMA_0007.JPG in one' complaints
	holds_all_but one 0007
	expect_other_place_done_and_the_rest_next_time
}

# fails_as_a_whole RULE SENTENCE: the place is given up, at once and with the reason.
fails_as_a_whole() {
	with "$1"
	run 1
	[ "$(wc -l <one.log)" -ge 1 ]
	grep "^headrace: place one FAILED: .*$2" complaints
	expect_other_place_done_and_the_rest_next_time
}

a_drive_that_is_full_midway_fails_as_a_whole() { fails_as_a_whole 'write ENOSPC after=1500000' 'No space left on device'; }
a_quota_that_is_met_midway_fails_as_a_whole() { fails_as_a_whole 'write EDQUOT after=1500000' 'Disk quota exceeded'; }
a_drive_that_turns_read_only_fails_as_a_whole() { fails_as_a_whole 'change EROFS after=1500000' 'Read-only file system'; }
a_drive_that_vanishes_fails_as_a_whole() { fails_as_a_whole 'any vanish after=1500000' 'No such device'; }
a_drive_that_fails_every_write_fails_as_a_whole() { fails_as_a_whole 'write EIO path=*.JPG*' 'Input/output error'; }

# The kernel may call lost pages clean: a second sync would say all is well. The file is written anew instead, by the same
# command again at the latest.
what_a_failed_sync_lost_is_written_anew() {
	with 'sync drop path=*NMA_0007* once'
	run 0
	[ "$(faulty_count one 'sync drop .*NMA_0007')" = 1 ]
	grep 'NMA_0007.*Input/output error' complaints
	expect_all_done
}

a_rename_that_fails_once_costs_an_attempt() {
	with 'rename EIO path=*NMA_0007* once'
	run 0
	[ "$(faulty_count one 'rename EIO .*NMA_0007')" = 1 ]
	expect_all_done
}

a_folder_that_cannot_be_made_durable_settles_nothing() {
	with 'sync EIO path=*/data/DCIM/100NMERE'
	run 1
	[ "$(faulty_count one 'sync EIO .*100NMERE')" -ge 1 ]
	expect_other_place_done_and_the_rest_next_time
}

a_bag_that_cannot_be_finished_stays_unfinished() {
	with 'rename EIO path=*/.bagit.txt.part'
	run 1
	[ "$(faulty_count one 'rename EIO .*bagit')" = 1 ]
	[ -z "$(find one.real -name bagit.txt)" ]
	expect_other_place_done_and_the_rest_next_time
}

# Nothing would vouch for a manifest but itself, and it would accuse pictures that are right.
a_manifest_that_is_written_wrong_finishes_no_bag() { finishes_no_bag 'write flip path=*/.manifest-sha256.txt.part once'; }
a_declaration_that_is_lost_finishes_no_bag() { finishes_no_bag 'write lost path=*/.bagit.txt.part once'; }
a_journal_row_that_is_written_wrong_finishes_no_bag() { finishes_no_bag 'write flip path=*/.files.csv.part skip=4 once'; }

finishes_no_bag() {
	with "$1"
	run 1
	[ "$(wc -l <one.log)" = 1 ]
	grep '^headrace: place one FAILED: .*reads back different from what was written' complaints
	[ -z "$(find one.real -name bagit.txt)" ]
	expect_other_place_done_and_the_rest_next_time
}

a_journal_row_that_is_not_written_is_made_up_for() {
	with 'write EIO path=*/.files.csv.part skip=4 once'
	run 1
	[ "$(faulty_count one 'write EIO .*files.csv')" = 1 ]
	expect_other_place_done_and_the_rest_next_time
}

# Neither has an identity of its own and both are of one size, as two shares of a server may be.
what_one_of_two_alike_lacks_is_copied_though_the_other_has_it() {
	ground_folder
	trap faulty_end EXIT
	frames card.real
	ln -sfn card.real card
	faulty_mount one
	faulty_mount two 'write flip path=*NMA_0007*'
	run 1
	holds_all_but one.real
	holds_all_but two.real 0007
	faulty_rules two
	run 0
	holds_all_but two.real
}

short_writes_and_reads_are_no_harm() {
	with 'write short' 'read short'
	run 0
	[ "$(faulty_count one 'write short')" -ge 12 ]
	[ "$(faulty_count one 'read short')" -ge 12 ]
	expect_all_done
	[ -z "$(aside_of)" ]
}

cases_of is_done_where_the_place_is_sound a_bit_flipped_in_writing_is_caught_and_the_file_copied_anew \
	a_bit_flipped_in_a_large_file_is_caught a_block_of_zeros_is_caught a_block_that_is_another_is_caught a_torn_tail_is_caught \
	a_write_that_is_lost_is_caught a_wrong_reading_back_is_caught a_card_that_was_free_is_called_back a_file_that_is_always_written_wrong_never_bears_its_name \
	an_input_output_error_once_costs_an_attempt a_read_back_that_fails_once_costs_an_attempt \
	a_file_that_cannot_be_written_fails_alone a_drive_that_is_full_midway_fails_as_a_whole \
	a_quota_that_is_met_midway_fails_as_a_whole a_drive_that_turns_read_only_fails_as_a_whole \
	a_drive_that_vanishes_fails_as_a_whole a_drive_that_fails_every_write_fails_as_a_whole \
	what_a_failed_sync_lost_is_written_anew a_rename_that_fails_once_costs_an_attempt \
	a_folder_that_cannot_be_made_durable_settles_nothing a_bag_that_cannot_be_finished_stays_unfinished \
	a_manifest_that_is_written_wrong_finishes_no_bag a_declaration_that_is_lost_finishes_no_bag \
	a_journal_row_that_is_written_wrong_finishes_no_bag \
	a_journal_row_that_is_not_written_is_made_up_for \
	what_one_of_two_alike_lacks_is_copied_though_the_other_has_it short_writes_and_reads_are_no_harm
