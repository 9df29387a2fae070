#!/bin/sh
# SPDX-License-Identifier: ISC
# Cards that nobody means well with, through the whole program: it ends, in bounded memory and with a right status; every real file is
# delivered or told; and nothing but the places and the ledger is written to. What each name and each entry becomes is held by
# tests/card and tests/offload/names_test.sh.
set -eu
. "$HEADRACE_SOURCE/tests/faults/hostile.sh"
. "$HEADRACE_SOURCE/tests/support/faulty_mount.sh"
entries=${HEADRACE_HOSTILE_ENTRIES:-5000} # in one folder; by hand 100,000
if strace -o "$scratch/trace" true 2>/dev/null; then hostile_strace=yes; fi

frame() {
	mkdir -p "$(dirname "$1")"
	head -c "${2:-5000}" /dev/urandom >"$1"
}

links_lead_nowhere_and_are_told() {
	ground
	frame card/DCIM/100NMERE/N1.JPG
	mkdir card/DCIM/101NMERE
	ln -s ../../../../../guard/kept card/DCIM/100NMERE/out.JPG
	ln -s "$PWD/guard" card/DCIM/102NMERE
	ln -s .. card/DCIM/101NMERE/up
	ln -s . card/DCIM/101NMERE/self
	ln -s b card/DCIM/a
	ln -s a card/DCIM/b
	ln -s nothing card/DCIM/dangling
	ln -s DCIM card/dcim2
	offload 0
	[ "$(grep -c 'a link, not followed, not copied' said)" = 8 ] || grep '8 links' said
	delivered_whole
}

# Nobody writes to the pipe, ever.
pipes_sockets_and_devices_are_not_opened() {
	ground
	frame card/DCIM/100NMERE/N1.JPG
	mkfifo card/DCIM/100NMERE/N2.JPG card/DCIM/103NMERE
	perl -MSocket -e 'socket my $s, PF_UNIX, SOCK_STREAM, 0; bind $s, pack_sockaddr_un("card/DCIM/N3.JPG") or die $!'
	if [ "$(id -u)" = 0 ]; then
		mknod card/DCIM/N4.JPG c 1 5
		mknod card/DCIM/N5.JPG b 7 250
	fi
	offload 0
	grep 'a device, pipe or socket, not copied' said
	delivered_whole
}

each_name_of_a_hard_link_is_a_file() {
	ground
	frame card/DCIM/100NMERE/N1.JPG
	ln card/DCIM/100NMERE/N1.JPG card/DCIM/100NMERE/N2.JPG
	ln guard/kept card/DCIM/100NMERE/N3.JPG
	offload 0
	delivered_whole
	[ "$(stat -c %h guard/kept)" = 2 ]
}

# As whoever the card does not let in.
what_may_not_be_read_is_told_and_the_rest_delivered() {
	ground
	frame card/DCIM/100NMERE/N1.JPG
	frame card/DCIM/100NMERE/N2.JPG
	frame card/DCIM/101NMERE/N3.JPG
	chmod 0 card/DCIM/100NMERE/N2.JPG card/DCIM/101NMERE
	chmod 755 "$scratch"
	[ "$(id -u)" != 0 ] || chown -R 65534:65534 .
	as=
	[ "$(id -u)" != 0 ] || as='setpriv --reuid=65534 --regid=65534 --clear-groups'
	status=0
	# shellcheck disable=SC2086 # a list of words
	timeout 60 $as "$headrace" offload card --to one --to two --same-device --job 'Cup final' --json-lines >said.events 2>said || status=$?
	cat said
	[ "$status" = 1 ]
	grep 'N2.JPG' said
	result '.not_carried == 1 and (.sentence | startswith("NOT SAFE"))'
	for place in one two; do
		[ "$(find $place -path '*/data/*' -type f | wc -l)" = 1 ]
		cmp card/DCIM/100NMERE/N1.JPG $place/*/*/data/DCIM/100NMERE/N1.JPG
	done
}

a_folder_of_very_many_entries_is_carried() {
	ground
	(cd card/DCIM && seq -f 'NMA_%06.0f.JPG' "$entries" | xargs touch -d 2026-05-16)
	hostile_strace= hostile_seconds=600
	offload 0
	result ".places | all(.files_proven == $entries)"
	echo "peak $peak_kb kB"
	[ "$peak_kb" -lt $((64000 + entries)) ] || [ -n "${HEADRACE_SANITIZED:-}" ]
}

# 300 folders of 20 letters: no call takes such a path in one piece.
a_path_longer_than_any_call_takes_is_carried() {
	ground
	perl -e '
		chdir "card/DCIM" or die;
		for (1 .. 300) { mkdir "stand-at-Northmere-A" or die $!; chdir "stand-at-Northmere-A" or die $! }
		open my $file, ">", "N1.JPG" or die; print $file "far down"; close $file'
	hostile_strace= # which cannot name such a folder
	offload 0
	result '.places | all(.files_proven == 1)'
	for place in one two; do
		perl -e '
			chdir shift or die $!;
			for (1 .. 300) { chdir "stand-at-Northmere-A" or die "$_: $!" }
			open my $file, "<", "N1.JPG" or die $!; exit(<$file> ne "far down")' "$(bag_in $place)/data/DCIM"
	done
	"$headrace" verify one two --json | jq -e .all_valid
	offload 0
	[ "$(find one two -maxdepth 3 -name bagit.txt | wc -l)" = 2 ]
}

# Seconds as a signed number of 32 bits, of 64, and what FAT and nanoseconds end with.
times_of_any_age_are_kept() {
	ground
	for time in 1970-01-01 1901-12-13 1900-01-01 1969-12-31T23:59:59.5 1980-01-01 2038-01-20 2106-02-08 2107-12-31T23:59:58 2262-04-11 9999-12-31; do
		frame "card/DCIM/N-$time.JPG" 100
		touch -d "$time UTC" "card/DCIM/N-$time.JPG"
	done
	offload 0
	delivered_whole
	for place in one two; do
		for file in card/DCIM/*; do
			[ "$(stat -c %Y "$file")" = "$(stat -c %Y $place/*/*/data/DCIM/"${file##*/}")" ] || case $file in *9999*) ;; *) return 1 ;; esac
		done
	done
	offload 0
	[ "$(find one two -name bagit.txt | wc -l)" = 2 ]
}

# The day of a frame is the job's name where none is given.
a_job_named_by_the_day_is_a_day() {
	for time in 1970-01-01 1900-01-01 2107-12-31 9999-12-31; do
		ground
		frame card/DCIM/N1.JPG 100
		touch -d "$time UTC" card/DCIM/N1.JPG
		timeout 60 "$headrace" offload card --to one --to two --same-device --json >said.events
		ls one | grep -x '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'
	done
}

# A card that once was a place: bags, and a folder of sequences.
names_of_ours_are_names_like_others() {
	ground
	frame card/DCIM/100NMERE/N1.JPG
	offload 0
	rm -rf state card/DCIM
	mv one/* deep/down/card/
	mkdir -p card/DCIM/100NMERE card/sequences card/data one
	frame card/DCIM/100NMERE/N2.JPG
	for name in bagit.txt bag-info.txt manifest-sha256.txt manifest-xxh128.txt tagmanifest-sha256.txt files.csv .files.csv.part fetch.txt \
		.giving-up.csv .N2.JPG.part .bagit.txt.part x.aside sequences/files.csv ledger.db; do
		frame "card/$name" 50
	done
	rm -rf two/*
	offload 0
	delivered_whole
	[ "$(find one two -maxdepth 3 -name bagit.txt | wc -l)" = 2 ]
}

a_place_whose_job_is_a_link_out_of_it_is_not_followed() {
	ground
	frame card/DCIM/N1.JPG
	ln -s ../guard 'one/Cup final'
	offload '1 4'
	[ "$(find guard | wc -l)" = 5 ]
}

# Whoever only looks at a card, or measures it, waits for none of it and changes none.
other_commands_take_such_a_card_as_well() {
	ground
	perl "$faults/hostile_cards.pl" folder 5 deep/down/card >/dev/null
	frame card/DCIM/100NMERE/N1.JPG 4000000
	mkfifo card/DCIM/100NMERE/N0.JPG
	ln -s . card/DCIM/100NMERE/loop
	account >../before
	timeout 60 "$headrace" forecast card --to one --to two --same-device --json | jq -e . >../checked
	timeout 60 "$headrace" offload card --to one --to two --same-device --dry-run --json | jq -e . >../checked
	tap_fails timeout 60 "$headrace" safe card --json
	timeout 60 "$headrace" measure card --json | jq -e . >../checked
	timeout 60 "$headrace" devices --json | jq -e . >../checked
	account >../after
	cmp ../before ../after
	[ -z "$(find one two -mindepth 1)" ]
}

# Whoever can write to a drive can put anything into a bag.
a_bag_with_links_and_pipes_in_it_is_told_to_be_wrong() {
	for harm in 'mkfifo' 'ln -s /etc/passwd' 'ln -s /dev/zero' 'mkdir'; do
		for file in data/DCIM/N1.JPG bagit.txt manifest-xxh128.txt files.csv bag-info.txt; do
			ground
			frame card/DCIM/N1.JPG
			timeout 60 "$headrace" offload card --to one --any-folder --quiet --same-device || :
			bag=$(bag_in one)
			[ -n "$bag" ]
			rm "$bag/$file"
			$harm "$bag/$file"
			status=0
			timeout 60 "$headrace" verify "$bag" >../said 2>&1 || status=$?
			[ "$status" = 1 ]
			timeout 60 "$headrace" sequences one >../said 2>&1 || status=$?
			[ "$status" -le 1 ]
			timeout 60 "$headrace" offload card --to one --any-folder --quiet --same-device >../said 2>&1 || status=$?
			[ "$status" -le 4 ]
		done
	done
}

# Files and folders where a copy would stand while it is made, whatever number it has and whichever attempt it is.
temporary_names_of_ours_are_names_like_others() {
	ground
	for name in N1.JPG N2.JPG N3.JPG; do
		frame "card/DCIM/$name" 3000
	done
	for number in 0 1 2 3 4 5 6 7 8 9; do
		for attempt in 1 2 3; do
			frame "card/DCIM/.$number.$attempt.part" 100
			frame "card/DCIM/..$number.$attempt.part/N4.JPG" 100
		done
	done
	frame card/DCIM/.N1.JPG.part/N5.JPG
	frame card/DCIM/.N2.JPG.PART/.N5.JPG.part
	offload 0
	delivered_whole
	[ ! -s said ] || tap_fails grep 'FAILED' said
}

# A file of twelve blocks that is read slowly; the camera still writes. Whatever it does, no such file passes for a copy of the card's,
# and the next run puts it right.
changed_while_it_is_read() {
	ground
	rm -r card/DCIM
	faulty_begin "$PWD/deep/down"
	trap faulty_end EXIT
	frame deep/down/card.real/DCIM/N1.JPG 3000000
	frame deep/down/card.real/DCIM/N2.JPG 40000
	faulty_mount card 'read slow path=*N1.JPG ms=300'
	timeout 60 "$headrace" offload card --to one --to two --same-device --job 'Cup final' --json-lines >said.events 2>said &
	run=$!
	tap_wait 20 eval '[ -n "$(find one -name ".N1.JPG.part")" ]'
	"$@"
	status=0
	wait $run || status=$?
	cat said
	[ "$status" = "1" ]
	grep 'FAILED.*N1.JPG' said
	for place in one two; do
		cmp deep/down/card.real/DCIM/N2.JPG $place/*/*/data/DCIM/N2.JPG
		[ -z "$(find $place -name N1.JPG)" ]
	done
	faulty_rules card
	timeout 60 "$headrace" offload card --to one --to two --same-device --job 'Cup final' >said 2>&1
	faulty_end
	trap - EXIT
	for place in one two; do
		cmp deep/down/card.real/DCIM/N1.JPG "$(find $place -name N1.JPG)"
	done
}

a_file_that_grows_while_it_is_read_is_told() {
	changed_while_it_is_read sh -c 'head -c 100000 /dev/urandom >>deep/down/card.real/DCIM/N1.JPG'
}

a_file_that_shrinks_while_it_is_read_is_told() {
	changed_while_it_is_read truncate -s 1000 deep/down/card.real/DCIM/N1.JPG
}

a_file_that_is_written_over_while_it_is_read_is_told() {
	changed_while_it_is_read sh -c 'head -c 3000000 /dev/urandom >deep/down/card.real/DCIM/N1.JPG'
}

# ---- Archives ----

a_name_in_an_archive_leads_nowhere_out() {
	for kind in zip tar; do
		for number in 1 2 3 4 5 6; do
			ground
			perl "$faults/hostile_cards.pl" $kind $number deep/down/card.$kind >../told
			card=deep/down/card.$kind
			offload '0 1'
			card=
			grep '^must' ../told | cut -d ' ' -f 2,3 | sort >../wanted
			for place in one two; do
				contents "$(bag_in $place)/data" >../found
				comm -23 ../wanted ../found >../missing
				[ ! -s ../missing ]
			done
			lost=$(grep -c '^lost' ../told) || :
			result ".not_carried >= $lost and (.not_carried > 0) == ($status == 1) and (.sentence | startswith(\"NOT SAFE\"))"
		done
	done
}

# A zip of some hundred kilobytes that says it holds 300 megabytes, and does.
what_will_not_fit_is_refused_before_anything_is_written() {
	ground
	perl -MCompress::Zlib -e '
		my ($count, $piece, $name) = (300, "\0" x 1048576, "DCIM/N1.JPG");
		my ($stream) = deflateInit(-WindowBits => -15);
		my ($packed, $sum) = ("", crc32(""));
		for (1 .. $count) { my ($some) = $stream->deflate($piece); $packed .= $some; $sum = crc32($piece, $sum) }
		my ($last) = $stream->flush(); $packed .= $last;
		my @common = (0, 8, 0, 0x5a21, $sum, length $packed, $count * 1048576, length $name);
		my $local = pack("VvvvvvVVVvv", 0x04034b50, 20, @common, 0) . $name . $packed;
		my $entry = pack("VvvvvvvVVVvvvvvVV", 0x02014b50, 788, 20, @common, 0, 0, 0, 0, 0100644 << 16, 0) . $name;
		print $local, $entry, pack("VvvvvVVv", 0x06054b50, 0, 0, 1, 1, length $entry, length $local, 0)' >deep/down/bomb.zip
	[ "$(stat -c %s deep/down/bomb.zip)" -lt 400000 ]
	if mount -t tmpfs -o size=50m small one 2>/dev/null; then
		trap 'umount one' EXIT
		card=deep/down/bomb.zip offload 4
		grep 'nothing was written' said
	else
		card=deep/down/bomb.zip offload 0
	fi
	[ "$peak_kb" -lt 100000 ] || [ -n "${HEADRACE_SANITIZED:-}" ]
}

# The same, that says it holds a kilobyte: it is read no further than that, and the file fails.
an_entry_that_holds_more_than_it_says_is_given_up_at_once() {
	ground
	perl -MCompress::Zlib -e '
		my ($name, $good) = ("DCIM/N1.JPG", "a frame of the final at Northmere");
		my ($stream) = deflateInit(-WindowBits => -15);
		my $packed = "";
		for (1 .. 200) { my ($some) = $stream->deflate("\0" x 1048576); $packed .= $some }
		my ($last) = $stream->flush(); $packed .= $last;
		my ($zip, $directory) = ("", "");
		for ([$name, 8, $packed, 1000, 0], ["DCIM/N2.JPG", 0, $good, length $good, crc32($good)]) {
			my ($name, $method, $bytes, $size, $sum) = @$_;
			my @common = (0, $method, 0, 0x5a21, $sum, length $bytes, $size, length $name);
			$directory .= pack("VvvvvvvVVVvvvvvVV", 0x02014b50, 788, 20, @common, 0, 0, 0, 0, 0100644 << 16, length $zip) . $name;
			$zip .= pack("VvvvvvVVVvv", 0x04034b50, 20, @common, 0) . $name . $bytes;
		}
		print $zip, $directory, pack("VvvvvVVv", 0x06054b50, 0, 0, 2, 2, length $directory, length $zip, 0)' >deep/down/bomb.zip
	card=deep/down/bomb.zip offload 1
	grep 'FAILED.*N1.JPG' said
	result '.places | all(.files_proven == 1)'
	[ "$(du -sm one | cut -f 1)" -lt 5 ]
	[ "$peak_kb" -lt 100000 ] || [ -n "${HEADRACE_SANITIZED:-}" ]
}

# On an image of five gigabytes, none of which takes room: whoever reads such a list as a whole needs as much memory.
a_folder_of_an_image_is_no_longer_than_any_card() {
	ground
	frame card/DCIM/N1.JPG
	genisoimage -quiet -no-pad -o ../vast.iso card/
	perl -0777 -pi -e '
		s/(\x01CD001\x01.{73}).{8}/$1\0\0\x30\0\0\x30\0\0/s;
		s/(\x18\0{6}\x18)\0\x08\0\0\0\0\x08\0/$1\0\xf8\xff\xff\xff\xff\xf8\0/g' ../vast.iso
	truncate -s 5G ../vast.iso
	card=../vast.iso
	offload 4
	rm ../vast.iso
	grep 'it lists more in one place than any card holds' said
	[ "$peak_kb" -lt 200000 ] || [ -n "${HEADRACE_SANITIZED:-}" ]
}

# What is compressed as a whole, cut off, a pipe nobody writes to, or no archive at all.
what_is_no_card_is_refused() {
	ground
	frame card/DCIM/N1.JPG
	tar -C card -czf deep/down/card.tar.gz .
	tar -C card -cf deep/down/whole.tar .
	head -c 700 deep/down/whole.tar >deep/down/cut.tar
	head -c 100000 /dev/urandom >deep/down/noise.zip
	: >deep/down/empty.zip
	mkfifo deep/down/pipe.zip
	for card in deep/down/pipe.zip /dev/zero deep/down/card.tar.gz deep/down/noise.zip deep/down/empty.zip deep/down/cut.tar deep/down deep/nothing guard/kept; do
		offload '1 2 4'
		[ -s said ] && [ -z "$(find one two -type f -path '*/data/*')" ]
	done
	card=
}

tap links_lead_nowhere_and_are_told
tap pipes_sockets_and_devices_are_not_opened
tap each_name_of_a_hard_link_is_a_file
tap what_may_not_be_read_is_told_and_the_rest_delivered
tap a_folder_of_very_many_entries_is_carried
tap a_path_longer_than_any_call_takes_is_carried
tap times_of_any_age_are_kept
tap a_job_named_by_the_day_is_a_day
tap names_of_ours_are_names_like_others
tap other_commands_take_such_a_card_as_well
tap a_bag_with_links_and_pipes_in_it_is_told_to_be_wrong
tap temporary_names_of_ours_are_names_like_others
tap a_place_whose_job_is_a_link_out_of_it_is_not_followed
for case in a_file_that_grows_while_it_is_read_is_told a_file_that_shrinks_while_it_is_read_is_told \
	a_file_that_is_written_over_while_it_is_read_is_told; do
	if reason=$(faulty_can); then tap $case; else tap_skip $case "$reason"; fi
done
tap a_name_in_an_archive_leads_nowhere_out
tap what_will_not_fit_is_refused_before_anything_is_written
tap an_entry_that_holds_more_than_it_says_is_given_up_at_once
tap a_folder_of_an_image_is_no_longer_than_any_card
tap what_is_no_card_is_refused
tap_done
