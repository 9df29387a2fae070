#!/bin/sh
# SPDX-License-Identifier: ISC
# Commands that are stopped while they read: they change nothing and die of the signal. TAP.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
mkdir "$scratch/here"
PATH=$HEADRACE_BUILD/src/cli:$PATH
export PATH XDG_STATE_HOME="$scratch/here/state" LC_ALL=C TZ=UTC
cd "$scratch/here"

# What stands here, to the byte; of the ledger what it holds, not what SQLite keeps beside it.
standing() { find . -type f ! -name 'ledger.db-*' ! -size +1G -exec sha256sum {} + | sort -k 2; }

# stops SIGNAL STATUS COMMAND...: waits until the command says how far it is, sends it the signal, and wants it to die of that. A shell
# without job control has its children ignore SIGINT, which env undoes.
stops() {
	signal=$1 wanted=$2 status=0
	shift 2
	standing >../before
	rm -f ../err
	env --default-signal=INT "$@" >../out 2>../err &
	tap_wait 60 grep -q '^[0-9]*% of ' ../err
	kill -s "$signal" $!
	wait $! || status=$?
	cat ../out ../err
	[ "$status" = "$wanted" ]
	standing | diff ../before -
}

# A bag nobody can read to its end: a million million zeros that take no room.
an_endless_bag() {
	mkdir -p endless/data
	printf 'BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n' >endless/bagit.txt
	truncate -s 1T endless/data/CLIP.MOV
	echo "$(echo | sha256sum | cut -d' ' -f1)  data/CLIP.MOV" >endless/manifest-sha256.txt
}

verify_dies_of_ctrl_c_and_has_changed_nothing() {
	stops INT 130 headrace verify endless --progress=lines
	grep '^headrace: stopping; nothing was changed$' ../err
	[ ! -s ../out ]
	[ ! -e "$XDG_STATE_HOME" ]
}

verify_dies_of_being_terminated_with_its_json_whole() {
	stops TERM 143 headrace verify endless --progress=lines --json
	jq -e '.bags == [] and (.all_valid | not)' ../out
}

# Each block of the clip takes a quarter of a second to read: strace, which steps aside to be no parent (-D), sees to it. Leak checking
# needs ptrace for itself.
slowly() {
	echo "env ASAN_OPTIONS=detect_leaks=0 strace -D -qq -f -o /dev/null -P $scratch/here/card/DCIM/100NMERE/CLIP.MOV
		-e trace=pread64 -e inject=pread64:delay_enter=250000 headrace"
}

# A clip that looks known but for its time, so that its content must decide.
a_card_that_must_be_read() {
	mkdir -p card/DCIM/100NMERE ssd backup
	head -c 60000000 /dev/urandom >card/DCIM/100NMERE/CLIP.MOV
	headrace offload card --to ssd --to backup --same-device --job Northmere --quiet >&2
	touch -d 2026-05-16T15:00:00 card/DCIM/100NMERE/CLIP.MOV
}

safe_dies_of_ctrl_c_and_promises_nothing() {
	stops INT 130 $(slowly) safe card --progress=lines
	grep '^0% of card card, 0 of 1 file, ' ../err
	grep '^headrace: stopping; nothing was changed$' ../err
	grep '^card card: NOT SAFE to format: this cannot be told: stopped before all of it was looked at$' ../out
}

safe_dies_of_ctrl_c_with_its_json_whole() {
	stops INT 130 $(slowly) safe card --progress=lines --json
	jq -e '(.all_safe | not) and .cards[0].status == "cancelled" and (.cards[0].is_safe | not)' ../out
}

offload_that_is_stopped_while_it_looks_has_written_nothing() {
	stops INT 130 $(slowly) offload card --to ssd --to backup --same-device --job Northmere --progress=lines
	grep '^headrace: stopped; nothing was written$' ../err
}

an_endless_bag
tap verify_dies_of_ctrl_c_and_has_changed_nothing
tap verify_dies_of_being_terminated_with_its_json_whole
rm -r endless
a_card_that_must_be_read
tap safe_dies_of_ctrl_c_and_promises_nothing
tap safe_dies_of_ctrl_c_with_its_json_whole
tap offload_that_is_stopped_while_it_looks_has_written_nothing
tap_done
