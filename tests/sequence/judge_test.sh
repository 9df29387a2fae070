#!/bin/sh
# SPDX-License-Identifier: ISC
# Labelled cards from the demo builder, one a seed, are grouped and judged. TAP. By hand, with a line a card:
#   HEADRACE_JUDGE_SEEDS="1 60" HEADRACE_BUILD=build/release sh tests/sequence/judge_test.sh
# Invented data: what is judged against is what the builder wrote down, not what the program thinks.
set -eu
support=$(cd "$(dirname "$0")/../support" && pwd)
. "$support/tap.sh"
demo_card=${HEADRACE_BUILD:?}/tests/support/demo_card
judge_card=$HEADRACE_BUILD/tests/sequence/judge_card
# Fifty thousand small files: in memory where that can be had.
scratch=$(mktemp -d /dev/shm/headrace-judge.XXXXXX 2>/dev/null || mktemp -d "${TMPDIR:-/tmp}/headrace-judge.XXXXXX")
trap 'rm -rf "$scratch"' EXIT
# shellcheck disable=SC2086 # two numbers
set -- ${HEADRACE_JUDGE_SEEDS:-1 60}

# pick SEED WORD...: the word of the seed's turn
pick() {
	pick_at=$(($1 % ($# - 1)))
	shift "$((pick_at + 1))"
	echo "$1"
}

# A card of its own for each seed: clock, cadence, buffer and chance go round in turns of different length.
judge_seed() {
	seed=$1
	resolution=$(pick "$seed" 1 10 100 1000)
	cadence=$(pick "$seed" 3 10 40 20 0 30 8 25 15 5 12)
	"$demo_card" --out "$scratch/card" --seed "$seed" --frames "$(pick "$seed" 600 900 1100)" --size 32x24 --bodies "$(pick "$seed" AB AB A)" \
		--clock-resolution-ms "$resolution" --cadence "$cadence" --jitter-ms "$(pick "$seed" 0.5 1 3 2 0 4 1.5)" \
		--drop-percent "$(pick "$seed" 0 0.5 1 0.5 2)" --buffer "$(pick "$seed" 48 0 90 30 60 140)" --drain "$(pick "$seed" 16 8 18 12 5)"
	score=$("$judge_card" "$scratch/card" "$scratch/card.truth.csv")
	rm -rf "$scratch/card"
	echo "$seed $resolution $cadence $score"
}

for seed in $(seq "$1" "$2"); do judge_seed "$seed"; done >"$scratch/scores"
awk '{ printf "# seed %s clock %s ms cadence %s: %s frames, sequences F1 %s, bursts F1 %s, stalls %s found %s worst %s false %s\n", $1, $2, $3, $4, $5, $6, $7, $8, $9, $10 }' "$scratch/scores"

# worst COLUMN CONDITION: the least of a column over the cards of which an awk condition holds
worst() {
	awk -v least=2 "($2) && \$$1 < least { least = \$$1 } END { print least }" "$scratch/scores"
}

holds() {
	awk "BEGIN { exit !($1) }"
}

finds_sequences_where_the_clock_shows_a_tenth_of_a_second() {
	holds "$(worst 5 '$2 <= 100') >= 0.999"
}

finds_bursts_where_the_clock_shows_a_tenth_of_a_second() {
	holds "$(worst 6 '$2 <= 100') >= 0.999"
}

finds_sequences_and_bursts_by_whole_seconds() {
	holds "$(worst 5 '$2 == 1000') >= 0.98"
	holds "$(worst 6 '$2 == 1000') >= 0.98"
}

says_no_stall_of_a_burst_that_has_none() {
	holds "$(awk '{ sum += $10 } END { print sum }' "$scratch/scores") == 0"
}

finds_every_stall_of_three_seconds_where_it_is() {
	awk '$2 <= 100 && $7 != $8 { bad = 1; print } END { exit bad }' "$scratch/scores"
	holds "$(awk '$2 <= 100 { sum += $7 } END { print sum + 0 }' "$scratch/scores") >= $(($# + 20))" # or there is nothing to find
}

tap finds_sequences_where_the_clock_shows_a_tenth_of_a_second
tap finds_bursts_where_the_clock_shows_a_tenth_of_a_second
tap finds_sequences_and_bursts_by_whole_seconds
tap says_no_stall_of_a_burst_that_has_none
tap finds_every_stall_of_three_seconds_where_it_is
tap_done
