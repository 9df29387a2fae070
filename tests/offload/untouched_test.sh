#!/bin/sh
# SPDX-License-Identifier: ISC
# What may not write does not: a dry run and a refusal over what an interrupted run left, held against the system's own
# account of the places (contents, sizes, inodes, times of change) before and after.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
. "$HEADRACE_SOURCE/tests/support/able.sh"
headrace=$HEADRACE_BUILD/src/cli/headrace
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-untouched.XXXXXX")
trap 'rm -rf "$scratch"' EXIT
work=$scratch/ground
export XDG_STATE_HOME="$work/state"

offload() {
	"$headrace" offload "$work/card" --to "$work/one" --to "$work/two" --same-device --job 'Cup final' "$@"
}

ground() {
	rm -rf "$work"
	mkdir -p "$work/card/DCIM/100NMERE" "$work/one" "$work/two"
	for number in $(seq 1001 1600); do
		echo "frame $number" >"$work/card/DCIM/100NMERE/NMA_$number.JPG"
	done
}

# The run dies when one place has renamed 400 of the 600 files: proven files with a row, names without one, temporary files. Opening a
# file and asking about it takes eight milliseconds, so that the run is longer than names wait for a sync (pace.c).
interrupted() {
	ground
	ASAN_OPTIONS=detect_leaks=0 strace -qq -f -o /dev/null -e trace=renameat2,linkat,openat2,openat,statx \
		-e inject=openat2,openat,statx:delay_exit=8000 \
		-e inject=renameat2,linkat:signal=KILL:when=400 "$headrace" offload "$work/card" --to "$work/one" --to "$work/two" \
		--same-device --job 'Cup final' --quiet || :
	[ -n "$(find "$work/one" "$work/two" -name '.NMA_*.part')" ]
	[ -z "$(find "$work/one" "$work/two" -name bagit.txt)" ]
	cat "$work"/*/*/*/.files.csv.part | grep ',direct$\|,evicted$\|,cache$'
}

# As a crash right before the last rename of a finishing leaves it, with nothing in the ledger.
cut_short() {
	ground
	offload --quiet
	rm -rf "$XDG_STATE_HOME"
	for bag in "$work"/one/*/*/ "$work"/two/*/*/; do
		rm "$bag/bagit.txt"
		[ -e "$bag/tagmanifest-sha256.txt" ]
	done
}

tear_the_journals() {
	for journal in "$work"/*/*/*/.files.csv.part "$work"/*/*/*/files.csv; do
		[ ! -e "$journal" ] || printf 'DCIM/100NMERE/NMA_1001.JPG,11,17' >>"$journal"
	done
}

# The ledger's content counts; its folder's times do not, for SQLite may make NAME-wal and NAME-shm anew to read it.
account() {
	find "$work" -path "$work/state/headrace" -prune -o -printf '%p %y %m %s %i %T@ %C@\n' | sort
	find "$work" -type f ! -name 'ledger.db-*' -exec sha256sum {} + | sort
}

# expect_untouched STATUS COMMAND...: it ends so, and nothing has changed.
expect_untouched() {
	wanted=$1
	shift
	account >"$scratch/before"
	status=0
	"$@" >"$scratch/said" 2>&1 || status=$?
	account >"$scratch/after"
	cat "$scratch/said"
	cmp "$scratch/before" "$scratch/after"
	[ "$status" = "$wanted" ]
}

# The run that may write goes on from there and ends well, so what was left untouched was worth going on with.
expect_goes_on() {
	offload
	[ -z "$(find "$work/one" "$work/two" -name '*.part')" ]
	for bag in "$work"/one/*/*/ "$work"/two/*/*/; do
		(cd "$bag" && sha256sum --quiet -c manifest-sha256.txt && sha256sum --quiet -c tagmanifest-sha256.txt)
		[ "$(find "$bag/data" -type f | wc -l)" = 600 ]
	done
}

a_dry_run_leaves_an_interrupted_run_as_it_was() {
	interrupted
	expect_untouched 0 offload --dry-run
	grep 'files kept from an interrupted run' "$scratch/said"
	expect_goes_on
}

a_dry_run_leaves_a_torn_journal_as_it_was() {
	interrupted
	tear_the_journals
	expect_untouched 0 offload --dry-run
	expect_goes_on
}

# A build that cannot tell one card from another of its size has the files read back and compared again.
keeps_all() {
	if able volumes; then
		grep '600 files kept from an interrupted run' "$scratch/said"
	else
		grep 'to copy: 600 files' "$scratch/said"
	fi
}

a_dry_run_leaves_a_finishing_cut_short_as_it_was() {
	cut_short
	expect_untouched 0 offload --dry-run
	keeps_all
	expect_goes_on
}

a_dry_run_leaves_both_at_once_as_they_were() {
	cut_short
	tear_the_journals
	expect_untouched 0 offload --dry-run
	keeps_all
	expect_goes_on
}

a_refusal_leaves_an_interrupted_run_as_it_was() {
	interrupted
	tear_the_journals
	expect_untouched 4 offload --to "$work/three"
	grep 'nothing was written' "$scratch/said"
	expect_goes_on
}

a_refusal_leaves_a_finishing_cut_short_as_it_was() {
	cut_short
	tear_the_journals
	expect_untouched 4 offload --to "$work/card/DCIM"
	expect_goes_on
}

tap a_dry_run_leaves_an_interrupted_run_as_it_was
tap a_dry_run_leaves_a_torn_journal_as_it_was
tap a_dry_run_leaves_a_finishing_cut_short_as_it_was
tap a_dry_run_leaves_both_at_once_as_they_were
tap a_refusal_leaves_an_interrupted_run_as_it_was
tap a_refusal_leaves_a_finishing_cut_short_as_it_was
tap_done
