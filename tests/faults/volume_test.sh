#!/bin/sh
# SPDX-License-Identifier: ISC
# The faulty volume itself: without rules it is as the folder it shows; each harm is really done, where and as often as its
# rule says, and stands in the log; the kernel neither hides nor repeats it. Witnesses: cmp, dd, cat, stat.
set -eu
here=$HEADRACE_SOURCE/tests/support
. "$here/tap.sh"
. "$here/faulty_mount.sh"
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-faulty.XXXXXX")
trap 'faulty_end; rm -rf "$scratch"' EXIT

# with RULE...: a fresh volume v with one file of a million bytes, each byte of which tells its block.
with() {
	trap faulty_end EXIT
	cd "$scratch"
	rm -rf v.real
	mkdir v.real
	perl -e 'print pack("C*", map { 1 + int($_ / 4096) % 251 } 0 .. 999999)' >whole
	cp whole v.real/whole
	faulty_begin "$scratch"
	faulty_mount v "$@"
}

differences() {
	cmp -l "$1" "$2" | wc -l
}

is_the_folder_itself_without_rules() {
	with
	mkdir -p v/a/b
	cp whole v/a/b/copy
	cmp whole v.real/a/b/copy
	mv v/a/b/copy v/a/moved
	truncate -s 5000 v/a/moved
	touch -d 2026-05-16T15:00:00.123456789Z v/a/moved
	[ "$(stat -c '%s %y' v/a/moved)" = "$(stat -c '%s %y' v.real/a/moved)" ]
	[ "$(stat -c '%s' v.real/a/moved)" = 5000 ]
	echo more >>v/a/moved
	cmp v/a/moved v.real/a/moved
	chmod 444 v/a/moved
	[ "$(stat -c %a v.real/a/moved)" = 444 ]
	[ "$(cd v && find . | sort)" = "$(cd v.real && find . | sort)" ]
	dd if=whole of=v/direct bs=8192 oflag=direct count=122 conv=fsync status=none
	dd if=v/direct bs=8192 iflag=direct status=none | cmp -n 999424 - whole
	rm -r v/a
	tap_fails rmdir v/a
	[ ! -e v.real/a ]
	flock -n v true
	[ ! -s v.log ]
}

fails_a_read_with_the_error_asked_for() {
	with 'read EIO offset=500000 once'
	tap_fails cat v/whole >part 2>said
	grep 'Input/output error' said
	cmp -n "$(stat -c %s part)" part whole
	cat v/whole | cmp - whole
	[ "$(faulty_count v 'read EIO [0-9]* [0-9]* whole')" = 1 ]
}

flips_one_bit_of_a_reading_and_none_of_the_file() {
	with 'read flip offset=500000 once'
	cat v/whole >first
	cat v/whole >second
	[ "$(differences first whole)" = 1 ]
	[ "$(cmp -l first whole | awk '{ print $1 }')" = 500001 ]
	cmp second whole
	cmp v.real/whole whole
	[ "$(faulty_count v 'read flip 500000 ')" = 1 ]
}

tells_openings_apart() {
	with 'read flip offset=7 opening=2'
	cat v/whole | cmp - whole
	[ "$(cat v/whole | differences - whole)" = 1 ]
	cat v/whole | cmp - whole
	faulty_rules v 'read flip offset=7 opening_every=2'
	for number in 1 2 3 4; do
		[ "$(cat v/whole | differences - whole)" = $((1 - number % 2)) ]
	done
	[ "$(faulty_count v 'read flip 7 ')" = 2 ]
}

gives_short_counts_that_a_loop_survives() {
	with 'read short' 'write short'
	cat v/whole | cmp - whole
	cat whole >v/copy
	cmp whole v.real/copy
	[ "$(faulty_count v 'read short')" -ge 1 ]
	[ "$(faulty_count v 'write short')" -ge 1 ]
}

# harmed_writing RULE: writes the file through the volume with that rule and tells how many bytes of it differ.
harmed_writing() {
	faulty_rules v "$1"
	rm -f v.real/copy
	dd if=whole of=v/copy bs=65536 status=none
	[ "$(stat -c %s v.real/copy)" = 1000000 ]
	differences v.real/copy whole
}

harms_what_is_written() {
	with
	[ "$(harmed_writing 'write flip offset=100000')" = 1 ]
	[ "$(faulty_count v 'write flip 100000 [0-9]* copy')" = 1 ]
	[ "$(harmed_writing 'write zero-block offset=100000')" = 4096 ]
	[ "$(harmed_writing 'write other-block offset=100000')" = 4096 ]
	cp whole v.real/another
	printf 'of its own' | dd of=v.real/another conv=notrunc status=none
	faulty_rules v 'write foreign-block offset=100000'
	rm -f v.real/copy
	dd if=v/another of=/dev/null bs=4096 count=1 status=none
	dd if=whole of=v/copy bs=65536 status=none
	cmp -l v.real/copy whole | awk 'NR == 1 { exit $1 != 98305 }'
	[ "$(dd if=v.real/copy bs=1 skip=98304 count=10 status=none)" = 'of its own' ]
	[ "$(faulty_count v 'write foreign-block 100000 [0-9]* copy')" = 1 ]
	[ "$(harmed_writing 'write torn-tail offset=100000 once')" = 32768 ]
	[ "$(harmed_writing 'write lost offset=100000 once')" = 65536 ]
	[ "$(faulty_count v 'write lost 100000 [0-9]* copy')" = 1 ]
}

is_full_read_only_or_over_quota_midway() {
	with 'write ENOSPC after=300000'
	tap_fails dd if=whole of=v/copy bs=65536 status=none 2>said
	grep 'No space left' said
	[ "$(stat -c %s v.real/copy)" = 262144 ]
	faulty_rules v 'change EROFS after=100000'
	tap_fails dd if=whole of=v/copy bs=65536 status=none 2>said
	grep 'Read-only file system' said
	tap_fails mkdir v/folder
	tap_fails mv v/whole v/other
	cat v/whole | cmp - whole
	faulty_rules v 'write EDQUOT skip=2'
	tap_fails dd if=whole of=v/copy bs=65536 status=none 2>said
	grep 'quota' said
}

loses_what_a_failed_sync_was_to_keep() {
	with 'sync drop once path=copy'
	tap_fails dd if=whole of=v/copy bs=65536 conv=fsync status=none
	[ "$(stat -c %s v.real/copy)" = 1000000 ]
	[ "$(tr -d '\0' <v.real/copy | wc -c)" = 0 ]
	dd if=whole of=v/copy bs=65536 conv=fsync status=none
	cmp whole v.real/copy
	faulty_rules v 'sync EIO once'
	tap_fails sync v/copy
	sync v/copy
	cmp whole v.real/copy
	[ "$(faulty_count v 'sync EIO')" = 1 ]
}

fails_calls_on_names() {
	with 'open ENOENT path=whole once' 'rename EIO' 'mkdir EACCES' 'remove EBUSY' 'list EIO once' 'stamp EPERM' 'create EDQUOT'
	tap_fails cat v/whole
	cat v/whole >/dev/null
	tap_fails mv v/whole v/other
	tap_fails mkdir v/a
	tap_fails rm -f v/whole
	tap_fails ls v
	ls v
	tap_fails touch v/whole
	tap_fails cp whole v/new
	[ "$(ls v.real)" = whole ]
	for harm in 'open ENOENT' 'rename EIO' 'mkdir EACCES' 'remove EBUSY' 'list EIO' 'stamp EPERM' 'create EDQUOT'; do
		[ "$(faulty_count v "$harm")" -ge 1 ]
	done
}

vanishes_for_good() {
	with 'read vanish after=300000'
	tap_fails cat v/whole >part 2>said
	grep 'No such device' said
	tap_fails ls v
	tap_fails stat v
	[ "$(wc -l <v.log)" = 1 ]
	faulty_rules v
	cat v/whole | cmp - whole
}

# The one time that is held against anything: a million bytes at two megabytes a second cannot take less than half a second.
takes_its_time() {
	with 'read slow bytes_per_s=2000000'
	began=$(date +%s%N)
	cat v/whole >/dev/null
	[ $(($(date +%s%N) - began)) -ge 490000000 ]
}

does_the_same_again_with_the_same_seed() {
	for faulty_seed in 1 1 2; do
		with 'read flip chance=30' 'read zero-block chance=10'
		dd if=v/whole of="seed$faulty_seed" bs=65536 status=none
		sort v.log >>"logs$faulty_seed"
		faulty_unmount v
	done
	[ "$(sort logs1 | uniq -u | wc -l)" = 0 ]
	[ "$(wc -l <logs1)" -ge 2 ]
	tap_fails cmp seed1 seed2
}

refuses_rules_it_does_not_know() {
	with
	tap_fails "$HEADRACE_BUILD/tests/support/faulty_volume" --rule 'read EIO whenever' v.real v
	tap_fails "$HEADRACE_BUILD/tests/support/faulty_volume" --rules none v.real v
	tap_fails "$HEADRACE_BUILD/tests/support/faulty_volume" v.real
}

reason=$(faulty_can) && can=yes || can=no
for case in is_the_folder_itself_without_rules fails_a_read_with_the_error_asked_for \
	flips_one_bit_of_a_reading_and_none_of_the_file tells_openings_apart gives_short_counts_that_a_loop_survives \
	harms_what_is_written is_full_read_only_or_over_quota_midway loses_what_a_failed_sync_was_to_keep fails_calls_on_names \
	vanishes_for_good takes_its_time does_the_same_again_with_the_same_seed refuses_rules_it_does_not_know; do
	if [ "$can" = yes ]; then tap "$case"; else tap_skip "$case" "$reason"; fi
done
tap_done
