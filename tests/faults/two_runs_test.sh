#!/bin/sh
# SPDX-License-Identifier: ISC
# Two runs at once, of the same card, in the same place, in the same bag, with one ledger: each is right by itself, or says that another
# is at it. Where there are loop devices the places are two drives, so that a card can become safe.
set -eu
here=$HEADRACE_SOURCE/tests/support
. "$here/tap.sh"
. "$here/media.sh"
. "$here/able.sh"
headrace=$HEADRACE_BUILD/src/cli/headrace
demo_card=$HEADRACE_BUILD/tests/support/demo_card
folder=${TMPDIR:-/var/tmp}
room=$(df --output=avail /dev/shm 2>/dev/null | tail -n 1)
[ "${room:-0}" -lt 500000 ] || folder=/dev/shm
scratch=$(mktemp -d "$folder/headrace-two-runs.XXXXXX")
export XDG_STATE_HOME="$scratch/drives/state" LC_ALL=C TZ=UTC

# Two drives and two cards.
ground() {
	media_begin "$scratch/drives"
	media_at_end 'rm -rf "$scratch/drives/state"'
	cd "$scratch/drives"
	if media_can >/dev/null; then
		media_ext4 one 60
		media_ext4 two 60
	else
		rm -rf one two
		mkdir one two
		same_device=--same-device
	fi
	ln -sfn ../cardA cardA
	ln -sfn ../cardB cardB
}

offload() {
	# shellcheck disable=SC2086 # one word or none
	"$headrace" offload "$@" --to one --to two --job Final $same_device
}

# in_background NAME COMMAND...: its status is in NAME.status when it has ended; what it said in NAME.out and NAME.err.
in_background() {
	name=$1
	shift
	rm -f "$name.status"
	(
		status=0
		"$@" >"$name.out" 2>"$name.err" || status=$?
		echo $status >"$name.status"
	) &
}

# Both end, each with status 0, or refused because of the other.
ended_well() {
	wait
	for name in first second; do
		case $(cat $name.status) in
		0) ;;
		4) grep '^headrace: refused: Another run is copying this card' $name.err ;;
		*)
			cat $name.out $name.err
			return 1
			;;
		esac
	done
	[ "$(cat first.status)" = 0 ] || [ "$(cat second.status)" = 0 ]
}

# Every final name holds the card's bytes, no file is missing, every bag is finished and others find it right.
holds() {
	for place in one two; do
		for card; do
			(cd $card && find . -type f ! -name '.*') | while read -r file; do
				found=no
				for copy in $place/Final/*_"$card"/data/"$file"; do
					cmp "$card/$file" "$copy"
					found=yes
				done
				[ $found = yes ]
			done
		done
		[ -z "$(find $place -name '.*.part')" ]
		for bag in $place/Final/*_card?; do
			[ -e "$bag/bagit.txt" ]
			(cd "$bag" && sha256sum --quiet -c manifest-sha256.txt && sha256sum --quiet -c tagmanifest-sha256.txt)
		done
	done
}

two_offloads_of_one_card_to_the_same_places_are_both_right() {
	ground
	in_background first offload cardA
	in_background second offload cardA
	ended_well
	holds cardA
	expect_safe_where_there_are_drives cardA
}

expect_safe_where_there_are_drives() {
	! media_can >/dev/null || expect_safe "$1"
}

a_bag_that_another_run_goes_on_with_is_left_to_it() {
	ground
	bags_that_are_not_finished
	exec 9<"$(echo one/Final/*_cardA)"
	flock -n 9
	status=0
	offload cardA >out 2>err 9<&- || status=$?
	cat out err
	[ $status = 4 ]
	grep '^headrace: refused: Another run is copying this card to one: wait for it, or stop it\.$' err
	[ -z "$(find one two -name bagit.txt)" ]
	exec 9<&-
	offload cardA
	holds cardA
}

bags_that_are_not_finished() {
	offload cardA >/dev/null
	rm one/Final/*/bagit.txt two/Final/*/bagit.txt
}

two_cards_to_the_same_places_are_both_right() {
	ground
	in_background first offload cardA
	in_background second offload cardB
	ended_well
	holds cardA cardB
	"$headrace" log | grep -c ' Final: card' | grep -x 2
	for card in cardA cardB; do
		expect_safe_where_there_are_drives $card
	done
}

one_ledger_serves_two_runs() {
	ground
	in_background first offload cardA
	in_background second "$headrace" offload cardB --to two --job Other --same-device
	ended_well
	tap_fails grep -h ledger first.err second.err
	[ "$("$headrace" log --json | jq '.runs | length')" = 2 ]
}

# beside STATUSES COMMAND...: the command, again and again while a card is copied, ends with one of these statuses.
beside() {
	statuses=$1
	shift
	in_background first offload cardA
	tries=0
	until [ -e first.status ] && [ $tries -gt 0 ]; do
		status=0
		"$@" >out 2>err || status=$?
		tries=$((tries + 1))
		case " $statuses " in *" $status "*) ;; *)
			cat out err
			return 1
			;;
		esac
		tap_fails grep -E 'differs|damaged|is not what|another file' out err
	done
	wait
	[ "$(cat first.status)" = 0 ]
	holds cardA
}

# A bag that is not finished yet is told as such, with status 1.
verify_beside_an_offload_finds_nothing_wrong() {
	ground
	beside '0 1' "$headrace" verify one two
	"$headrace" verify one two
}

# Safe only when all stands there: else status 9.
safe_when_done() {
	"$headrace" safe cardA || return 1
	for place in one two; do
		diff -r cardA/DCIM $place/Final/*_cardA/data/DCIM || return 9
	done
}

safe_beside_an_offload_never_says_it_too_early() {
	ground
	if media_can >/dev/null && able medium; then
		beside '0 1' safe_when_done
		"$headrace" safe cardA
	else
		beside 1 "$headrace" safe cardA
	fi
}

sequences_beside_an_offload_fill_what_is_there() {
	ground
	mkdir -p one/Final
	beside '0 1' "$headrace" sequences one --fill copy
	"$headrace" sequences one --fill copy
	[ "$(find one/Final/sequences -name '*.JPG' | wc -l)" -gt 0 ]
	for copy in one/Final/sequences/*/*.JPG; do
		name=${copy##*/}
		cmp "$copy" cardA/DCIM/*/"${name#*_}"
	done
}

two_fillings_at_once_make_each_folder_once() {
	ground
	offload cardA
	for round in 1 2 3; do
		rm -rf one/Final/sequences
		in_background first "$headrace" sequences one --fill copy
		in_background second "$headrace" sequences one --fill copy
		wait
		for name in first second; do
			[ "$(cat $name.status)" = 0 ] || grep -hE 'another run|in use|busy' $name.out $name.err
		done
		"$headrace" sequences one --fill copy
		find one/Final/sequences -name '*.JPG' | sed 's#.*/[0-9]*_##' | sort >names
		[ -z "$(uniq -d names)" ]
		[ -z "$(find one/Final/sequences -name '.*.part')" ]
	done
}

two_verifications_at_once_both_find_it_right() {
	ground
	offload cardA
	in_background first "$headrace" verify one two
	in_background second "$headrace" verify one two
	wait
	[ "$(cat first.status second.status | sort -u)" = 0 ]
}

"$demo_card" --out "$scratch/cardA" --seed 7 --frames 60 --bodies A --size 160x107 --bytes 120000 --plain
"$demo_card" --out "$scratch/cardB" --seed 9 --frames 40 --bodies B --size 160x107 --bytes 120000 --plain
tap two_offloads_of_one_card_to_the_same_places_are_both_right
tap a_bag_that_another_run_goes_on_with_is_left_to_it
tap two_cards_to_the_same_places_are_both_right
tap one_ledger_serves_two_runs
tap verify_beside_an_offload_finds_nothing_wrong
tap safe_beside_an_offload_never_says_it_too_early
tap sequences_beside_an_offload_fill_what_is_there
tap two_fillings_at_once_make_each_folder_once
tap two_verifications_at_once_both_find_it_right
rm -rf "$scratch"
tap_done
