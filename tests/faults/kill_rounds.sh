#!/bin/sh
# SPDX-License-Identifier: ISC
# Killed at any moment, and run again. What stands on a drive changes by calls alone, so the moments are all the calls that change
# files, names or folders or make them durable, in the places and beside the ledger: the run's calls are counted first, and then it
# dies at one of them (tests/support/recorded_calls.h), each as likely as another; sometimes the run that goes on dies too.
#
#     sh tests/faults/kill_rounds.sh [--seed N] [--rounds N | --seconds N] [--first N]
#
# What runs is by seed: one card or two; two drives, a FUSE volume besides or instead of one of them; the digest; an offload, one that
# fills sequences, or the filling by links, copies or moves of what an offload left.
set -eu
rounds_default=20
. "$HEADRACE_SOURCE/tests/faults/rounds.sh"
. "$HEADRACE_SOURCE/tests/faults/ground.sh"
. "$HEADRACE_SOURCE/tests/faults/judged.sh"
claim='killed at any moment no final name holds wrong bytes, and the same command ends the job'
rounds_begin "$@"
can_kill() {
	media_can && faulty_can
}
rounds_need "$claim" can_kill

media_begin "$scratch"
media_at_end faulty_end
trap 'media_end; cd /; rm -rf "$scratch"' EXIT
ground_folder
media_ext4 one 60
media_ext4 two 60
faulty_mount fuse
recorder=$HEADRACE_BUILD/tests/support/recorded_calls.so
demo=$HEADRACE_BUILD/tests/support/demo_card
"$demo" --out cardA --seed 7 --frames 14 --bodies A --size 32x24 --half 1 --raw-every 4
"$demo" --out cardB --seed 7 --frames 12 --bodies B --size 32x24 --half 1
# Past a megabyte files are written past the page cache.
head -c 2500000 "$headrace" >cardA/DCIM/100NMERE/NMA_CLIP.MOV
judged_cards cardA cardB

choose_shape() {
	rounds_pick job offload offload offload offload offload,sequences offload,sequences link copy move move
	rounds_pick wanted_cards cardA cardA cardB,cardA
	rounds_pick places one,two one,two one,two,fuse one,fuse
	rounds_pick digest both both xxh128
	shape="$job.$wanted_cards.$places.$digest"
	places=$(echo "$places" | tr , ' ')
	wanted_cards=$(echo "$wanted_cards" | tr , ' ')
	judged_cards $wanted_cards
}

# The drives are as new.
begin_anew() {
	rm -rf one/* two/* fuse.real/* state
	mkdir state
	case $job in offload*) ;; *) offload --sequences >/dev/null 2>&1 || : ;; esac
}

offload() {
	for place in $places; do
		set -- "$@" --to "$place"
	done
	# shellcheck disable=SC2086 # lists of words
	"$headrace" offload $wanted_cards --job 'Cup final' --same-device --digest "$digest" --json "$@"
}

run_job() {
	case $job in
	offload) offload ;;
	offload,sequences) offload --sequences ;;
	# shellcheck disable=SC2086 # a list of words
	*) "$headrace" sequences $places --fill "$job" --json ;;
	esac
}

# watched VARIABLE=VALUE...: the job with the recorder before libc.
watched() {
	(
		export RECORDED_BELOW="$scratch" LD_PRELOAD="$recorder" "$@"
		run_job
	)
}

# How many calls a run of this shape makes: threads make it a few more or less.
count_calls() {
	[ ! -e "calls.$shape" ] || return 0
	begin_anew
	watched RECORDED_TO="$scratch/recording" >/dev/null 2>&1 || :
	"$HEADRACE_BUILD/tests/faults/power_cut" calls recording >"calls.$shape"
	rm recording
}

# Where in the run it died, by the file.
tell_moment() {
	case $(cat death) in
	*' state'*) rounds_figure in_the_ledger 1 ;;
	*/sequences*) rounds_figure in_sequences 1 ;;
	*/data/* | */data) rounds_figure in_frames 1 ;;
	*) rounds_figure in_the_bag 1 ;;
	esac
}

# Dies; what then stands is judged.
kill_it() {
	rounds_draw "$(cat "calls.$shape")"
	rm -f death
	status=0
	watched RECORDED_DIE_AT="$rounds_drawn" RECORDED_DEATH="$scratch/death" >said 2>&1 || status=$?
	if [ -e death ]; then tell_moment; else rounds_figure ended_before 1; fi
	# shellcheck disable=SC2086 # a list of words
	look $places
	names_only_right && believes_what_stands
}

# Which files bear a final name, by their inodes: none of them is to be copied again.
inodes() {
	# shellcheck disable=SC2086 # a list of words
	find $places -type f -path '*/data/*' ! -name '.*.part' -printf '%i %p\n' | sort
}

ends_the_job() {
	inodes >before
	run_job >result.json 2>complaints || [ $? = 1 ] || { cat complaints; return 1; }
	case $job in
	offload*)
		jq -e .all_done result.json >/dev/null || { echo 'not all done'; jq -c '.cards[].places[].text' result.json; return 1; }
		inodes | comm -23 before - >anew
		[ ! -s anew ] || { sed 's/^/copied again: /' anew; return 1; } ;;
	*) jq -e '[.places[].status? // "ok"] | all(. == "ok")' result.json >/dev/null || return 1 ;;
	esac
	# shellcheck disable=SC2086 # a list of words
	look $places
	all_done 'n == 1' && ledger_is_sound && believes_what_stands
}

is_safe_on_drives() {
	case "$job $places" in
	offload*' one two'*) for card in $wanted_cards; do expect_safe "$card" >/dev/null || return 1; done ;;
	esac
}

one_round() {
	choose_shape
	count_calls
	begin_anew
	kill_it || return 1
	rounds_pick again no no yes
	[ "$again" = no ] || kill_it || return 1
	ends_the_job && is_safe_on_drives
}

while rounds_next; do
	one_round >told 2>&1 || rounds_broken "$shape dead at $(cat death 2>/dev/null): $(tail -n 1 told)"
done
rounds_end "$claim"
