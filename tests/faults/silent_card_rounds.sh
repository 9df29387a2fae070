#!/bin/sh
# SPDX-License-Identifier: ISC
# A reader that lies in one of two readings: with --reread-card each lie in the volume's own log must be told, no copy made of a
# lie may bear a name, and what reads well at the next try is copied. By sha256sum.
set -eu
. "$HEADRACE_SOURCE/tests/faults/ground.sh"
. "$HEADRACE_SOURCE/tests/faults/rounds.sh"
. "$HEADRACE_SOURCE/tests/faults/any_card.sh"
claim='a card that reads wrong once is told from one that reads well when it is read again'
rounds_default=2
rounds_begin "$@"
rounds_need "$claim" faulty_can
trap 'faulty_end; rm -rf "$scratch"' EXIT
ground_folder

# With the job named nothing is read of a file beforehand, so openings come in pairs. A lie is in the first reading, whose bytes are on their way to the places; in the second; or in every second one, which no try mends.
lies() {
	for lie in flip zero-block other-block foreign-block; do
		echo "read $lie path=*[0-3].* opening=1 chance=15"
		echo "read $lie path=*[4-7].* opening=2 chance=15"
		echo "read $lie path=*[89].* opening_every=2 chance=10"
	done
}

# A reading has one complaint, however often it lied; what lies in each second reading lies alike, since the seed decides.
judge_readings() {
	jq -r 'select(.event == "note") | .text' events |
		sed -n 's#: the card gave other bytes when it was read again; try another reader, cable or port$##p' | sort >told
	perl -ane '
		$F[5] =~ s/%(..)/chr hex $1/ge;
		$lies{$F[5]}{"@F[0, 3]"}++;
		END {
			for my $path (sort keys %lies) {
				my ($most) = sort { $b <=> $a } values %{$lies{$path}};
				print "$path\n" x $most;
			}
		}' card.log | sort >lied
	diff lied told || rounds_broken 'the readings that lied are not those that were told'
	uniq lied >doubtful
}

# What bears a final name, as any_card_sums.
named() {
	any_card_sums one | grep '/data/' | grep -v '/\.[^/]*\.part$' | sed 's#\t.*/data/#\t#' | LC_ALL=C sort
}

offload() {
	status=0
	"$headrace" offload card --to one --job 'Cup final' --same-device --reread-card --json-lines >events 2>complaints || status=$?
}

one_round() {
	faulty_end
	rm -rf card.real one "$XDG_STATE_HOME"
	mkdir one
	any_card card.real "$seed" 400
	any_card_sums card.real >card.sums
	faulty_seed=$seed faulty_mount card "$(lies)"
	offload
	[ "$status" = 1 ] || rounds_broken "status $status, though some never read alike"
	judge_readings
	named >named.sums
	[ -z "$(LC_ALL=C comm -23 named.sums card.sums)" ] || rounds_broken 'a final name holds what the card does not'
	[ "$(wc -l <named.sums)" -ge $(($(wc -l <card.sums) - $(wc -l <doubtful))) ] || rounds_broken 'what read well was not copied'
	rounds_figure lies "$(wc -l <card.log)"
	rounds_figure readings_caught "$(wc -l <told)"
	rounds_figure files "$(wc -l <card.sums)"
	faulty_rules card
	offload
	[ "$status" = 0 ] || rounds_broken "status $status with a sound reader"
	named | cmp -s - card.sums || rounds_broken 'the card is not there in the end'
	has_right_bags one || rounds_broken 'a bag is not right'
}

while rounds_next; do
	one_round
done
rounds_end "$claim"
