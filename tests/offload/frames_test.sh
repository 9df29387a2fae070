#!/bin/sh
# SPDX-License-Identifier: ISC
# frames.csv through an offload, held against what reading each head by itself says (card_tool rows).
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
headrace=$HEADRACE_BUILD/src/cli/headrace
tool=$HEADRACE_BUILD/tests/card/card_tool
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-frames.XXXXXX")
trap 'rm -rf "$scratch"' EXIT
work=$scratch/ground
export XDG_STATE_HOME="$work/state"

"$HEADRACE_BUILD/tests/support/demo_card" --out "$scratch/card" --frames 600 --raw-every 10 --size 96x64
"$tool" rows "$scratch/card" | sort >"$scratch/rows"

ground() {
	rm -rf "$work"
	mkdir -p "$work/one" "$work/two"
}

offload() {
	"$headrace" offload "$scratch/card" --to "$work/one" --to "$work/two" --same-device --job 'Cup final' "$@"
}

bags() {
	find "$work/one" "$work/two" -name data -type d | sed 's,/data$,,' | sort
}

# The run dies when one place has renamed 500 of its files: proven files with a row, final names without one, temporary names.
# Opening a file and asking about it takes eight milliseconds, so that the run is longer than names wait for a sync (pace.c).
interrupted() {
	ground
	ASAN_OPTIONS=detect_leaks=0 strace -qq -f -o /dev/null -e trace=renameat2,linkat,openat2,openat,statx \
		-e inject=openat2,openat,statx:delay_exit=8000 \
		-e inject=renameat2,linkat:signal=KILL:when=500 "$headrace" offload "$scratch/card" --to "$work/one" --to "$work/two" \
		--same-device --job 'Cup final' --quiet || :
	[ -n "$(find "$work/one" "$work/two" -name '.NM*.part')" ]
	[ -z "$(find "$work/one" "$work/two" -name bagit.txt)" ]
}

expect_valid() {
	(cd "$1" && sha256sum --quiet -c manifest-sha256.txt && sha256sum --quiet -c tagmanifest-sha256.txt)
	"$headrace" verify --quiet "$1"
}

every_bag_has_the_row_of_every_picture_and_clip() {
	ground
	offload
	[ "$(bags | wc -l)" = 2 ]
	[ "$(wc -l <"$scratch/rows")" -gt 650 ] # 600 frames, raw twins of each tenth, a clip
	[ "$(cut -d, -f1 "$scratch/rows" | sed 's/.*\.//' | sort -u | tr '\n' ' ')" = 'DNG JPG MOV ' ]
	bags | while read -r bag; do
		sed 1d "$bag/frames.csv" | sort | cmp - "$scratch/rows"
		head -n 1 "$bag/frames.csv" | grep -q '^path,frame,time_ns,resolution_ns,.*,trouble$'
		grep -q '  frames.csv$' "$bag/tagmanifest-sha256.txt"
		expect_valid "$bag"
	done
}

a_killed_run_that_goes_on_has_right_rows_or_none() {
	interrupted
	left=$(cat "$work"/*/*/*/.frames.csv.part 2>/dev/null | wc -l)
	proven=$(cat "$work"/*/*/*/.files.csv.part | grep '\.\(JPG\|DNG\|MOV\),' | wc -l)
	[ "$proven" -gt 0 ]
	offload
	bags | while read -r bag; do
		[ "$(find "$bag" -name '.*.part' | wc -l)" = 0 ]
		[ "$(grep -c '^path,' "$bag/frames.csv")" = 1 ]
		sed 1d "$bag/frames.csv" | sort -u >"$scratch/got"
		[ -z "$(comm -23 "$scratch/got" "$scratch/rows")" ]
		expect_valid "$bag"
	done
	# What was not proven before is read in this run, also what stood there unproven: in both bags together no more rows are
	# missing than rows of files were proven.
	there=$(bags | while read -r bag; do sed 1d "$bag/frames.csv" | sort -u; done | wc -l)
	echo "$left lines were left, $proven pictures proven, $there rows in the end"
	[ $((2 * $(wc -l <"$scratch/rows") - there)) -le "$proven" ]
}

a_log_that_cannot_be_written_costs_a_note_and_no_copy() {
	interrupted
	bags | while read -r bag; do
		rm -f "$bag/.frames.csv.part"
		mkdir "$bag/.frames.csv.part"
	done
	offload >"$scratch/said" 2>&1
	cat "$scratch/said"
	[ "$(grep -c 'frames.csv is not written any further' "$scratch/said")" = 2 ]
	bags | while read -r bag; do
		[ ! -e "$bag/frames.csv" ]
		expect_valid "$bag"
	done
}

a_dry_run_writes_none() {
	ground
	offload --dry-run
	[ -z "$(find "$work/one" "$work/two" -mindepth 1)" ]
}

a_card_without_pictures_has_none() {
	ground
	mkdir -p "$work/notes/MISC"
	echo 'team sheet' >"$work/notes/MISC/SHEET.TXT"
	"$headrace" offload "$work/notes" --to "$work/one" --any-folder --same-device --quiet --job 'Cup final'
	bag=$(bags)
	[ ! -e "$bag/frames.csv" ]
	expect_valid "$bag"
}

tap every_bag_has_the_row_of_every_picture_and_clip
tap a_killed_run_that_goes_on_has_right_rows_or_none
tap a_log_that_cannot_be_written_costs_a_note_and_no_copy
tap a_dry_run_writes_none
tap a_card_without_pictures_has_none
tap_done
