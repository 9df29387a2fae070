#!/bin/sh
# SPDX-License-Identifier: ISC
# A failing card or reader, with two sound ext4 drives: what is caught, what is said, what the verdict is.
set -eu
. "$HEADRACE_SOURCE/tests/faults/ground.sh"

# with RULE...: the card does this harm; one and two are drives of their own.
with() {
	media_begin "$scratch"
	ground_folder
	media_at_end faulty_end
	media_ext4 one 60
	media_ext4 two 60
	frames card.real
	faulty_mount card "$@"
}

# The tool and the engine agree with the frames the card really has; without harm the card is safe.
expect_safe_when_sound() {
	faulty_rules card
	run 0 "$@"
	verdict 'SAFE to format: all 12 files stand proven on 2 drives'
}

is_safe_when_the_card_is_sound() {
	with
	run 0 --reread-card
	verdict 'SAFE to format: all 12 files stand proven on 2 drives'
	for place in one two; do
		holds_all_but $place
		has_right_bags $place
	done
	[ ! -s card.log ]
}

# Each second reading is another: no copy of that file may ever bear its name.
a_second_reading_that_differs_is_told_and_the_card_is_not_safe() {
	with 'read flip path=*0007* opening_every=2'
	run 1 --reread-card
	[ "$(faulty_count card 'read flip .*0007')" -ge 1 ]
	grep 'NMA_0007.JPG: the card gave other bytes when it was read again; try another reader, cable or port' complaints
	grep 'FAILED.*NMA_0007.JPG' complaints
	verdict 'NOT SAFE to format: 1 of 12 files without a proven copy'
	for place in one two; do
		holds_all_but $place 0007
	done
	tap_fails "$headrace" safe card
	expect_safe_when_sound --reread-card
}

a_second_reading_of_a_large_file_is_compared_to_its_end() {
	with 'read flip path=*0012* offset=2097151 opening_every=2'
	run 1 --reread-card
	[ "$(faulty_count card 'read flip 2097151 .*0012')" -ge 1 ]
	grep 'NMA_0012.JPG: the card gave other bytes' complaints
	verdict 'NOT SAFE to format: 1 of 12 files without a proven copy'
	holds_all_but one 0012
}

# Without a second reading nobody could know: what the first gave is what is copied, the same everywhere.
one_reading_alone_cannot_tell() {
	with 'read flip path=*0007* opening_every=2 offset=1000'
	run 0
	[ "$(faulty_count card 'read')" = 0 ]
	holds_all_but one
}

# The first drive was copied in a run before, and the reader gives another byte now: two drives, two contents.
copies_of_two_readings_do_not_count_together() {
	media_begin "$scratch"
	ground_folder
	for volume in card one two; do media_ext4 $volume 60; done
	frames card
	"$headrace" offload card --to one --job 'Cup final' --quiet || [ $? = 1 ] # one drive is not enough
	frame=card/DCIM/100NMERE/NMA_0007.JPG
	touch -r $frame stamp
	printf x | dd of=$frame conv=notrunc bs=1 seek=1000 status=none
	touch -r stamp $frame
	run 1
	grep 'NMA_0007.JPG: the card gives other bytes now than when it was copied before' complaints events
	verdict 'NOT SAFE to format: 1 of 12 files on one drive only'
	tap_fails "$headrace" safe card
	[ "$(named_in one | grep -c 0007)" = 1 ]
	run 0
	verdict 'SAFE to format: all 12 files stand proven on 2 drives'
	[ "$(named_in one | grep -c 0007)" = 2 ]
}

a_second_reading_that_fails_is_told() {
	with 'read EIO path=*0007* opening_every=2'
	run 1 --reread-card
	[ "$(faulty_count card 'read EIO .*0007')" -ge 1 ]
	grep 'NMA_0007.JPG.*Input/output error' complaints
	verdict 'NOT SAFE to format: 1 of 12 files without a proven copy'
	holds_all_but two 0007
}

a_file_that_cannot_be_read_keeps_no_other_from_being_copied() {
	with 'read EIO path=*0003* offset=50000'
	run 1
	[ "$(faulty_count card 'read EIO .*0003')" -ge 1 ]
	grep 'FAILED.*NMA_0003.JPG' complaints
	verdict 'NOT SAFE to format: 1 of 12 files without a proven copy'
	for place in one two; do
		holds_all_but $place 0003
		has_right_bags $place
	done
	expect_safe_when_sound
}

a_file_that_reads_at_the_second_try_is_copied() {
	with 'read EIO path=*0003* once'
	run 0
	[ "$(faulty_count card 'read EIO .*0003')" = 1 ]
	verdict 'SAFE to format'
	holds_all_but one
}

a_file_that_is_gone_when_it_is_opened_is_told() {
	with 'open ENOENT path=*0005*'
	run 1
	[ "$(faulty_count card 'open ENOENT .*0005')" -ge 1 ]
	grep 'FAILED.*NMA_0005.JPG' complaints
	holds_all_but one 0005
	holds_all_but two 0005
	expect_safe_when_sound
}

a_file_nothing_can_be_asked_about_makes_the_card_unsafe() {
	with 'stat EIO path=*0005*'
	run 1
	[ "$(faulty_count card 'stat EIO .*0005')" -ge 1 ]
	grep '^NOT SAFE to format:.* 1 entry on the card could not be read' sentence
	holds_all_but one 0005
}

a_folder_that_cannot_be_listed_makes_the_card_unsafe() {
	with 'list EIO path=*101NMERE'
	mkdir card.real/DCIM/101NMERE
	run 1
	[ "$(faulty_count card 'list EIO')" -ge 1 ]
	grep '^NOT SAFE to format:.* 1 entry on the card could not be read' sentence
}

short_reads_are_no_harm() {
	with 'read short'
	run 0 --reread-card
	[ "$(faulty_count card 'read short')" -ge 12 ]
	verdict 'SAFE to format'
	holds_all_but one
	has_right_bags two
}

a_card_that_vanishes_is_gone_on_with() {
	with 'read vanish after=3000000'
	run 1
	[ "$(faulty_count card 'read vanish')" = 1 ]
	jq -e 'select(.event == "result") | .cards[0].was_pulled' events
	verdict 'NOT SAFE to format'
	expect_safe_when_sound
	for place in one two; do
		holds_all_but $place
		has_right_bags $place
	done
}

cases_of is_safe_when_the_card_is_sound copies_of_two_readings_do_not_count_together a_second_reading_that_differs_is_told_and_the_card_is_not_safe \
	a_second_reading_of_a_large_file_is_compared_to_its_end one_reading_alone_cannot_tell a_second_reading_that_fails_is_told \
	a_file_that_cannot_be_read_keeps_no_other_from_being_copied a_file_that_reads_at_the_second_try_is_copied \
	a_file_that_is_gone_when_it_is_opened_is_told a_file_nothing_can_be_asked_about_makes_the_card_unsafe \
	a_folder_that_cannot_be_listed_makes_the_card_unsafe short_reads_are_no_harm a_card_that_vanishes_is_gone_on_with
