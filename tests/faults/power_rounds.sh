#!/bin/sh
# SPDX-License-Identifier: ISC
# Power cuts. A round records what one run does to its place and its ledger, call by call; then it is made what a power cut may have left
# of that, at cuts all over the run, and each such state is judged and gone on with: tests/faults/power_cut.c says what must hold,
# tests/support/recorded_volume.h what may be on the medium and whom that is taken from. The last state of a round is looked at by others
# besides: sha256sum, xxhsum, sqlite3.
#
#     sh tests/faults/power_rounds.sh [--seed N] [--rounds N | --seconds N] [--first N]
#
# What runs is by seed: into memory, where a batch is synced as one, or to a FUSE volume, where each file is synced by itself; an offload,
# one that goes on where another was killed, one that fills sequences, or the filling by links, copies or moves. With HEADRACE_POWER_STATES=all
# a round cuts after each call of its run in turn, else after 40 of them.
set -eu
rounds_default=8
. "$HEADRACE_SOURCE/tests/faults/rounds.sh"
. "$HEADRACE_SOURCE/tests/faults/ground.sh"
. "$HEADRACE_SOURCE/tests/faults/judged.sh"
claim='wherever the power is cut no final name holds wrong bytes, and the same command ends the job'
rounds_begin "$@"
rounds_need "$claim" faulty_can

trap 'faulty_end; cd /; rm -rf "$scratch"' EXIT
ground_folder
recorder=$HEADRACE_BUILD/tests/support/recorded_calls.so
power_cut=$HEADRACE_BUILD/tests/faults/power_cut
"$HEADRACE_BUILD/tests/support/demo_card" --out card --seed 7 --frames 12 --bodies A --size 32x24 --half 1 --raw-every 5 --plain
# Past a megabyte files are written past the page cache, but for what is left of the last block.
head -c 1200000 "$headrace" >card/DCIM/100NMERE/NMA_CLIP.MOV
judged_cards card
mkdir two before
faulty_mount one

run_job() {
	case $job in
	offload | again) "$headrace" offload card --job 'Cup final' --same-device --to $place --json ;;
	sequences) "$headrace" offload card --job 'Cup final' --same-device --to $place --json --sequences ;;
	*) "$headrace" sequences $place --fill "$job" --json ;;
	esac
}

watched() {
	(
		export RECORDED_BELOW="$scratch" LD_PRELOAD="$recorder" "$@"
		run_job
	)
}

# The volume behind the place.
folder_of() {
	[ "$1" = one ] && echo one.real || echo "$1"
}

# What stood there when the recorded run began.
prepare() {
	case $job in
	link | copy | move) "$headrace" offload card --job 'Cup final' --same-device --to $place --quiet --sequences || : ;;
	again)
		rounds_draw 150
		watched RECORDED_DIE_AT="$rounds_drawn" || : ;;
	esac
}

record() {
	rounds_pick place one two
	rounds_pick job offload offload again again sequences link copy move move
	[ "$job $place" != 'link one' ] || job=copy # FUSE has no links here
	rm -rf before recording state
	mkdir state before
	find "$(folder_of $place)" -mindepth 1 -delete
	prepare >said 2>&1
	cp -a "$(folder_of $place)" before/place
	cp -a state before/state
	watched RECORDED_TO="$scratch/recording" >said 2>&1 || :
	calls=$("$power_cut" calls recording)
	states=${HEADRACE_POWER_STATES:-40}
	[ "$states" != all ] || states=$calls
}

# Of the last state: what was remembered decides whether copies were to be made again, so here they may be.
others_agree() {
	look $place
	all_done 'n >= 1' && ledger_is_sound
}

one_round() {
	record
	"$power_cut" try "$job" $place "$(folder_of $place)" $states "$seed" >tried 2>said || echo "0 0 broken $(tail -n 1 said)" >>tried
	others_agree >told 2>&1 || echo "0 0 broken to others: $(tail -n 1 told)" >>tried
	grep ' broken ' tried >bad || :
	while read -r _ cut why; do
		rounds_broken "$job $place cut after $cut of $calls calls, ${why#broken }"
	done <bad
	sed "s/^/$job $place /" tried >>all_tried
	rounds_figure states $(wc -l <tried)
}

while rounds_next; do
	one_round
done
rounds_figure different "$(cut -d ' ' -f 3 all_tried | sort -u | wc -l)"
rounds_end "$claim"
