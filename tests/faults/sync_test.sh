#!/bin/sh
# SPDX-License-Identifier: ISC
# A drive whose sync fails once while much is under way: what it may have lost is written anew, what an earlier sync made safe
# stands, and the place is not given up for it. Witness: sha256sum.
set -eu
. "$HEADRACE_SOURCE/tests/faults/ground.sh"

# Slow places, so that copies wait in every state when the second sync fails.
ground() {
	media_begin "$scratch/volumes"
	cd "$scratch/volumes"
	media_ext4 one 200
	media_ext4 two 200
	rm -rf card
	mkdir card
	"$HEADRACE_BUILD/tests/support/demo_card" --out card --seed 7 --frames 400 --bytes 100000
	media_throttle one 0 8
	media_throttle two 0 8
	export XDG_STATE_HOME="$scratch/state"
	rm -rf "$XDG_STATE_HOME"
}

was_injected() { grep -q INJECTED syncs; }

# The count of calls is a thread's, and another pass has other threads: the tracer leaves after the first harm.
# It is the thread's so-manieth: offload_with_one_failing_sync NUMBER.
offload_with_one_failing_sync() {
	number=$1
	# shellcheck disable=SC2086,SC2016 # none or one word; the inner shell's own number
	sh -c 'kill -STOP $$ && exec "$@"' sh "$headrace" offload card --to one --to two $same_device --job 'Cup final' >said 2>complaints &
	run=$!
	strace -qq -f -p "$run" -o syncs -e trace=syncfs -e inject=syncfs:error=EIO:when=$number &
	tracer=$!
	is_traced() { ! grep -q '^TracerPid:.0$' "/proc/$run/status"; }
	tap_wait 20 is_traced
	kill -CONT "$run"
	tap_wait 60 was_injected
	kill "$tracer"
	wait "$tracer" || true
	status=0
	wait "$run" || status=$?
	cat said complaints
	[ "$status" = 0 ]
}

both_hold_the_card() {
	for place in one two; do
		(cd "$place"/*/*/ && sha256sum --quiet -c manifest-sha256.txt)
		[ "$(find "$place" -path '*/data/*' -type f | wc -l)" = "$(find card -type f | wc -l)" ]
	done
	expect_safe card
}

costs_no_place_and_no_copy() {
	ground
	offload_with_one_failing_sync 2
	grep 'the drive lost writes while this was being written' complaints || grep 'cannot make durable' complaints
	tap_fails grep 'place .* FAILED' complaints
	both_hold_the_card
}

# What an earlier run wrote and no row speaks of is read back under its name: a sync that fails meanwhile does not concern it.
costs_nothing_that_an_earlier_run_wrote() {
	ground
	# shellcheck disable=SC2086 # none or one word
	"$headrace" offload card --to one --to two $same_device --job 'Cup final' --quiet
	for bag in one/*/*/ two/*/*/; do
		rm "$bag/bagit.txt"
		sed -i '40,$d' "$bag/files.csv"
		find "$bag/data" -type f | sort | sed -n '200,300p' | xargs -d '\n' rm
	done
	offload_with_one_failing_sync 1
	tap_fails grep 'FAILED' complaints
	both_hold_the_card
}

# FAT writes size and place of a renamed file with that file alone (vfat_rename in fs/fat/namei_vfat.c of Linux: the new entry is
# of size 0 until the inode is written), so wherever renames are not known to be whole, as here on FUSE, each tag file is synced by the name it ends with, and bagit.txt begins after that.
tag_files_are_durable_by_the_names_they_end_with() {
	media_begin "$scratch"
	ground_folder
	media_at_end faulty_end
	faulty_mount one
	faulty_mount two
	"$HEADRACE_BUILD/tests/support/demo_card" --out card --seed 7 --frames 12 --size 32x24
	strace -qq -f -y -o calls -e trace=/^rename,fsync,fdatasync "$headrace" offload card --to one --to two --same-device --quiet || [ $? = 1 ]
	for place in one two; do
		bag=$(cd $place/*/*_card && pwd)
		for tag in $(cd "$bag" && find . -maxdepth 1 -type f -printf '%f\n'); do
			[ "$tag" != bagit.txt ] || continue
			sed -n "\\#rename.*<$bag>.*\"$tag\"#,\\#rename.*<$bag>.*\"bagit.txt\"#p" calls | grep "sync([0-9]*<$bag/$tag>"
		done
		sed -n "\\#rename.*<$bag>.*\"bagit.txt\"#,\$p" calls | grep "sync([0-9]*<$bag/bagit.txt>"
	done
}

tap tag_files_are_durable_by_the_names_they_end_with
for each in costs_no_place_and_no_copy costs_nothing_that_an_earlier_run_wrote; do
	if able medium; then tap_if throttle $each; else tap_skip $each "no syncfs"; fi
done
rm -rf "$scratch"
tap_done
