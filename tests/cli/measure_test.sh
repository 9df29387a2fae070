#!/bin/sh
# SPDX-License-Identifier: ISC
# Measuring real volumes whose speed is known: limited by the kernel, or played in memory (tests/support/medium.c). Figures are held against
# the limits, never against a clock. Witnesses: jq, find.
set -eu
here=$HEADRACE_SOURCE/tests/support
. "$here/tap.sh"
. "$here/media.sh"
. "$here/able.sh"
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-measure.XXXXXX")
headrace=$HEADRACE_BUILD/src/cli/headrace
HEADRACE_MEDIUM=$HEADRACE_BUILD/tests/support/medium

ground() {
	media_begin "$scratch/volumes"
	export XDG_STATE_HOME="$scratch/volumes/state"
	rm -rf "$XDG_STATE_HOME"
	cd "$scratch/volumes"
}

# A card of raws of 24 MB and many small pictures.
a_card() {
	media_ext4 card 300
	mkdir -p card/DCIM/100NMERE
	for number in 1 2 3 4 5 6 7 8; do
		head -c 24000000 /dev/urandom >card/DCIM/100NMERE/NMA_000$number.RAW
	done
	for number in $(seq 101 500); do
		head -c 61441 /dev/urandom >card/DCIM/100NMERE/NMA_0$number.JPG
	done
	media_drop card
}

# measure PATH SECONDS
measure() {
	"$headrace" measure --json --seconds "$2" "$1" >told.json
	cat told.json
}

# near VALUE LIMIT [LEAST]: within 15 %, which is what a machine that is busy otherwise may cost; alone it is under 8.
near() {
	jq -e "(.paths[] | $1) as \$value | \$value > ${3:-0.85} * $2 and \$value < 1.15 * $2" told.json
}

nothing_is_left() { [ -z "$(find "$1" -mindepth 1 ! -name lost+found)" ]; }

reads_a_card_as_fast_as_its_limit_allows() {
	ground
	a_card
	media_throttle card 80 0
	measure card 4 # of which three fifths are for large files
	near .read_MB_s 80
	jq -e '.paths[0] | .is_card and .write_MB_s == null and .read_back_MB_s == null and .file_cost_ms != 0' told.json
	jq -e '.paths[0].directions | length == 1 and (.[0].is_cache | not) and .[0].slowest_second_MB_s < 92' told.json
}

writes_and_reads_back_a_drive_as_fast_as_its_limits_allow() {
	ground
	media_ext4 ssd 700
	media_throttle ssd 70 50
	measure ssd 2
	near .write_MB_s 50
	near .read_back_MB_s 70
	near .read_MB_s 70
	# For as long as it was told to, and what a window took longer.
	jq -e '.paths[0].directions | length == 2 and all(.seconds > 1 and .seconds < 2.8)' told.json
	# One limit for reading and one for writing: neither costs the other anything.
	jq -e '.paths[0].together > 1.5' told.json
	nothing_is_left ssd
}

takes_no_second_reading_from_memory_for_speed() {
	ground
	media_exfat ssd 400
	media_throttle ssd 70 50
	measure ssd 2
	near .write_MB_s 50 0.7
	near .read_back_MB_s 70 0.7
	jq -e '.paths[0].together == null' told.json
	nothing_is_left ssd
}

sees_that_a_drive_has_one_budget_for_both() {
	ground
	media_drive disk 700 120
	measure disk 2
	# It waits for the next request, as the engine writes too, and the longer the busier the machine.
	near .write_MB_s 120 0.6
	near .read_back_MB_s 120 0.6
	# Above 1, because two waiting leave it idle less than one.
	jq -e '.paths[0].together > 0.8 and .paths[0].together < 1.4' told.json
	nothing_is_left disk
}

sees_what_a_file_costs_where_heads_travel() {
	ground
	media_drive disk 700 120 8
	measure disk 2
	jq -e '[.paths[0].directions[].file_cost_ms] | add > 0.1' told.json
	nothing_is_left disk
}

gives_a_forecast_its_rates() {
	ground
	a_card
	media_ext4 ssd 700
	media_throttle card 80 0
	media_throttle ssd 60 40
	"$headrace" measure card ssd --quiet --seconds 4
	"$headrace" forecast card --to ssd --json >told.json
	cat told.json
	jq -e '.is_measured and .bottleneck.stage == "place"' told.json
	jq -e '.stages[] | select(.stage == "write") | .is_measured and .rate_MB_s > 34 and .rate_MB_s < 46' told.json
	jq -e '.stages[] | select(.stage == "read") | .is_measured and .rate_MB_s > 68 and .rate_MB_s < 92' told.json
}

finds_where_a_fast_cache_ends() {
	ground
	media_ext4 ssd 2400
	media_throttle ssd 0 100
	(
		tap_wait 60 test -e ssd/.headrace-measure/sustained-0
		sleep 3
		media_throttle ssd 0 25
	) &
	"$headrace" measure ssd --sustained --seconds 25 --json >told.json
	wait $!
	cat told.json
	near .sustained_MB_s 25
	# Whole seconds of it are known; what was written before it began fills a cache too.
	jq -e '.paths[0].fast_cache_bytes > 300000000 and .paths[0].fast_cache_bytes < 1400000000' told.json
	nothing_is_left ssd
}

account() {
	find "$1" -printf '%p %y %m %s %i %T@ %C@\n' | sort
	find "$1" -type f -printf '%p read %A@\n' | sort
}

writes_nothing_on_a_card() {
	ground
	a_card
	able volumes || { media_unmount card && media_mount card noatime; } # POSIX alone has no reading that leaves no time
	account card >before
	media_limit card read 80
	"$headrace" measure card --quiet --seconds 1
	account card | diff before -
	media_unmount card
	media_mount card ro
	"$headrace" measure card --quiet --seconds 1
}

refuses_a_drive_that_is_read_only_or_full() {
	ground
	media_ext4 ssd 100
	head -c 85000000 /dev/zero >ssd/CLIP.MOV
	tap_fails "$headrace" measure ssd 2>err
	grep 'too little is free' err
	[ "$(ls -A ssd)" = CLIP.MOV ]
	media_unmount ssd
	media_mount ssd ro
	tap_fails "$headrace" measure ssd 2>err
	grep -i 'read-only' err
}

is_measuring() { [ -s ssd/.headrace-measure/stream-0 ]; }

leaves_nothing_when_it_is_interrupted() {
	ground
	media_ext4 ssd 700
	media_throttle ssd 50 50
	for signal in INT TERM; do
		status=0
		env --default-signal=INT "$headrace" measure ssd --progress=lines 2>err &
		tap_wait 60 is_measuring
		kill -s "$signal" $!
		wait $! || status=$?
		[ "$status" -gt 128 ]
		grep '^headrace: stopping; what was written to measure is removed$' err
		nothing_is_left ssd
	done
}

removes_what_a_killed_one_left() {
	ground
	media_ext4 ssd 700
	media_throttle ssd 50 50
	"$headrace" measure ssd --quiet &
	tap_wait 60 is_measuring
	kill -s KILL $!
	wait $! || :
	[ -n "$(ls ssd/.headrace-measure)" ]
	media_unthrottle ssd
	"$headrace" measure ssd --quiet --seconds 1
	nothing_is_left ssd
}

puts_two_drives_side_by_side() {
	ground
	media_ext4 ssd 400
	media_ext4 backup 400
	media_throttle ssd 80 60
	media_throttle backup 40 30
	"$headrace" measure ssd backup --compare --plot bars.svg --seconds 2 >table
	cat table
	grep -E '^ +[0-9]+ MB/s .* drive .*/ssd$' table
	grep -E '^ +[0-9]+ MB/s .* drive .*/backup$' table
	[ "$(grep -c '^<rect class="\(from\|to\)"' bars.svg)" = 4 ]
	grep 'Fastest to copy from: .*/ssd, ' bars.svg
	tap_fails "$headrace" measure ssd backup --compare --plot bars.svg --seconds 1 2>err
	grep 'cannot make bars.svg' err
}

if able medium; then
	tap_if throttle reads_a_card_as_fast_as_its_limit_allows writes_and_reads_back_a_drive_as_fast_as_its_limits_allow \
		gives_a_forecast_its_rates
	tap_if drive sees_that_a_drive_has_one_budget_for_both sees_what_a_file_costs_where_heads_travel
	tap_if "exfat throttle" takes_no_second_reading_from_memory_for_speed
	tap_if throttle finds_where_a_fast_cache_ends
fi
tap_if throttle writes_nothing_on_a_card leaves_nothing_when_it_is_interrupted removes_what_a_killed_one_left puts_two_drives_side_by_side
tap_if "" refuses_a_drive_that_is_read_only_or_full
rm -rf "$scratch"
tap_done
