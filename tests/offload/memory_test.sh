#!/bin/sh
# SPDX-License-Identifier: ISC
# How much memory a run takes, by GNU time: a card of 40,000 files into eight places, killed near its end, and gone on with.
# The files are empty, so that memory is what each of them costs and nothing else.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
headrace=$HEADRACE_BUILD/src/cli/headrace
files=40000
# In memory where there is room for the entries, else it takes minutes.
folder=${TMPDIR:-/var/tmp}
room=$(df --output=iavail /dev/shm 2>/dev/null | tail -n 1)
[ "${room:-0}" -lt 500000 ] || folder=/dev/shm
scratch=$(mktemp -d "$folder/headrace-memory.XXXXXX")
trap 'rm -rf "$scratch"' EXIT
export XDG_STATE_HOME="$scratch/state"
cd "$scratch"

set --
for place in 1 2 3 4 5 6 7 8; do
	mkdir "place$place"
	set -- "$@" --to "place$place"
done
for folder in $(seq 100 $((100 + files / 1000 - 1))); do
	mkdir -p "card/DCIM/${folder}NMERE"
	(cd "card/DCIM/${folder}NMERE" && seq -f 'NMA_%04.0f.JPG' 1000 | xargs touch -d 2026-05-16)
done

# measure PEAK COMMAND...: the peak, in kB, into a file; the command's process number into `pid`.
measure() {
	peak=$1
	shift
	# shellcheck disable=SC2016
	/usr/bin/time --quiet -f %M -o "$peak" sh -c 'echo $$ >pid; exec "$@"' sh "$@"
}

# The eight places come to their end one after another: the last is waited for.
measure first "$headrace" offload card "$@" --same-device --job 'Cup final' --quiet >/dev/null 2>&1 &
timer=$!
rows=0
while kill -0 $timer 2>/dev/null && [ "$rows" -lt $((files * 9 / 10)) ]; do
	rows=$(cat place8/*/*/.files.csv.part 2>/dev/null | wc -l)
	sleep 0.1
done
kill -KILL "$(cat pid)" 2>/dev/null || :
first_status=0 status=0
wait $timer || first_status=$?
measure second "$headrace" offload card "$@" --same-device --job 'Cup final' --quiet >said 2>&1 || status=$?

was_interrupted_with_most_rows_in_every_place() {
	cat said
	[ "$rows" -ge $((files * 9 / 10)) ]
	[ "$first_status" = 137 ]
	[ "$status" = 0 ]
	[ "$(find . -name bagit.txt | wc -l)" = 8 ]
}

# 64 MB are the engine's (32 MB of blocks, 4 MB a place), 1 kB a file all else.
takes_less_than_64_mb_and_a_kilobyte_a_file() {
	cat first second
	[ "$(sort -n first second | tail -n 1)" -lt $((64000 + files)) ]
}

tap was_interrupted_with_most_rows_in_every_place
tap takes_less_than_64_mb_and_a_kilobyte_a_file
tap_done
