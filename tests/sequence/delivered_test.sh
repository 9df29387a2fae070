#!/bin/sh
# SPDX-License-Identifier: ISC
# What `sequences` gathers: from places, bags and folders; copies, backups and split cards are one frame each. TAP.
set -eu
support=$(cd "$(dirname "$0")/../support" && pwd)
. "$support/tap.sh"
headrace=${HEADRACE_BUILD:?}/src/cli/headrace
scratch=$(mktemp -d "${TMPDIR:-/tmp}/headrace-delivered.XXXXXX")
trap 'chmod -R u+w "$scratch"; rm -rf "$scratch"' EXIT
export XDG_STATE_HOME="$scratch/state"
cd "$scratch"
"$HEADRACE_BUILD/tests/support/demo_card" --out slot1 --seed 5 --frames 200 --size 32x24 --raw-every 4 --half 1
frames=$(grep -c ',frame,' slot1.truth.csv)
mkdir p1 p2
"$headrace" offload slot1 --to p1 --to p2 --job final --same-device --quiet >/dev/null || true # in one place, so never SAFE

# found PATH...: the index as JSON, nothing filled
found() {
	"$headrace" sequences --fill list --json "$@"
}

count() {
	jq '[.sequences[].frames[], .singles[] | select(.files | any(test("[.]MOV$") | not))] | length'
}

# groups: how frames were grouped, without where their files stand
groups() {
	jq -c '[.sequences[] | {body, start, frames: [.frames[].key], bursts}], [.singles[].key]'
}

counts_each_frame_once_in_two_places() {
	[ "$(found p1 | count)" = "$frames" ]
	[ "$(found p1 p2 | count)" = "$frames" ]
	[ "$(found p1 p1/final | count)" = "$frames" ]
	found p1 p2 | groups >both
	found p1 | groups | cmp - both
}

groups_a_folder_as_its_bag() {
	cp -r slot1/DCIM plain
	found plain | groups | sed 's|DCIM/||g' >folder
	found p1 | groups | sed 's|DCIM/||g' | cmp - folder
}

reads_heads_where_frames_csv_says_nothing() {
	cp -r p1/final/2* half
	sed -n '1,40p' p1/final/2*/frames.csv >half/frames.csv
	found half | groups >some
	rm half/frames.csv
	found half | groups >none
	found p1 | groups | cmp - some
	cmp none some
}

takes_a_backup_on_the_second_slot_for_the_same_frames() {
	cp -r slot1 slot2
	[ "$(found slot1 slot2 | count)" = "$frames" ]
	found slot1 slot2 | groups >twice
	found slot1 | groups | cmp - twice
	found slot1 slot2 | jq -e '[.sequences[].frames[].files[] | test("/slot2/")] | all(not)' # one is named, the first
}

puts_raw_on_one_card_and_jpeg_on_the_other_together() {
	cp -r slot1 raws
	find raws/DCIM -type f ! -name '*.DNG' -delete
	cp -r slot1 jpegs
	find jpegs/DCIM -type f -name '*.DNG' -delete
	[ "$(found raws jpegs | count)" = "$frames" ]
	found raws jpegs | jq '[.sequences[].frames[], .singles[] | select(.files | any(test("/raws/")) and any(test("/jpegs/")))] | length' >pairs
	find raws/DCIM -name '*.DNG' | wc -l | diff - pairs
}

keeps_frames_of_another_match_with_the_same_names_apart() {
	"$HEADRACE_BUILD/tests/support/demo_card" --out other --seed 5 --frames 200 --size 32x24 --raw-every 4 --half 1 --date 2026-05-23
	[ "$(found slot1 other | count)" = "$((2 * frames))" ]
}

writes_nothing_to_a_card() {
	find slot1 -printf '%p %T@\n' | sort >before
	"$headrace" sequences slot1 --fill link >text 2>&1 || true
	find slot1 -printf '%p %T@\n' | sort | cmp - before
	grep -q 'card' text
}

lists_what_is_wrong_with_a_frame_and_goes_on() {
	cp -r slot1 bad
	chmod -R u+w bad
	set -- $(find bad/DCIM -name '*.JPG' | sort | head -n 3)
	: >"$1"
	head -c 300 "$2" >cut && cp cut "$2"
	LC_ALL=C sed 's/\(20[0-9][0-9]\):\([0-9][0-9]\):\([0-9][0-9]\) [0-9][0-9]:[0-9][0-9]:[0-9][0-9]/0000:00:00 00:00:00/g' "$3" >zeroed && cp zeroed "$3"
	rm -f "${1%.JPG}.DNG" "${2%.JPG}.DNG" "${3%.JPG}.DNG"
	found bad | jq -e '.unknown | length == 3'
	[ "$(found bad | count)" = "$((frames - 3))" ]
	found bad | jq -e '.unknown | all(.trouble | length > 0)'
}

# A year no clock of a camera says, in a folder and in a bag: 64 bits of nanoseconds hold 584 years in all.
takes_a_year_out_of_all_time_for_no_time() {
	for year in 0001 2600; do
		rm -rf lost lost.bag
		cp -r slot1 lost
		chmod -R u+w lost
		first=$(find lost/DCIM -name '*.JPG' | sort | head -n 1)
		rm -f "${first%.JPG}.DNG"
		LC_ALL=C sed "s/20[0-9][0-9]\(:[0-9][0-9]:[0-9][0-9] [0-9][0-9]:[0-9][0-9]:[0-9][0-9]\)/$year\1/g" "$first" >aged && cp aged "$first"
		found lost >plain.json
		jq -e '.unknown | length == 1 and (.[0].trouble | length > 0)' plain.json
		jq -e '.clock_changes == []' plain.json
		mkdir lost.bag
		"$headrace" offload lost --to lost.bag --job "year $year" --same-device --quiet || true
		found lost.bag | jq -e '.unknown | length == 1'
	done
}

says_that_a_bag_is_not_finished() {
	tap_fails sh -c "'$headrace' sequences p1 --fill list | grep 'not finished'"
	cp -r p1 broken_off
	rm broken_off/final/2*/bagit.txt
	"$headrace" sequences broken_off --fill list | grep '^a bag here is not finished: '
}

tap says_that_a_bag_is_not_finished
tap takes_a_year_out_of_all_time_for_no_time
tap counts_each_frame_once_in_two_places
tap groups_a_folder_as_its_bag
tap reads_heads_where_frames_csv_says_nothing
tap takes_a_backup_on_the_second_slot_for_the_same_frames
tap puts_raw_on_one_card_and_jpeg_on_the_other_together
tap keeps_frames_of_another_match_with_the_same_names_apart
tap writes_nothing_to_a_card
tap lists_what_is_wrong_with_a_frame_and_goes_on
tap_done
