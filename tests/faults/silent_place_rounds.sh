#!/bin/sh
# SPDX-License-Identifier: ISC
# Places that lie: of what is written to them and read back from them some is another bit, zeros, a block from elsewhere, half or
# nothing, and every call says it went well. Each harm in the volume's own log must have been told as a difference and its copy set
# aside; nothing else may have been; and whatever bears a final name is the card's, by sha256sum. Then the drives are sound again,
# and the same command ends the job.
set -eu
. "$HEADRACE_SOURCE/tests/faults/ground.sh"
. "$HEADRACE_SOURCE/tests/faults/rounds.sh"
. "$HEADRACE_SOURCE/tests/faults/any_card.sh"
claim='what a place wrote or gave back wrong is caught before it bears a final name'
rounds_default=1
rounds_begin "$@"
rounds_need "$claim" faulty_can
trap 'faulty_end; rm -rf "$scratch"' EXIT
ground_folder

# About half of the files are harmed, by both calls: a copy is tried three times, so some fail for good.
lies() {
	for lie in flip zero-block other-block foreign-block torn-tail lost; do
		echo "write $lie path=*/data/* chance=8"
	done
	for lie in flip zero-block other-block foreign-block; do
		echo "read $lie path=*/data/* chance=5"
	done
}

offload() {
	status=0
	"$headrace" offload card --to one --to two --same-device --job 'Cup final' --json-lines >events 2>complaints || status=$?
}

# What bears a final name in the place, as any_card_sums.
named() {
	any_card_sums "$1.real" | grep '/data/' | grep -v '/\.[^/]*\.part$' | sed 's#\t.*/data/#\t#' | LC_ALL=C sort
}

holds_nothing_else() {
	named "$1" >"$1.sums"
	[ -z "$(LC_ALL=C comm -23 "$1.sums" card.sums)" ] || rounds_broken "$1 has a final name with other bytes, or two of one"
}

# Log, what stands aside and what was told, each against the others. A copy read back wrong was written right.
judge_lies() {
	any_card_sums "$1.real" | grep '\.aside/' | sed 's#\t.*\.aside/#\t#' >aside.sums || :
	jq -r 'select(.event == "note") | .text' events |
		sed -n "s#.*: reads back different from the card; the bad copy is kept as $scratch/$1/.*\.aside/##p" >told
	perl -e '
		use strict; use warnings;
		my $bad = 0;
		sub lines { open my $in, "<", $_[0] or die "$_[0]: $!"; map { chomp; $_ } <$in> }
		sub broken { print "# ", @_, "\n"; $bad = 1 }
		my %card = map { reverse split /\t/ } lines("card.sums");
		my %aside = map { reverse split /\t/ } lines("aside.sums");
		my (%told, %lies);
		$told{$_}++ for lines("told");
		for (lines("$ARGV[0].log")) {
			my ($call, $path) = (split)[1, 5];
			$path =~ s/%(..)/chr hex $1/ge;
			$path =~ m#/data/((?:.*/)?)\.([^/]*?)(?:\.([23]))?\.part$# or broken("harm under a final name: $path"), next;
			$lies{"$1$2." . ($3 || 1)}{$call} = 1;
		}
		for my $copy (sort keys %lies) {
			my $sum = delete $aside{$copy};
			broken("harmed and not told once: $copy") if (delete $told{$copy} // 0) != 1;
			broken("harmed and not aside: $copy"), next if !defined $sum;
			my $is_right = $sum eq $card{$copy =~ s/\.[123]$//r};
			broken("aside is ", $is_right ? "right" : "wrong", ": $copy") if $is_right == ($lies{$copy}{write} // 0);
		}
		broken("no harm, yet told: $_") for keys %told;
		broken("no harm, yet aside: $_") for keys %aside;
		exit $bad' "$1" || rounds_broken "$1: harm, what was told and what stands aside do not agree"
}

count_lies() {
	cut -d ' ' -f 2,3 "$1.log" | tr ' -' __ | sort | uniq -c >counts
	while read -r count lie; do
		rounds_figure "$lie" "$count"
	done <counts
	rounds_figure harms "$(wc -l <"$1.log")"
	rounds_figure copies_caught "$(wc -l <aside.sums)"
}

one_round() {
	faulty_end
	rm -rf card one.real two.real "$XDG_STATE_HOME"
	any_card card "$seed" 600
	any_card_sums card >card.sums
	faulty_seed=$seed faulty_mount one "$(lies)"
	faulty_seed=$((seed + 1)) faulty_mount two "$(lies)"
	offload
	for place in one two; do
		holds_nothing_else $place
		judge_lies $place
		count_lies $place
	done
	[ "$status" = 1 ] || rounds_broken "status $status, though copies failed"
	faulty_rules one
	faulty_rules two
	offload
	[ "$status" = 0 ] || rounds_broken "status $status on sound drives"
	for place in one two; do
		named $place | cmp -s - card.sums || rounds_broken "$place does not hold the card in the end"
		has_right_bags $place.real || rounds_broken "$place has a bag that is not right"
		rounds_figure files "$(wc -l <card.sums)"
	done
}

while rounds_next; do
	one_round
done
rounds_end "$claim"
