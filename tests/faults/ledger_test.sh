#!/bin/sh
# SPDX-License-Identifier: ISC
# The ledger is a memory and not the truth: whatever is wrong with it costs a warning and never a copy, and no card becomes safe by it.
set -eu
here=$HEADRACE_SOURCE/tests/support
. "$here/tap.sh"
. "$here/media.sh"
headrace=$HEADRACE_BUILD/src/cli/headrace
demo_card=$HEADRACE_BUILD/tests/support/demo_card
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-ledgers.XXXXXX")
trap 'umount "$scratch/state" 2>/dev/null || :; rm -rf "$scratch"' EXIT
export XDG_STATE_HOME="$scratch/state" LC_ALL=C TZ=UTC
ledger=$scratch/state/headrace/ledger.db
cd "$scratch"

# A card, two places that are empty, and a ledger that knows of one copy of it in a third.
ground() {
	umount state 2>/dev/null || :
	rm -rf one two third state
	mkdir one two third
	"$headrace" offload card --to third --same-device --job Final --quiet >/dev/null
	[ -s "$ledger" ]
}

# With that ledger the card is copied, and said to be, with a warning that has these words; `safe` does not say so.
copies_and_warns() {
	begun=$(date +%s)
	status=0
	"$headrace" offload card --to one --to two --same-device --job Final >out 2>err || status=$?
	cat out err
	[ $status = 0 ]
	[ $(($(date +%s) - begun)) -lt 60 ]
	grep -iE "^headrace: .*($1)" err
	for place in one two; do
		diff -r card $place/Final/*_card/data
		[ -e $place/Final/*_card/bagit.txt ]
	done
	is_not_safe
}

is_not_safe() {
	status=0
	"$headrace" safe card >out 2>err || status=$?
	cat out err
	[ $status = 1 ]
	grep '^card card: NOT SAFE to format: ' out
}

# overwrite OFFSET BYTES-IN-HEX
overwrite() {
	perl -e '
		open(my $file, "+<:raw", $ARGV[0]) or die $!;
		seek($file, $ARGV[1], 0);
		print $file pack("H*", $ARGV[2]);' "$ledger" "$1" "$2"
}

a_ledger_that_is_read_only_costs_a_warning() {
	ground
	read_only
	copies_and_warns 'ledger.*(read-only|denied|not used)'
	writable
}

# Permissions do not bind the superuser, a mount does.
read_only() {
	if media_can >/dev/null; then
		mount --bind state state
		mount -o remount,bind,ro state
	else
		chmod -R a-w state
	fi
}

writable() {
	umount state 2>/dev/null || chmod -R u+w state
}

a_volume_without_room_for_the_ledger_costs_a_warning() {
	ground
	cp -a state full
	mount -t tmpfs -o size=256k headrace-full state
	cp -a full/. state
	rm -rf full
	head -c 300000 /dev/zero >state/rest 2>/dev/null || :
	copies_and_warns 'ledger.*(room|full|space|I/O error)'
	umount state
}

a_ledger_that_another_holds_for_long_costs_a_warning() {
	ground
	printf 'BEGIN IMMEDIATE;\nSELECT count(*) FROM card;\n.shell while [ ! -e release ]; do sleep 0.1; done\n' | sqlite3 "$ledger" >held 2>&1 &
	tap_wait 10 test -s held
	copies_and_warns 'ledger.*in use by another program'
	touch release
	wait
	rm release held
}

no_ledger_is_a_folder_of_that_name() {
	ground
	rm "$ledger"*
	mkdir "$ledger"
	copies_and_warns 'ledger'
}

a_ledger_of_a_newer_headrace_is_left_as_it_is() {
	ground
	overwrite 60 00000063 # PRAGMA user_version
	cp "$ledger" before
	copies_and_warns 'newer headrace'
	cmp "$ledger" before
}

a_database_of_another_program_is_left_as_it_is() {
	ground
	overwrite 68 00000000 # PRAGMA application_id
	cp "$ledger" before
	copies_and_warns 'ledger'
	cmp "$ledger" before
}

a_ledger_cut_off_in_the_middle_costs_a_warning() {
	ground
	truncate -s $(($(stat -c %s "$ledger") / 2 / 4096 * 4096)) "$ledger"
	copies_and_warns 'ledger'
}

a_folder_for_the_ledger_that_cannot_be_made_costs_a_warning() {
	ground
	rm -r state
	echo >state
	copies_and_warns 'ledger'
	rm state
}

no_home_at_all_costs_a_warning() {
	ground
	(
		unset XDG_STATE_HOME HOME
		copies_and_warns 'HOME|ledger'
	)
}

without_a_state_folder_the_ledger_stands_below_home() {
	ground
	(
		unset XDG_STATE_HOME
		HOME=$scratch/home
		export HOME
		"$headrace" offload card --to one --same-device --job Final
		[ -s home/.local/state/headrace/ledger.db ]
	)
}

# Forty bytes, anywhere or in the header alone: the ledger may be read or not, but nothing makes the card safe, and each is copied.
damage() {
	perl -e '
		my ($path, $seed, $within) = @ARGV;
		open(my $file, "+<:raw", $path) or die $!;
		srand $seed;
		my $size = $within || -s $file;
		for (1 .. 40) {
			seek($file, int rand $size, 0);
			print $file chr int rand 256;
		}' "$ledger" "$1" "$2"
}

damage_of_any_kind_makes_no_card_safe_and_stops_no_copy() {
	ground
	cp "$ledger" sound
	for seed in 1 2 3 4 5 6 7 8 9 10 11 12; do
		rm -rf one two "$ledger"*
		mkdir one two
		cp sound "$ledger"
		within=0
		[ $((seed % 3)) != 0 ] || within=100
		damage $seed $within
		is_not_safe
		"$headrace" offload card --to one --to two --same-device --job Final >out 2>err
		for place in one two; do
			diff -r card $place/Final/*_card/data
		done
		is_not_safe
	done
}

"$demo_card" --out card --seed 7 --frames 6 --bodies A --size 64x48 --plain
tap a_ledger_that_is_read_only_costs_a_warning
if media_can >/dev/null; then
	tap a_volume_without_room_for_the_ledger_costs_a_warning
else
	tap_skip a_volume_without_room_for_the_ledger_costs_a_warning "not root"
fi
tap a_ledger_that_another_holds_for_long_costs_a_warning
tap no_ledger_is_a_folder_of_that_name
tap a_ledger_of_a_newer_headrace_is_left_as_it_is
tap a_database_of_another_program_is_left_as_it_is
tap a_ledger_cut_off_in_the_middle_costs_a_warning
tap a_folder_for_the_ledger_that_cannot_be_made_costs_a_warning
tap no_home_at_all_costs_a_warning
tap without_a_state_folder_the_ledger_stands_below_home
tap damage_of_any_kind_makes_no_card_safe_and_stops_no_copy
tap_done
