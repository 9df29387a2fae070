#!/bin/sh
# SPDX-License-Identifier: ISC
# Nothing is wrong, and nothing must be said to be: cards of all shapes, as folder, tar or zip, now and then with real pictures, go
# to two drives of their own; offload, verify and safe are right about each, and sha256sum finds the card in both.
set -eu
. "$HEADRACE_SOURCE/tests/faults/ground.sh"
. "$HEADRACE_SOURCE/tests/faults/rounds.sh"
. "$HEADRACE_SOURCE/tests/faults/any_card.sh"
claim='a sound card on sound drives is never accused'
rounds_default=8
rounds_begin "$@"
rounds_need "$claim" media_can
media_begin "$scratch"
trap 'media_end; rm -rf "$scratch"' EXIT
ground_folder
media_ext4 one 100
media_ext4 two 100

# The card as a folder and, for some seeds, packed: $card is what is offloaded.
make_card() {
	rm -rf card card.tar card.zip card.truth.csv
	any_card card "$seed" $((1 + seed % 23))
	[ $((round % 10)) != 4 ] || "$HEADRACE_BUILD/tests/support/demo_card" --out card --seed "$seed" --frames 4 --size 240x160 --raw-every 2
	card=card
	case $((seed % 5)) in
	3)
		card=card.tar
		tar -cf card.tar -C card .
		;;
	4)
		card=card.zip
		(cd card && zip -qr ../card.zip .)
		;;
	esac
	rounds_figure "${card#card.}s" 1
	any_card_sums card >card.sums
	rounds_figure files "$(wc -l <card.sums)"
}

one_round() {
	make_card
	rm -rf one/* two/*
	# shellcheck disable=SC2086 # none or one word
	"$headrace" offload "$card" --to one --to two $same_device --job 'Cup final' >said 2>complaints || rounds_broken "offload ended with $?"
	[ ! -s complaints ] || [ -n "$same_device" ] || rounds_broken "offload complained: $(cat complaints)"
	! able medium || grep -q "^card $card: SAFE to format" said || rounds_broken "offload said: $(head -n 1 said)"
	"$headrace" verify one two --json >verified 2>complaints || rounds_broken "verify ended with $?"
	jq -e '(.bags | length) == 2 and all(.bags[]; .verdict == "valid" and .problems == [])' verified >/dev/null || rounds_broken "verify: $(cat verified)"
	expect_safe "$card" >safety || rounds_broken "safe: $(cat safety)"
	for place in one two; do
		any_card_sums $place/*/*/data | diff - card.sums >differing || rounds_broken "$place: $(cat differing)"
		has_right_bags $place || rounds_broken "$place: not right by sha256sum or xxhsum"
	done
}

while rounds_next; do
	one_round
done
rounds_end "$claim"
