#!/bin/sh
# SPDX-License-Identifier: ISC
# What lands first, as files.csv tells: in the order of read_at_ns the frames must come as asked, held against the truth the
# demo card was built from.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
headrace=$HEADRACE_BUILD/src/cli/headrace
demo_card=$HEADRACE_BUILD/tests/support/demo_card
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-first.XXXXXX")
trap 'rm -rf "$scratch"' EXIT
export XDG_STATE_HOME="$scratch/state"
cd "$scratch"
"$demo_card" --out card --seed 7 --frames 120 --size 320x213 --truth truth.csv

# landed OPTION...: the JPEG frames in the order they were read, each with protected, rating and time in nanoseconds.
landed() {
	rm -rf place "$XDG_STATE_HOME"
	mkdir place
	"$headrace" offload card --to place --same-device "$@" >/dev/null 2>&1
	# of files.csv path, modified_ns and read_at_ns; of the truth the path of the JPEG, rating and protected
	sed 1d place/*/*/files.csv | sort -t, -k6,6n | awk -F, '
		NR == FNR { split($1, file, ";"); for (i in file) { rating[file[i]] = $(NF - 2); locked[file[i]] = $(NF - 1) }; next }
		$1 ~ /\.JPG$/ { print locked[$1] + 0, rating[$1] + 0, $3 }' truth.csv - >landed
	[ "$(wc -l <landed)" -ge 110 ]
}

# in_order SORT-KEYS...: are they sorted so? Frames that are equal there may stand in any order.
in_order() {
	sort -s "$@" landed | cmp - landed
}

there_are_frames_of_each_sort_out_of_order() {
	landed
	[ "$(awk '$1' landed | wc -l)" -ge 2 ]
	[ "$(awk '$2' landed | wc -l)" -ge 5 ]
	in_order -k3,3n
	tap_fails in_order -k1,1nr
	tap_fails in_order -k2,2nr
	tap_fails in_order -k3,3nr
}

protected_frames_land_first() {
	landed --first protected
	in_order -k1,1nr -k3,3n
}

rated_frames_land_first_the_highest_before_the_others() {
	landed --first rated
	in_order -k2,2nr -k3,3n
}

newest_frames_land_first() {
	landed --first newest
	in_order -k3,3nr
}

three_keys_apply_one_after_another() {
	landed --first protected,rated,newest
	in_order -k1,1nr -k2,2nr -k3,3nr
}

three_keys_the_other_way_round_are_another_order() {
	landed --first rated,protected,newest
	in_order -k2,2nr -k1,1nr -k3,3nr
	tap_fails in_order -k1,1nr -k2,2nr -k3,3nr
}

tap there_are_frames_of_each_sort_out_of_order
tap protected_frames_land_first
tap rated_frames_land_first_the_highest_before_the_others
tap newest_frames_land_first
tap three_keys_apply_one_after_another
tap three_keys_the_other_way_round_are_another_order
tap_done
