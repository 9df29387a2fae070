#!/bin/sh
# SPDX-License-Identifier: ISC
# Random hostile cards, each made by its seed: a folder, a right archive of hostile entries, a torn archive (hostile_cards.pl). The run
# ends by itself within a minute and 128 MB, with a status that fits; nothing but the places and the ledger is written to; of a folder and of
# a right archive every file that must arrive does; what arrived from a torn zip under a file's name is that file; every bag is valid.
set -eu
rounds_default=12
. "$HEADRACE_SOURCE/tests/faults/rounds.sh"
. "$HEADRACE_SOURCE/tests/faults/hostile.sh"
if strace -o "$scratch/trace" true 2>/dev/null; then can_trace=yes; fi
peak_max_kb=128000

# Pairs of content and name that arrived.
arrived_in() {
	bag=$(bag_in "$1")
	[ -z "$bag" ] || contents "$bag/data"
}

bags_are_valid() {
	[ -z "$(find one two -maxdepth 3 -name bagit.txt)" ] || "$headrace" verify one two --json | jq -e .all_valid
}

folder_round() {
	perl "$faults/hostile_cards.pl" folder "$seed" deep/down/card >../told
	offload 0
	delivered_whole
}

# An image is made of a folder of frames, each of which holds its name over and over, and torn.
make_image() {
	mkdir -p ../image/DCIM/100NMERE
	for number in 1 2 3 4 5 6 7 8; do
		yes "N$number.JPG of $seed" | head -c $((number * 3000)) >../image/DCIM/100NMERE/N$number.JPG
	done
	genisoimage -quiet -R -J -no-pad -o "$card" ../image
	perl "$faults/hostile_cards.pl" tear "$seed" "$card"
}

archive_round() {
	card=deep/down/card.${kind#torn-}
	: >../told
	if [ "$kind" = torn-iso ]; then make_image; else perl "$faults/hostile_cards.pl" "$kind" "$seed" "$card" >../told; fi
	offload "$1"
	for place in one two; do
		arrived_in $place >../$place.arrived
	done
}

# What must arrive did, and what was left out stands in the verdict and makes the status.
right_archive_round() {
	archive_round '0 1'
	grep '^must' ../told | cut -d ' ' -f 2,3 | sort -u >../wanted
	for place in one two; do
		comm -23 ../wanted ../$place.arrived >../missing
		[ ! -s ../missing ]
	done
	result ".not_carried >= $(grep -c '^lost' ../told || :) and (.not_carried > 0) == ($status == 1)"
}

# Under the name of one of its files stands one of its contents.
torn_archive_round() {
	archive_round '0 1 4'
	grep -v '^[ml]' ../told | sort -u >../known
	[ "$kind" != torn-zip ] || for place in one two; do
		comm -13 ../known ../$place.arrived | cut -d ' ' -f 2 | sort -u >../others
		cut -d ' ' -f 2 ../known | sort -u | comm -12 - ../others >../wrong
		[ ! -s ../wrong ]
	done
}

one_round() {
	case $((round % 6)) in
	0) kind=folder ;;
	1) kind=zip ;;
	2) kind=torn-zip ;;
	3) kind=tar ;;
	4) kind=torn-tar ;;
	5) kind=torn-iso ;;
	esac
	# Tracing takes longer than all the rest: a run in three.
	hostile_strace=
	[ $((round % 3)) != 0 ] || hostile_strace=${can_trace:-}
	(
		set -ex
		card=
		ground
		case $kind in
		folder) folder_round ;;
		torn-*) torn_archive_round ;;
		*) right_archive_round ;;
		esac
		bags_are_valid
		[ "$peak_kb" -lt "$peak_max_kb" ] || [ -n "${HEADRACE_SANITIZED:-}" ]
		echo "$status" >../status
	) >"$scratch/log" 2>&1
}

rounds_begin "$@"
while rounds_next; do
	set +e
	one_round
	ended=$?
	set -e
	if [ $ended != 0 ]; then
		tail -n 25 "$scratch/log" | cat -v | cut -c 1-300 | sed 's/^/# /'
		rounds_broken "a $kind did harm, or was not delivered"
	else
		rounds_figure "$(echo "$kind" | tr - _)_status_$(cat "$scratch/status")" 1
	fi
done
rounds_end 'a hostile card ends well, and touches nothing but the places and the ledger'
