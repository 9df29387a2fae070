#!/bin/sh
# SPDX-License-Identifier: ISC
# The volumes that other tests stand on. What they are is asked of the kernel and of util-linux, not of media.sh.
set -eu
support=$(cd "$(dirname "$0")" && pwd)
. "$support/tap.sh"
. "$support/media.sh"
scratch=$(mktemp -d "${TMPDIR:-/tmp}/headrace-media.XXXXXX")

# Each case is a shell of its own, so that everything it began ends with it.
begin() {
	media_begin "$scratch/volumes"
}

nothing_is_left() {
	[ -z "$(findmnt -n -o TARGET | grep -F "$scratch")" ]
	[ -z "$(losetup -n -O BACK-FILE | grep -F "$scratch")" ]
}

on_image() {
	losetup -n -O NAME -j "$scratch/volumes/$1.img"
}

mounts_exfat_on_a_device_of_its_own() {
	begin
	media_exfat card 64 CUPFINAL
	[ "$(findmnt -n -o FSTYPE "$scratch/volumes/card")" = fuseblk ]
	[ "$(findmnt -n -o SOURCE "$scratch/volumes/card")" = "$(on_image card)" ]
	[ "$(blkid -o value -s TYPE "$(media_loop card)")" = exfat ]
	[ "$(blkid -o value -s LABEL "$(media_loop card)")" = CUPFINAL ]
}

mounts_ext4_empty_with_the_inodes_asked_for() {
	begin
	media_ext4 ssd 64 1024
	[ "$(findmnt -n -o FSTYPE "$scratch/volumes/ssd")" = ext4 ]
	[ "$(df --output=itotal "$scratch/volumes/ssd" | tail -n 1)" -eq 1024 ]
	[ -z "$(ls -A "$scratch/volumes/ssd")" ]
}

keeps_files_through_unmount_and_mount() {
	begin
	media_exfat card 64
	echo goal >"$scratch/volumes/card/NOTES.TXT"
	media_unmount card
	[ ! -e "$scratch/volumes/card/NOTES.TXT" ]
	media_mount card ro
	[ "$(cat "$scratch/volumes/card/NOTES.TXT")" = goal ]
	tap_fails touch "$scratch/volumes/card/MORE.TXT"
}

takes_everything_away_at_the_end() {
	HEADRACE_KEEP='' sh -c '. "$1/media.sh"; media_begin "$2/volumes"; media_exfat card 64; media_ext4 ssd 64; media_ext4 backup 64
		media_throttle ssd 50 50; sleep 60 <"$2/volumes/ssd" & media_at_end "kill $!"; sleep 0.3; exit 7' \
		sh "$support" "$scratch" && status=0 || status=$?
	[ "$status" = 7 ]
	[ -z "$(ls -A "$scratch/volumes")" ]
	nothing_is_left
}

takes_everything_away_when_it_is_told_to_stop() {
	sh -c '. "$1/media.sh"; media_begin "$2/volumes"; media_exfat card 64; media_ext4 ssd 64; kill -TERM $$; sleep 5' \
		sh "$support" "$scratch" && status=0 || status=$?
	[ "$status" = 143 ]
	nothing_is_left
}

fails_reads_of_a_card_that_is_pulled_out() {
	begin
	media_exfat card 64
	head -c 20000000 /dev/urandom >"$scratch/volumes/card/CLIP.MOV"
	media_unmount card
	media_mount card
	exec 3<"$scratch/volumes/card/CLIP.MOV"
	media_yank card
	tap_fails cat <&3 >/dev/null
	[ ! -e "$scratch/volumes/card/CLIP.MOV" ]
	exec 3<&-
	media_replug card
	[ "$(stat -c %s "$scratch/volumes/card/CLIP.MOV")" = 20000000 ]
}

fails_writes_to_a_drive_that_is_pulled_out() {
	begin
	media_ext4 ssd 64
	echo first >"$scratch/volumes/ssd/first"
	sync -f "$scratch/volumes/ssd/first"
	exec 4>"$scratch/volumes/ssd/second"
	media_yank ssd
	tap_fails dd if=/dev/zero bs=4096 count=1 conv=fsync >&4
	exec 4>&-
	media_replug ssd
	[ "$(cat "$scratch/volumes/ssd/first")" = first ]
}

# Slower than the limit can be the machine's doing; faster cannot.
holds_reads_and_writes_to_a_limit() {
	begin
	media_ext4 ssd 64
	media_throttle ssd 20 10
	started=$(date +%s%N)
	dd if=/dev/zero of="$scratch/volumes/ssd/file" bs=1M count=20 oflag=direct conv=fsync
	written=$(date +%s%N)
	dd if="$scratch/volumes/ssd/file" of=/dev/null bs=1M iflag=direct
	read_back=$(date +%s%N)
	[ $((written - started)) -gt 1800000000 ]
	[ $((read_back - written)) -gt 900000000 ]
}

lifts_a_limit() {
	begin
	media_ext4 ssd 64
	number=$(lsblk -n -o MAJ:MIN "$(media_loop ssd)" | tr -d ' ')
	media_throttle ssd 20 10
	grep -hqx "$number 20000000" /sys/fs/cgroup/blkio/blkio.throttle.read_bps_device
	media_unthrottle ssd
	tap_fails grep -hq "^$number " /sys/fs/cgroup/blkio/blkio.throttle.read_bps_device /sys/fs/cgroup/blkio/blkio.throttle.write_bps_device
}

drops_what_memory_holds() {
	begin
	media_ext4 ssd 64
	head -c 8000000 /dev/urandom >"$scratch/volumes/ssd/file"
	media_drop ssd
	[ "$(fincore -n -b -o RES "$scratch/volumes/ssd/file" | tr -d ' ')" = 0 ]
}

tap_if exfat mounts_exfat_on_a_device_of_its_own keeps_files_through_unmount_and_mount fails_reads_of_a_card_that_is_pulled_out \
	takes_everything_away_when_it_is_told_to_stop
tap_if "" mounts_ext4_empty_with_the_inodes_asked_for fails_writes_to_a_drive_that_is_pulled_out drops_what_memory_holds
tap_if "exfat throttle" takes_everything_away_at_the_end holds_reads_and_writes_to_a_limit lifts_a_limit
rm -rf "$scratch"
tap_done
