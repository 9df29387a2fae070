#!/bin/sh
# SPDX-License-Identifier: ISC
# `headrace forecast`, and `headrace offload --by`, on volumes whose devices have a set speed. Times are held against what the speeds allow,
# with room for a machine that is busy.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
. "$HEADRACE_SOURCE/tests/support/media.sh"
headrace=$HEADRACE_BUILD/src/cli/headrace
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-forecast.XXXXXX")
trap 'rm -rf "$scratch"' EXIT
export XDG_STATE_HOME="$scratch/state"
cd "$scratch"

# folders COUNT MB: a card of so many frames of so many MB, and two places, all on this machine's disk
folders() {
	rm -rf plain "$XDG_STATE_HOME"
	mkdir -p plain/card/DCIM/100NMERE plain/a plain/b
	for i in $(seq "$1"); do head -c "${2}000000" /dev/zero >"plain/card/DCIM/100NMERE/NMA_$(printf %04d "$i").DNG"; done
}

forecast() {
	"$headrace" forecast plain/card --to plain/a --to plain/b --same-device --quiet "$@"
}

says_the_times_first() {
	folders 3 1
	forecast | head -n 1 | grep -E '^copied in .* s, verified in .* s \(.* to .*\)$'
	"$headrace" forecast plain/card --to plain/a --same-device 2>/dev/null | tail -n 1 | grep -x 'A forecast is not a promise: pull no card on its word.'
}

writes_nothing() {
	folders 3 1
	forecast >/dev/null
	[ -z "$(find plain/a plain/b -mindepth 1)" ]
	[ ! -e state ]
}

has_the_keys_that_are_promised() {
	folders 4 1
	forecast --by 1h --json | jq -e '
		.document == "forecast" and .files == 4 and .bytes == 4000000 and
		.verified_s.low < .verified_s.mid and .verified_s.mid < .verified_s.high and .copied_s.mid <= .verified_s.mid and
		(.bottleneck | has("stage") and has("device") and has("rate_MB_s")) and
		(.stages | length) == 5 and (.what_if | type) == "array" and
		.by.deadline_s == 3600 and .by.files == 4 and .by.frames == 4 and .by.bytes == 4000000 and (.by.last | startswith("DCIM/"))'
	forecast --json | jq -e '.by == null'
}

says_when_there_is_nothing_to_copy() {
	folders 2 1
	"$headrace" offload plain/card --to plain/a --same-device --quiet >/dev/null || [ $? = 1 ]
	[ "$("$headrace" forecast plain/card --to plain/a --same-device --quiet 2>/dev/null)" = 'nothing to copy: every file is there and proven' ]
	: >plain/card/DCIM/100NMERE/NMA_0003.DNG
	"$headrace" forecast plain/card --to plain/a --same-device >out
	tap_fails grep 'nothing to copy' out
	grep -x '  to copy: 1 file, 0 B' out
}

# Listing a folder takes a while: strace, which steps aside to be no parent (-D), sees to it. The deadline is over before all are.
counts_a_deadline_from_when_it_was_asked() {
	folders 3 1
	forecast --by 2s --json | jq -e '.by.files == 3'
	ASAN_OPTIONS=detect_leaks=0 strace -D -qq -f -o /dev/null -e trace=getdents64 -e inject=getdents64:delay_enter=400000 \
		"$headrace" forecast plain/card --to plain/a --to plain/b --same-device --quiet --by 2s --json >out
	jq -e '.files == 3 and .by.deadline_s == 2 and .by.files == 0' out
}

# Without its ledger a forecast is a guess, and says why.
warns_of_what_an_offload_would() {
	folders 2 1
	echo 'no ledger' >damaged
	"$headrace" forecast plain/card --to plain/a --same-device --ledger damaged --json >out 2>err
	grep '^headrace: warning: The ledger cannot be read (' err
	jq -e '.warnings | any(startswith("The ledger cannot be read ("))' out
	"$headrace" forecast plain/card --to plain/a --same-device --ledger damaged --quiet 2>err
	[ ! -s err ]
	"$headrace" forecast plain/card --to plain/a --same-device --json | jq -e '.warnings | any(startswith("The ledger")) | not'
}

refuses_what_offload_refuses() {
	folders 1 1
	status=0
	"$headrace" forecast plain/card --to plain/missing >out 2>err || status=$?
	[ "$status" = 4 ]
	[ ! -s out ]
	grep -q '^headrace: refused: ' err
	status=0
	"$headrace" forecast plain/card --to plain/a --by noon 2>err || status=$?
	[ "$status" = 2 ]
	grep -q 'as 12min, 90s, 1h or 15:42' err
}

# A card of 40 MB/s, a place that writes and reads at 100: the card sets the time, and 320 MB take 8 s and a little. Each case has its own, in its own shell.
slow_devices() {
	media_begin "$scratch/volumes"
	cd "$scratch/volumes"
	rm -rf "$XDG_STATE_HOME"
	media_ext4 card 500
	media_ext4 place 800
	mkdir -p card/DCIM/100NMERE
	for i in $(seq 80); do head -c 4000000 /dev/zero >"card/DCIM/100NMERE/NMA_$(printf %04d "$i").DNG"; done
	media_drop card
	media_throttle card 40 0
	media_throttle place 100 100
}

stops_for_the_deadline_and_goes_on_later() {
	slow_devices
	status=0
	began=$(date +%s.%N)
	"$headrace" offload card --to place --by 5s --json >out 2>/dev/null || status=$?
	[ "$status" = 3 ]
	awk -v a="$began" -v b="$(date +%s.%N)" 'BEGIN { exit !(b - a < 5.5) }'
	jq -e '.stopped_at_deadline and (.all_done | not) and .cards[0].places[0].files_failed == 0 and
		.cards[0].places[0].files_proven > 0 and .cards[0].places[0].files_proven + .cards[0].places[0].files_missing == 80' out
	[ -z "$(find place -name bagit.txt)" ]
	[ -z "$(find place/*/*/data -name '*.part')" ]
	[ "$("$headrace" log --json | jq -r '.runs[0].outcome')" = deadline ]
	"$headrace" offload card --to place --json >out 2>/dev/null
	jq -e '.all_done and .cards[0].places[0].files_proven < 80' out
	"$headrace" verify place
	[ "$(find place -name '*.DNG' | wc -l)" = 80 ]
}

takes_the_newest_first_by_a_deadline() {
	slow_devices
	touch -d '2031-05-17 15:00' card/DCIM/100NMERE/NMA_0080.DNG
	status=0
	"$headrace" offload card --to place --by 4s --first newest >/dev/null 2>&1 || status=$?
	[ "$status" = 3 ]
	[ -n "$(find place -name NMA_0080.DNG)" ]
	[ -z "$(find place -name NMA_0001.DNG)" ]
}

needs_no_stop_where_all_fits() {
	slow_devices
	"$headrace" offload card --to place --by 1h >out
	tap_fails grep -q deadline out
}

# 320 MB at 40 MB/s are 8 s; a measurement may be off by some.
foresees_what_measured_speeds_allow() {
	slow_devices
	"$headrace" forecast card --to place --json | jq -e '.is_measured | not'
	"$headrace" measure card place --seconds 2 >/dev/null
	"$headrace" forecast card --to place --json >foreseen
	jq -c '.verified_s, .stages[]' foreseen
	jq -e '.is_measured and .bottleneck.stage == "card" and .verified_s.mid > 7 and .verified_s.mid < 10' foreseen
}

tap says_the_times_first
tap writes_nothing
tap has_the_keys_that_are_promised
tap says_when_there_is_nothing_to_copy
tap counts_a_deadline_from_when_it_was_asked
tap warns_of_what_an_offload_would
tap refuses_what_offload_refuses
tap_if throttle stops_for_the_deadline_and_goes_on_later takes_the_newest_first_by_a_deadline needs_no_stop_where_all_fits \
	foresees_what_measured_speeds_allow
tap_done
