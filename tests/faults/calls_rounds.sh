#!/bin/sh
# SPDX-License-Identifier: ISC
# Every call fails once: in each round one call of one kind fails in one command. However that is, the command ends in time and of no
# signal, with status 0 only when all that was asked is done and proven, else with a sentence that says what failed; it leaves no
# memory and no descriptor behind, no final name over other bytes, and the same command again does what is left.
#
# Rounds take turns between allocations, which are many, and the other calls, until one of the two walks has met every call; then the other
# goes on. As many rounds as the two numbers that begin the output are all there are. HEADRACE_CALLS_OF names the commands below that are to
# be walked, where not all are.
set -eu
here=$HEADRACE_SOURCE/tests/support
. "$here/tap.sh"
. "$here/media.sh"
. "$here/able.sh"
. "$HEADRACE_SOURCE/tests/faults/rounds.sh"
headrace=$HEADRACE_BUILD/src/cli/headrace
demo_card=$HEADRACE_BUILD/tests/support/demo_card
failing=$HEADRACE_BUILD/tests/support/failing_calls.so
folder=${TMPDIR:-/var/tmp}
room=$(df --output=avail /dev/shm 2>/dev/null | tail -n 1)
[ "${room:-0}" -lt 500000 ] || folder=/dev/shm
scratch=$(mktemp -d "$folder/headrace-calls.XXXXXX")
export XDG_STATE_HOME="$scratch/drives/state" LC_ALL=C TZ=UTC
# A sanitizer wants to be first among what is loaded. It then has the allocations for itself, and none of them fails.
sanitizer=$(ldd "$headrace" | sed -n 's/.* => \([^ ]*lib[at]san[^ ]*\).*/\1/p')
# Else gcc's leak checker stands behind the library of failing calls. leaks_of_others.txt: what the libraries below us leak by themselves.
leak_checker=$(gcc -print-file-name=liblsan.so)
[ -e "$leak_checker" ] && [ -z "$sanitizer" ] || leak_checker=
leak_options="exitcode=0:fast_unwind_on_malloc=0:log_path=leaks:print_suppressions=0:suppressions=$HEADRACE_SOURCE/tests/faults/leaks_of_others.txt"

# ---- The commands, on two ext4 drives where that can be, for a copy in memory never counts as safe ----

# What each is asked; `stands` is what stands in the places and the ledger before it.
command_offload() { stands=empty asked="offload card --to one --to two --job Final $same_device"; }
command_archive() { stands=empty asked="offload card.tar --to one --to two --job Final $same_device"; }
command_resume() { stands=broken_off asked="offload card --to one --to two --job Final $same_device"; }
command_verify() { stands=done asked='verify one two'; }
command_safe() { stands=done asked='safe card'; }
command_unsafe() { stands=lost asked='safe card'; }
command_sequences() { stands=done asked='sequences one match'; }
command_fill() { stands=done asked='sequences two --fill copy'; }
command_buffer() { stands=empty asked='buffer from match'; }
command_forecast() { stands=known asked="forecast card --to one --to two $same_device"; }
command_move() { stands=done asked='sequences two --fill move'; }
command_log() { stands=done asked='log'; }
command_run() { stands=done asked='log 1'; }
command_devices() { stands=done asked='devices'; }
command_measure() { stands=empty asked='measure card --seconds 1'; }
commands=${HEADRACE_CALLS_OF:-'offload archive resume verify safe unsafe sequences fill move buffer forecast log run devices measure'}

# with [KIND N]: runs the command, with the N-th call of this kind failing.
with() {
	: >note
	rm -f leaks.*
	status=0
	# shellcheck disable=SC2086 # a list of words
	timeout 60 env FAILING_KIND="${1:-}" FAILING_AT="${2:-0}" FAILING_NOTE=note LSAN_OPTIONS="$leak_options" \
		LD_PRELOAD="$sanitizer $failing $leak_checker" "$headrace" $asked >out 2>err || status=$?
}

# ---- What stands before ----

empty_folders() {
	find one two -mindepth 1 -maxdepth 1 -exec rm -rf {} +
	rm -rf state
}

# keep NAME: what stands now, for later rounds.
keep() {
	mkdir "$1.ready"
	cp -a one two state "$1.ready"
}

put() {
	empty_folders
	[ "$1" = empty ] || cp -a "$1.ready/." .
}

# A bag with some of its files, as a run leaves it in which one could not be made durable.
break_off() {
	command_offload
	for number in 4 5 6 7 8 9 10 11 12 13 14 15 16; do
		empty_folders
		with rename $number
		[ "$status" != 1 ] || [ -z "$(find one -name 'NMA_*')" ] || return 0
	done
	return 1
}

prepare() {
	"$demo_card" --out card --seed 7 --frames 4 --bodies A --size 64x48 --plain
	perl -e 'srand 7; print pack("L*", map { int rand 4294967296 } 1 .. 300000)' >card/DCIM/100NMERE/NMA_0900.MOV
	tar -cf card.tar -C card .
	"$demo_card" --out match --seed 3 --frames 90 --bodies A --cadence 40 --drain 16 --buffer 20 --size 64x48 --plain
	sums card >card.sums
	empty_folders
	command_offload
	with
	keep done
	find two -name '*.MOV' -delete
	keep lost
	find one two -mindepth 1 -maxdepth 1 -exec rm -rf {} +
	keep known
	break_off
	keep broken_off
}

# ---- What must hold ----

# The payload of a folder: digest and path on the card. What the ledger could not be told of may stand there a second time.
sums() {
	find "$1" -type f -path '*DCIM/*' ! -name '.*.part' ! -path '*/sequences/*' -exec sha256sum {} + |
		sed 's#^\([0-9a-f]*\)  .*DCIM/#\1  DCIM/#' | sort -u
}

holds_all() {
	for place in one two; do
		sums $place | cmp -s - card.sums || return 1
	done
}

holds_nothing_but_finished_bags() {
	for place in one two; do
		[ -z "$(find $place -name '.*')" ] || return 1
		[ "$(find $place -name bagit.txt | wc -l)" = "$(find $place -mindepth 2 -maxdepth 2 | wc -l)" ] || return 1
	done
}

names_nothing_wrong() {
	for place in one two; do
		sums $place >named
		[ -z "$(comm -23 named card.sums)" ] || return 1
	done
}

is_offload() {
	case $asked in offload*) ;; *) return 1 ;; esac
}

# What the screen says, but for what is different each time. What could not be opened past the page cache is read through it and told as
# that.
said() {
	sed 's/[0-9]*-[0-9]*_card/BAG/g; s/20[0-9-]* [0-9:]*/TIME/g; s/verified.*/verified/; s/ in [0-9.]* s,/,/' out
}

# What each command must have told or done when its status is 0.
has_done_all() {
	if is_offload; then
		holds_all && { holds_nothing_but_finished_bags || grep -q '^headrace: warning: An interrupted' err; }
		return
	fi
	case $command in
	safe | verify | fill | move | sequences | log | run) said | cmp -s - "$command.said" ;;
	unsafe) return 1 ;;
	esac
}

# explained: where the status is not 0, something says what failed.
explained() {
	grep -qE '^headrace[^:]*: .{8}|NOT SAFE to format: .{8}|FAILED.*: .{8}|: .*(memory|error|failed)' err out
}

# libarchive ends the program by itself when it has no memory for a text.
has_closed_all() {
	grep -qx 'left_open 0' note || grep -q '^Fatal Internal Error in libarchive: No memory$' err
}

complain() {
	rounds_broken "$command, $kind $number ($(sed -n 's/^failed //p' note)): $1"
	sed 's/^/# /' err out note | head -n 12
	sed 's/^/# /' leaks.* 2>/dev/null | head -n 40
	return 1
}

judge() {
	[ "$status" != 124 ] || { complain 'hangs'; return; }
	[ "$status" -lt 124 ] || { complain "dies of status $status"; return; }
	case $status in
	0) has_done_all || { complain 'status 0, and not all is done'; return; } ;;
	1 | 4) explained || { complain "status $status without a word"; return; } ;;
	*) complain "status $status"; return ;;
	esac
	has_closed_all || { complain "$(grep left_open note || echo 'did not come to its end')"; return; }
	[ -z "$(find . -maxdepth 1 -name 'leaks.*')" ] || { complain 'leaks memory'; return; }
	is_offload || return 0
	[ "$status" != 4 ] || [ "$stands" != empty ] || [ -z "$(find one two -type f)" ] || { complain 'refused, and wrote'; return; }
	names_nothing_wrong || { complain 'a final name with other bytes'; return; }
	# shellcheck disable=SC2086 # a list of words
	"$headrace" $asked >out.again 2>err.again || { complain "again: $(cat err.again)"; return; }
	holds_all || { complain 'not all is done by the same command again'; return; }
	holds_nothing_but_finished_bags || { complain 'something is left behind by the same command again'; return; }
}

# ---- The rounds ----

# allocs and others: a line "COMMAND KIND COUNT LAST" for each command and kind, LAST being the sum of the counts so far.
count_calls() {
	for command in $commands; do
		command_$command
		put $stands
		with
		said >$command.said
		sed -n "s/^calls/$command/p" note
	done >counted
	# A build that counts what is run allocates for that at the very end, and falls when it may not.
	! grep -q __gcov_ "$headrace" || sed -i '/ alloc /d' counted
	for walk in allocs others; do
		awk -v walk=$walk '($2 == "alloc") == (walk == "allocs") && $3 { print $0, sum += $3 }' counted >$walk
		echo "# $walk: $(awk '{ all += $3; of[$2] += $3 } END { printf "%d", all; for (kind in of) printf ", %s %d", kind, of[kind] }' $walk)"
	done
}

# The call of a walk, as "COMMAND KIND NUMBER". The step is a prime, so that as many as there are meet each of them.
call_at() {
	awk -v at="$2" '
		{ line[NR] = $0; all = $4 }
		END {
			at = at * 7919 % all
			for (i = 1; i <= NR && at >= row[4]; i++) split(line[i], row)
			print row[1], row[2], at - row[4] + row[3] + 1
		}' "$1"
}

try() {
	command=$1 kind=$2 number=$3
	command_$command
	put $stands
	with $kind $number
	if grep -q '^failed' note; then rounds_figure $kind 1; else rounds_figure not_met 1; fi
	rounds_figure status_$status 1
	judge || :
}

# all WALK: how many calls it has.
all() {
	awk 'END { print $4 + 0 }' "$1"
}

one_round() {
	walk=others at=$((round / 2))
	[ $((round % 2)) = 1 ] || walk=allocs
	if [ $round -gt $((2 * shorter)) ]; then
		walk=$longer_walk at=$((round - shorter))
	fi
	# shellcheck disable=SC2046 # three words
	try $(call_at $walk $((rounds_seed + at)))
}

play() {
	media_begin "$scratch/drives"
	cd "$scratch/drives"
	if media_can >/dev/null; then
		media_ext4 one 30
		media_ext4 two 30
	else
		mkdir one two
		same_device=--same-device
	fi
	prepare
	count_calls
	shorter=$(all others) longer_walk=allocs
	[ "$(all allocs)" -ge "$shorter" ] || shorter=$(all allocs) longer_walk=others
	while rounds_next; do
		one_round
	done
	rounds_end 'every command outlives the failure of any call, and says or mends it'
}

rounds_default=${HEADRACE_CALLS_ROUNDS:-50}
rounds_begin "$@"
set +e
(
	set -e
	play
)
status=$?
rm -rf "$scratch"
exit $status
