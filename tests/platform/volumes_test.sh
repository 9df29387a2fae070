#!/bin/sh
# SPDX-License-Identifier: ISC
# Real volumes on loop devices. What they are is asked of util-linux too (blkid, findmnt, df).
set -eu
tests=$HEADRACE_SOURCE/tests
. "$tests/support/tap.sh"
. "$tests/support/media.sh"
probe=$HEADRACE_BUILD/tests/platform/volume_probe
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-volumes.XXXXXX")

begin() {
	media_begin "$scratch/volumes"
}

# told NAME KEY: what the probe says of a volume.
told() {
	"$probe" describe "$scratch/volumes/$1" | sed -n "s/^$2 //p"
}

blkid_of() {
	blkid -o value -s "$2" "$(media_loop "$1")"
}

knows_an_ext4_drive() {
	begin
	media_ext4 ssd 64 2048
	tune2fs -L NORTHMERE "$(media_loop ssd)" >/dev/null
	[ "$(told ssd mount_point)" = "$scratch/volumes/ssd" ]
	[ "$(told ssd source)" = "$(media_loop ssd)" ]
	[ "$(told ssd fs_type)" = "$(findmnt -n -o FSTYPE "$scratch/volumes/ssd")" ]
	[ "$(told ssd identity)" = "uuid:$(blkid_of ssd UUID)" ]
	[ "$(told ssd free_files)" = "$(df --output=iavail "$scratch/volumes/ssd" | tail -n 1 | tr -d ' ')" ]
	[ "$(told ssd folds_case)" = 0 ]
	[ "$(told ssd disk)" = "file:$scratch/volumes/ssd.img" ]
	media_unmount ssd
	media_mount ssd ro
	[ "$(told ssd read_only)" = 1 ]
	[ "$(told ssd label)" = "$(blkid_of ssd LABEL)" ]
}

knows_an_exfat_card() {
	begin
	media_exfat card 64 CUPFINAL
	[ "$(told card source)" = "$(media_loop card)" ]
	[ "$(told card identity)" = "uuid:$(blkid_of card UUID)" ]
	[ "$(told card folds_case)" = 1 ]
	[ "$(told card read_only)" = 0 ]
	[ "$(told card disk)" = "file:$scratch/volumes/card.img" ]
	[ "$(told card cache_dropped)" = 1 ]
}

works_on_ext4() {
	begin
	media_ext4 ssd 64
	"$probe" try "$scratch/volumes/ssd" >"$scratch/told"
	grep -v '^reserve' "$scratch/told" | diff - "$HEADRACE_SOURCE/tests/platform/try.expected"
	[ "$(ls "$scratch/volumes/ssd" | tr '\n' ' ')" = "B C " ]
}

# FUSE exFAT has neither a rename that replaces nothing nor fallocate.
works_on_exfat() {
	begin
	media_exfat card 64
	"$probe" try "$scratch/volumes/card" >"$scratch/told"
	grep -v '^reserve' "$scratch/told" | diff - "$HEADRACE_SOURCE/tests/platform/try.expected"
	grep -qx 'reserve unsupported' "$scratch/told"
	[ "$(ls "$scratch/volumes/card" | tr '\n' ' ')" = "B C " ]
}

tells_two_drives_from_one() {
	begin
	media_ext4 ssd 64
	media_ext4 backup 64
	mkdir "$scratch/volumes/ssd/job" "$scratch/volumes/bound"
	mount --bind "$scratch/volumes/ssd/job" "$scratch/volumes/bound"
	media_at_end "umount '$scratch/volumes/bound'"
	[ "$("$probe" share "$scratch/volumes/ssd" "$scratch/volumes/backup")" = no ]
	[ "$("$probe" share "$scratch/volumes/ssd" "$scratch/volumes/bound")" = yes ]
	[ "$("$probe" share "$scratch/volumes/ssd" "$scratch")" = no ]
	[ "$(told bound mount_point)" = "$scratch/volumes/bound" ]
}

# tap_if NEEDS CASE...
tap_if() {
	needs=$1
	shift
	for case; do
		# shellcheck disable=SC2086 # a list of words
		if why=$(media_can $needs); then tap "$case"; else tap_skip "$case" "$why"; fi
	done
}

tap_if "" knows_an_ext4_drive works_on_ext4 tells_two_drives_from_one
tap_if exfat knows_an_exfat_card works_on_exfat
rm -rf "$scratch"
tap_done
