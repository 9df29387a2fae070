#!/bin/sh
# SPDX-License-Identifier: ISC
# `headrace sequences` and `offload --sequences` over a demo card, in every form. The card's ground truth and jq are the witnesses. TAP.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
PATH=$HEADRACE_BUILD/src/cli:$HEADRACE_BUILD/tests/support:$PATH
export PATH XDG_STATE_HOME="$scratch/state" LC_ALL=C TZ=UTC
mkdir "$scratch/here"
cd "$scratch/here"
mkdir ssd backup
demo_card --out card --frames 500 --seed 3 --size 96x64 --plain --truth truth.csv
frames=$(grep -c ',frame,' truth.csv)
# Sequences of two frames and more, as they were shot.
truth=$(awk -F, '$2 == "frame" { n[$3 $8]++ } END { for (s in n) if (n[s] > 1) count++; print count }' truth.csv)

# answers STATUS COMMAND...: its output in `out`.
answers() {
	wanted=$1 status=0
	shift
	"$@" >out 2>err || status=$?
	cat out err
	[ "$status" = "$wanted" ]
}
folders() { find "$1/Cup/sequences" -mindepth 1 -type d -printf '%f\n' | sort; }

an_offload_sums_up_what_it_grouped() {
	answers 0 headrace offload card --to ssd --to backup --same-device --job Cup --sequences
	grep '^card card: NOT SAFE to format: ' out
	grep -x "$frames frames: $truth sequences, .*" out
	for place in ssd backup; do
		grep -x "in $scratch/here/$place/Cup/sequences: $truth new folders (link), 0 there before" out
		[ "$(folders $place | wc -l)" = "$truth" ]
	done
}
tap an_offload_sums_up_what_it_grouped

an_offload_of_nothing_new_finds_the_sequences_there() {
	answers 0 headrace offload card --to ./ssd/. --same-device --job Cup --sequences
	grep -x "in $scratch/here/ssd/Cup/sequences: 0 new folders (link), $truth there before" out
	answers 0 headrace offload card --to ssd --same-device --job Other --sequences --json
	jq -e '.sequences == null' out
	tap_fails test -e ssd/Other
}
tap an_offload_of_nothing_new_finds_the_sequences_there

# One job folder, by way of the bag that is new in it and of the card that brought nothing new.
a_folder_of_two_cards_is_grouped_once() {
	mkdir -p other/DCIM/100NMERE twice
	cp card/DCIM/*/*_0001.JPG other/DCIM/100NMERE/
	answers 0 headrace offload other --to twice --same-device --job Cup
	answers 0 headrace offload other card --to ./twice --same-device --job Cup --sequences
	[ "$(grep -c '^in .*sequences: ' out)" = 1 ]
	rm -r other twice
}
tap a_folder_of_two_cards_is_grouped_once

# As after a run that was killed when its copies were proven.
an_offload_makes_the_sequences_a_killed_one_did_not() {
	play=$(folders ssd | head -n 1)
	rm -r "ssd/Cup/sequences/$play" backup/Cup/sequences
	answers 0 headrace offload card --to ssd --to backup --same-device --job Cup --sequences
	[ "$(folders ssd | wc -l) $(folders backup | wc -l)" = "$truth $truth" ]
	[ -n "$(ls "ssd/Cup/sequences/$play")" ]
}
tap an_offload_makes_the_sequences_a_killed_one_did_not

# As after a run that was killed before its last file: nothing is left to prove.
an_offload_that_only_finishes_a_bag_groups_as_well() {
	mkdir late
	answers 0 headrace offload card --to late --same-device --job Cup
	tap_fails test -e late/Cup/sequences
	rm late/Cup/*/bagit.txt
	answers 0 headrace offload card --to late --same-device --job Cup --sequences
	[ -f late/Cup/*/bagit.txt ]
	[ "$(folders late | wc -l)" = "$truth" ]
	rm -r late
}
tap an_offload_that_only_finishes_a_bag_groups_as_well

a_second_run_adds_nothing() {
	folders ssd >before
	answers 0 headrace sequences ssd
	grep -x "in $scratch/here/ssd/Cup/sequences: 0 new folders (link), $truth there before" out
	folders ssd | diff before -
}
tap a_second_run_adds_nothing

the_screen_has_a_line_a_sequence() {
	answers 0 headrace sequences ssd
	[ "$(head -n 1 out | cut -d: -f1)" = "$frames frames" ]
	grep -x 'Cup, 2026-05-16' out
	[ "$(grep -cE '^  [0-2][0-9]:[0-5][0-9]:[0-5][0-9]  [AB]     +[0-9]+ +[0-9.]+ s +[0-9.]+/s  [#.]+' out)" = "$truth" ]
	grep -E '^  -- pause --  1[0-9] min [0-9]{2} s$' out
	[ ! -s err ]
	LC_ALL=C.UTF-8 answers 0 headrace sequences ssd
	[ "$(grep -c '█' out)" -gt 1 ]
}
tap the_screen_has_a_line_a_sequence

no_line_is_wider_than_a_terminal() {
	answers 0 headrace sequences long --fill list
	grep -q 'full after' out
	grep '^  ' out | awk 'length > 80 { print; wide = 1 } END { exit wide }'
}

what_was_stalled_is_marked() {
	demo_card --out long --frames 300 --seed 5 --bodies A --size 96x64 --plain --cadence 30 --buffer 24 --drain 10
	answers 0 headrace sequences long --fill list
	grep -E '  full after [0-9]+, then (9\.[0-9]|10|11)/s$' out
	grep -E '^buffer full in [0-9]+ sequences?: about [0-9]+ frames? lost$' out
}
tap what_was_stalled_is_marked
tap no_line_is_wider_than_a_terminal

json_holds_the_keys_that_were_promised() {
	answers 0 headrace sequences ssd --json
	cp out sequences.json
	jq -e '.schema == 1 and .document == "sequences" and .all_done and (.unknown == [])' out
	jq -e 'all(.sequences[]; (keys_unsorted == ["id","body","start","seconds","frames","bursts","folder"])
		and all(.frames[]; keys_unsorted == ["key","time","files"])
		and all(.bursts[]; keys_unsorted == ["first","last","cadence","stall"]))' out
	jq -e 'all(.singles[]; keys_unsorted == ["key","files"])' out
	[ "$(jq '.sequences | length' out)" = "$truth" ]
	[ "$(jq '([.sequences[].frames[]] | length) + (.singles | length)' out)" = "$frames" ]
	# Bursts cover the frames of their sequence, by index.
	jq -e 'all(.sequences[]; (.frames | length) as $n | all(.bursts[]; .first <= .last and .last < $n))' out
	# Every file and folder that is named stands there.
	jq -r '.sequences[] | .folder, .frames[].files[]' out | while read -r path; do [ -e "$path" ]; done
	jq -e '.sequences[0].start | test("^2026-05-16T1[0-9]:[0-9]{2}:[0-9]{2}[.][0-9]{3}[+]01:00$")' out
	jq -e '[.sequences[].id] | length == (unique | length)' out
	answers 0 headrace sequences ssd --json
	jq -c 'del(.places)' out >again
	jq -c 'del(.places)' sequences.json | diff - again
}
tap json_holds_the_keys_that_were_promised

every_key_stands_in_the_man_page() {
	jq -r 'paths | map(select(type == "string")) | last // empty' sequences.json | sort -u >keys
	printf '%s\n' frame drain_cadence drain_MB_s seconds_full frames_lost confidence trouble jump_ns is_summer_time status >>keys
	while read -r key; do
		grep -qw -- "$key" "$HEADRACE_SOURCE/man/headrace-sequences.1" || echo "$key"
	done <keys | tee missing
	[ ! -s missing ]
}
tap every_key_stands_in_the_man_page

quiet_is_one_line() {
	answers 0 headrace sequences ssd --quiet
	[ "$(wc -l <out)" = 1 ]
	grep "^$frames frames: $truth sequences, " out
}
tap quiet_is_one_line

a_longer_gap_makes_fewer_sequences() {
	answers 0 headrace sequences card --fill list --gap 3600 --json
	[ "$(jq '.sequences | length' out)" -lt "$truth" ]
	answers 0 headrace sequences card --fill list --gap 0.5 --json
	[ "$(jq '.sequences | length' out)" -ge "$truth" ]
}
tap a_longer_gap_makes_fewer_sequences

a_body_bears_the_name_it_is_given() {
	mkdir named
	answers 0 headrace offload card --to named --same-device --job Cup
	answers 0 headrace sequences named --body NM-A-0417=goal --body NM-B-0932=stand
	grep -E '^body goal: [0-9]+ frames, serial NM-A-0417$' out
	[ "$(folders named | grep -cE '_(goal|stand)_[0-9]+f$')" = "$truth" ]
	answers 2 headrace sequences named --body NM-A-0417
	answers 2 headrace sequences named --body NM-A-0417=no/folder
}
tap a_body_bears_the_name_it_is_given

# Each job, sorted by itself, calls its one body A.
two_bodies_never_bear_one_letter() {
	mkdir letters
	for body in A B; do
		demo_card --out "one$body" --bodies $body --frames 100 --size 32x24
		answers 0 headrace offload "one$body" --to letters --same-device --job "job $body" --sequences
		[ -n "$(find "letters/job $body/sequences" -name '*_A_*' | head -n 1)" ]
	done
	answers 0 headrace sequences letters
	grep -E '^body A: .* serial NM-A-' out
	grep -E '^body B: .* serial NM-B-' out
}
tap two_bodies_never_bear_one_letter

a_plot_is_a_new_file_and_the_same_each_time() {
	answers 0 headrace sequences ssd --plot one.svg
	answers 0 headrace sequences ssd --plot other.svg --quiet
	cmp one.svg other.svg
	head -n 1 one.svg | grep '^<?xml '
	grep ">$frames frames in $truth sequences<" one.svg
	answers 1 headrace sequences ssd --plot one.svg
	cmp one.svg other.svg
	answers 1 headrace sequences ssd --plot nowhere/plot.svg
	grep '^headrace: cannot make nowhere/plot.svg: ' err
}
tap a_plot_is_a_new_file_and_the_same_each_time

a_card_is_read_and_never_written_to() {
	find card | sort >before
	answers 0 headrace sequences card
	grep "^in $scratch/here/card: this is a camera's card: nothing is ever written to it$" out
	find card | sort | diff before -
}
tap a_card_is_read_and_never_written_to

a_place_without_frames_is_a_failure() {
	mkdir none
	answers 1 headrace sequences none
	[ ! -s out ]
	grep -x 'headrace: there is no frame in what was named' err
	answers 1 headrace sequences none --json
	jq -e '.sequences == [] and .singles == [] and .unknown == []' out
	answers 1 headrace sequences nowhere
	grep '^headrace: cannot find nowhere' err
	answers 1 headrace sequences nowhere --json
	jq -e '.document == "sequences" and (.all_done | not) and .sequences == []' out
	[ -z "$(find none -mindepth 1)" ]
}
tap a_place_without_frames_is_a_failure

frames_that_cannot_be_read_are_listed_and_the_rest_goes_on() {
	mkdir -p torn/DCIM/100NMERE
	cp card/DCIM/100NMERE/*.JPG torn/DCIM/100NMERE/
	: >torn/DCIM/100NMERE/NMX_0001.JPG
	head -c 100 /dev/urandom >torn/DCIM/100NMERE/NMX_0002.JPG
	answers 0 headrace sequences torn --fill list
	grep -x 'not grouped: 2 frames' out
	grep '^  DCIM/100NMERE/NMX_0001: ' out
	grep '^  DCIM/100NMERE/NMX_0002: ' out
	answers 0 headrace sequences torn --fill list --json
	jq -e '(.unknown | length) == 2 and all(.unknown[]; .trouble != "" and (.files | length) == 1)' out
}
tap frames_that_cannot_be_read_are_listed_and_the_rest_goes_on

an_offload_tells_programs_too() {
	mkdir json lines
	answers 0 headrace offload card --to json --same-device --job Cup --sequences --json
	jq -e ".sequences | .status == \"ok\" and .all_done and .frames == $frames and .sequences == $truth and .places[0].folders_new == $truth" out
	answers 0 headrace offload card --to json --same-device --job Cup --json
	jq -e 'has("sequences") | not' out
	answers 0 headrace offload card --to lines --same-device --job Cup --sequences --json-lines
	[ "$(jq -r .event out | tail -n 2 | paste -sd' ')" = 'sequences result' ]
	jq -e -s "[.[] | select(.event == \"sequences\")][0].sequences == $truth" out
}
tap an_offload_tells_programs_too

# Each link takes a fifth of a second to make: strace, which steps aside to be no parent (-D), sees to it.
a_run_that_is_stopped_is_gone_on_with() {
	mkdir slow
	headrace offload card --to slow --same-device --job Cup --quiet
	env --default-signal=INT ASAN_OPTIONS=detect_leaks=0 strace -D -qq -f -o /dev/null -e trace=linkat \
		-e inject=linkat:delay_enter=200000 headrace sequences slow >out 2>err &
	tap_wait 60 sh -c '[ -n "$(find slow/Cup/sequences -name "0001_*")" ]'
	kill -s INT $!
	status=0
	wait $! || status=$?
	cat out err
	[ $status = 130 ]
	[ ! -s out ]
	grep -x 'headrace: stopped; the same command again goes on' err
	answers 0 headrace sequences slow
	[ "$(folders slow | wc -l)" = "$truth" ]
	[ "$(find slow/Cup/sequences -name '*.JPG' | wc -l)" = "$(jq '[.sequences[].frames[]] | length' sequences.json)" ]
}
tap a_run_that_is_stopped_is_gone_on_with

# A file stands where the folder of sequences belongs.
what_fails_there_leaves_the_verdict_and_is_status_1() {
	mkdir -p full/Cup
	: >full/Cup/sequences
	answers 1 headrace offload card --to full --same-device --job Cup --sequences
	grep '^card card: NOT SAFE to format: ' out
	grep 'verified' out
	tap_fails grep '^not everything is done' out
	answers 0 headrace verify full
}
tap what_fails_there_leaves_the_verdict_and_is_status_1

# Beside it the deadline, for which no file is begun.
what_fails_there_is_status_1_also_at_a_deadline() {
	mkdir -p new/DCIM/100NMERE
	cp card/DCIM/*/*_0001.JPG new/DCIM/100NMERE/
	answers 3 headrace offload new --to full --same-device --job Cup --by 0.001s
	answers 1 headrace offload new --to full --same-device --job Cup --by 0.001s --sequences --json
	jq -e '.stopped_at_deadline and (.sequences.all_done | not)' out
}
tap what_fails_there_is_status_1_also_at_a_deadline

tap_done
