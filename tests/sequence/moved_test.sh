#!/bin/sh
# SPDX-License-Identifier: ISC
# A match from card to sequence folders by move, with the program itself: frames that left their bag are found where they
# stand, nothing is read anew, and what was two copies is no longer called so.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
. "$HEADRACE_SOURCE/tests/support/able.sh"
headrace=$HEADRACE_BUILD/src/cli/headrace
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-moved.XXXXXX")
trap 'chmod -R u+w "$scratch"; rm -rf "$scratch"' EXIT
export XDG_STATE_HOME="$scratch/state"
cd "$scratch"
"$HEADRACE_BUILD/tests/support/demo_card" --out card --seed 7 --frames 120 --size 32x24 --raw-every 4 --half 1
mkdir p1 p2
"$headrace" offload card --to p1 --to p2 --job final --same-device --quiet >/dev/null || true # in one place, so never SAFE
bag=$(echo "$scratch"/p1/final/2*)
"$headrace" sequences --fill list --json p1 >before
"$headrace" sequences --fill list --json p1 p2 >both
in_sequences=$(jq '[.sequences[].frames[].files[]] | length' before)
files=$(find "$bag/data" -type f | wc -l)
"$headrace" sequences --fill move --json p1 >moved

# How frames were grouped, without where their files stand.
groups() {
	jq -c '[.sequences[] | {body, start, frames: [.frames[].key], bursts}], [.singles[].key]'
}

what_is_grouped_leaves_the_bag_and_both_are_proven() {
	[ "$in_sequences" -gt 50 ]
	[ "$(find "$bag/data" -type f | wc -l)" = $((files - in_sequences)) ]
	"$headrace" verify p1
	(cd "$bag" && sha256sum -c --quiet manifest-sha256.txt)
	for play in p1/final/sequences/2*; do
		(cd "$play" && sha256sum -c --quiet manifest-sha256.txt && xxhsum -c --quiet manifest-xxh128.txt)
	done
}

the_next_run_finds_the_same_sequences_where_they_stand_now() {
	"$headrace" sequences --fill move --json p1 >again
	groups <before >expected
	groups <again | cmp - expected
	jq -e '[.sequences[].frames[].files[]] | all(test("/sequences/.*/[0-9]{4}_"))' again
	jq '[.sequences[].folder]' moved >expected
	jq '[.sequences[].folder]' again | diff - expected
	[ "$(find p1/final/sequences -name '0*' | wc -l)" = "$in_sequences" ]
}

a_moved_frame_and_its_copy_on_another_drive_are_one() {
	groups <both >expected
	"$headrace" sequences --fill list --json p1 p2 | groups | cmp - expected
}

# Both places stand on one drive: it counts as long as one of them has the file in its bag.
what_left_all_bags_is_a_copy_of_the_card_no_more() {
	able medium && on_one='.on_one' || on_one='.drives[0].not_from_medium'
	"$headrace" safe --json card | jq -e ".cards[0] | $on_one == $files"
	"$headrace" sequences --fill move p2
	"$headrace" safe --json card | jq -e ".cards[0] | $on_one == $((files - in_sequences))"
}

a_frame_without_its_row_in_frames_csv_is_read_where_it_stands() {
	cp -r p1 other
	rm other/final/2*/frames.csv
	groups <before >expected
	"$headrace" sequences --fill list --json other | groups | cmp - expected
}

tap what_is_grouped_leaves_the_bag_and_both_are_proven
tap the_next_run_finds_the_same_sequences_where_they_stand_now
tap a_moved_frame_and_its_copy_on_another_drive_are_one
tap a_frame_without_its_row_in_frames_csv_is_read_where_it_stands
tap what_left_all_bags_is_a_copy_of_the_card_no_more
tap_done
