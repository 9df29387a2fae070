#!/bin/sh
# SPDX-License-Identifier: ISC
# Real volumes on loop devices. What they are is asked of util-linux too (blkid, findmnt, df, stat).
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

apart() {
	"$probe" apart "$scratch/volumes/$1" "$scratch/volumes/$2"
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
	"$probe" try "$scratch/volumes/ssd" | diff - "$HEADRACE_SOURCE/tests/platform/try.expected"
	[ "$(ls "$scratch/volumes/ssd" | tr '\n' ' ')" = "B C " ]
}

# FUSE exFAT has no rename that replaces nothing.
works_on_exfat() {
	begin
	media_exfat card 64
	"$probe" try "$scratch/volumes/card" | diff - "$HEADRACE_SOURCE/tests/platform/try.expected"
	[ "$(ls "$scratch/volumes/card" | tr '\n' ' ')" = "B C " ]
}

tells_two_drives_from_one() {
	begin
	media_ext4 ssd 64
	media_ext4 backup 64
	mkdir "$scratch/volumes/ssd/job" "$scratch/volumes/bound"
	mount --bind "$scratch/volumes/ssd/job" "$scratch/volumes/bound"
	media_at_end "umount '$scratch/volumes/bound'"
	[ "$(apart ssd backup)" = yes ]
	[ "$(apart ssd bound)" = no ]
	[ "$(told bound mount_point)" = "$scratch/volumes/bound" ]
}

# cover NAME: an overlay whose files stand on the volume, mounted at NAME-over.
cover() {
	mkdir "$scratch/volumes/$1/lower" "$scratch/volumes/$1/upper" "$scratch/volumes/$1/work" "$scratch/volumes/$1-over"
	mount -t overlay -o "lowerdir=$scratch/volumes/$1/lower,upperdir=$scratch/volumes/$1/upper,workdir=$scratch/volumes/$1/work" \
		"$(media_loop "$1")" "$scratch/volumes/$1-over"
	media_at_end "umount '$scratch/volumes/$1-over'"
}

does_not_tell_an_overlay_from_any_drive() {
	begin
	media_ext4 ssd 64
	media_ext4 backup 64
	cover ssd
	cover backup
	[ "$(told ssd-over fs_type)" = overlay ]
	[ -z "$(told ssd-over disk)" ]
	[ "$(apart ssd-over ssd)" = unknown ]
	[ "$(apart ssd-over backup)" = unknown ]
	[ "$(apart ssd-over backup-over)" = unknown ]
	[ "$(apart ssd-over ssd-over)" = no ]
}

# make_btrfs NAME DEVICE...: mounted at NAME by its first device.
make_btrfs() {
	btrfs_at=$scratch/volumes/$1
	shift
	mkdir -p "$btrfs_at"
	mkfs.btrfs -q -f "$@"
	mount -t btrfs "$1" "$btrfs_at"
	media_at_end "umount '$btrfs_at'"
}

# Its mount names one of them only.
knows_both_drives_of_a_btrfs() {
	begin
	media_ext4 ssd 200
	media_ext4 backup 200
	media_unmount ssd
	media_unmount backup
	make_btrfs pool "$(media_loop ssd)" "$(media_loop backup)"
	[ "$(told pool disk | sort | tr '\n' ' ')" = "file:$scratch/volumes/backup.img file:$scratch/volumes/ssd.img " ]
	[ "$(told pool identity)" = "uuid:$(blkid_of ssd UUID)" ]
	btrfs subvolume create "$scratch/volumes/pool/sub"
	[ "$(stat -c %d "$scratch/volumes/pool")" != "$(stat -c %d "$scratch/volumes/pool/sub")" ]
	[ "$(apart pool pool/sub)" = no ]
}

finds_two_filesystems_on_one_drive() {
	begin
	truncate -s 500M "$scratch/volumes/disk.img"
	disk=$(losetup -f -P --show "$scratch/volumes/disk.img")
	media_at_end "losetup -d $disk"
	addpart "$disk" 1 2048 409600
	addpart "$disk" 2 411648 409600
	make_btrfs first "${disk}p1"
	make_btrfs second "${disk}p2"
	[ "$(stat -c %d "$scratch/volumes/first")" != "$(stat -c %d "$scratch/volumes/second")" ]
	[ "$(told first disk)" = "file:$scratch/volumes/disk.img" ]
	[ "$(apart first second)" = no ]
}

# bare_root FOLDER: the probe, cat and all they need to run there, and /proc, /sys and /dev.
bare_root() {
	mkdir -p "$1/proc" "$1/sys" "$1/dev" "$1/job"
	cat=$(command -v cat)
	for part in "$probe" "$cat" $(ldd "$probe" "$cat" | grep -o '[^[:alnum:]]/[^ :]* (' | tr -d ' (\t'); do
		mkdir -p "$1$(dirname "$part")"
		cp "$part" "$1$part"
	done
	mount -t proc proc "$1/proc"
	mount -t sysfs sysfs "$1/sys"
	mount --bind /dev "$1/dev"
	media_at_end "umount '$1/dev' '$1/sys' '$1/proc'"
}

# A folder of a volume as the root: no mount of it is to be seen from inside.
knows_the_same_drive_from_inside_a_bare_root() {
	begin
	media_ext4 ssd 200
	bare_root "$scratch/volumes/ssd/root"
	chroot "$scratch/volumes/ssd/root" "$probe" describe /job >"$scratch/inside"
	chroot "$scratch/volumes/ssd/root" "$cat" /proc/self/mountinfo >"$scratch/mounts"
	tap_fails awk '$5 == "/" { found = 1 } END { exit !found }' "$scratch/mounts"
	grep -x 'mount_point /' "$scratch/inside"
	[ "$(sed -n 's/^fs_type //p' "$scratch/inside")" = "$(findmnt -n -o FSTYPE "$scratch/volumes/ssd")" ]
	[ "$(sed -n 's/^disk //p' "$scratch/inside")" = "file:$scratch/volumes/ssd.img" ]
	[ "$(sed -n 's/^identity //p' "$scratch/inside")" = "uuid:$(blkid_of ssd UUID)" ]
}

tap_if "" knows_an_ext4_drive works_on_ext4 tells_two_drives_from_one does_not_tell_an_overlay_from_any_drive
tap_if "" knows_the_same_drive_from_inside_a_bare_root
tap_if btrfs knows_both_drives_of_a_btrfs finds_two_filesystems_on_one_drive
tap_if exfat knows_an_exfat_card works_on_exfat
rm -rf "$scratch"
tap_done
