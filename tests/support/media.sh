# SPDX-License-Identifier: ISC
# Cards and drives that are really volumes: file systems in image files on loop devices, for tests, benches and examples.
# To be sourced by a POSIX shell script, under `set -eu` or not; needs root and Linux.
#
#     . "$HEADRACE_SOURCE/tests/support/media.sh"
#     media_begin "$scratch"            first; everything below is undone when the script ends, however it ends
#     media_exfat card 256              $scratch/card is a mounted exFAT volume of 256 MB
#     media_ext4 ssd 512                $scratch/ssd is a mounted ext4 volume of 512 MB
#     media_throttle card 200 0         reads of the card's device run at 200 MB/s, writes as they can
#     media_yank card                   the card is pulled out, whoever may be reading it
#     media_replug card                 and put in again
#
#     media_drive usb 4000 450          $scratch/usb is a mounted ext4 volume of 4,000 MB that lives in memory and reads and writes at 450 MB/s
#                                       in all; `media_drive disk 4000 150 8`: and takes 8 ms to move its heads
#
# Functions return 0, or 1 with a sentence on stderr. MB are powers of ten. A volume's name is its folder's name in the scratch folder;
# the image is NAME.img, the loop device's path is kept in NAME.loop. Names are letters, digits and '-'.

media_fail() {
	echo "media: $*" >&2
	return 1
}

# media_can [exfat] [btrfs] [throttle] [drive]: is this machine able to? 0 or 1; says why not on stdout, for the reason of a skip.
media_can() {
	[ "$(id -u)" = 0 ] || { echo "not root"; return 1; }
	losetup -f >/dev/null 2>&1 || { echo "no loop devices"; return 1; }
	for media_wish; do
		case $media_wish in
		drive)
			[ -x "${HEADRACE_MEDIUM:-}" ] || { echo "no program to play a drive (HEADRACE_MEDIUM)"; return 1; }
			[ -c /dev/fuse ] || { echo "no /dev/fuse"; return 1; } ;;
		exfat)
			command -v mkfs.exfat >/dev/null || { echo "no mkfs.exfat"; return 1; }
			command -v mount.exfat-fuse >/dev/null || { echo "no mount.exfat-fuse"; return 1; }
			[ -c /dev/fuse ] || { echo "no /dev/fuse"; return 1; } ;;
		btrfs)
			command -v mkfs.btrfs >/dev/null || { echo "no mkfs.btrfs"; return 1; }
			grep -qw btrfs /proc/filesystems || modprobe -q btrfs || { echo "no btrfs in the kernel"; return 1; } ;;
		throttle)
			media_blkio >/dev/null || { echo "no blkio controller of cgroup v1"; return 1; } ;;
		esac
	done
}

# media_begin FOLDER: where images and mount points go; made when missing. Registers media_end for the end of the script: a script with a
# clean-up of its own uses media_at_end instead of trap.
media_begin() {
	mkdir -p "$1" || return 1
	media_folder=$(cd "$1" && pwd -P)
	media_names=
	media_cleanups=
	trap media_end EXIT
	trap 'exit 129' HUP
	trap 'exit 130' INT
	trap 'exit 143' TERM
}

# media_at_end COMMAND: a line of shell for media_end to run before the volumes go; the last one given runs first.
media_at_end() {
	media_cleanups="$1
$media_cleanups"
}

# media_end: takes everything away again, busy or not: limits, mounts, loop devices, images. Runs by itself at the end; harmless twice.
# Images stay when the script failed and $HEADRACE_KEEP is set.
media_end() {
	media_status=$?
	{ set +x; } 2>/dev/null # the last thing a trace shows is what failed
	trap - EXIT
	eval "${media_cleanups:-}" || :
	media_cleanups=
	for media_name in ${media_names:-}; do
		media_take_out "$media_name" || :
		[ "$media_status" != 0 ] && [ -n "${HEADRACE_KEEP:-}" ] || media_forget_image "$media_name"
		rm -f "$media_folder/$media_name.loop" "$media_folder/$media_name.kind"
		rmdir "$media_folder/$media_name" 2>/dev/null || :
	done
	media_names=
	return "$media_status"
}

# media_exfat NAME MB [LABEL]: a new, empty exFAT volume, mounted through FUSE by the block device.
media_exfat() {
	media_prepare "$1" "$2" exfat &&
		mkfs.exfat -L "${3:-NMERE}" "$(media_loop "$1")" >/dev/null && media_mount "$1"
}

# media_ext4 NAME MB [INODES]: a new, empty ext4 volume.
media_ext4() {
	media_prepare "$1" "$2" ext4 && media_format_ext4 "$1" "${3:-}"
}

# media_drive NAME MB MB_PER_S [SEEK_MS]: a new, empty ext4 volume on a drive that is played in memory (tests/support/medium.c).
media_drive() {
	mkdir -p "$media_folder/$1.medium" &&
		"$HEADRACE_MEDIUM" "$media_folder/$1.medium" --mb "$2" --mb-per-s "$3" ${4:+--seek-ms "$4"} &&
		media_ext4 "$1" "$2"
}

# media_renew NAME: an ext4 volume is formatted anew, on the same device. (Not the same as deleting what is on it: a new file passes over the
# inodes deleted within the last minute, one by one.)
media_renew() {
	media_unmount "$1" && media_format_ext4 "$1"
}

# media_loop NAME: prints the volume's block device, such as /dev/loop3.
media_loop() {
	cat "$media_folder/$1.loop"
}

# media_unmount NAME: as a user would eject it: data are on the image when this returns. Its device stays.
media_unmount() {
	! mountpoint -q "$media_folder/$1" || umount "$media_folder/$1"
}

# media_mount NAME [OPTIONS]: mounts a volume again, with mount options such as ro.
media_mount() {
	case $(cat "$media_folder/$1.kind") in
	exfat) mount.exfat-fuse ${2:+-o "$2"} "$(media_loop "$1")" "$media_folder/$1" >/dev/null 2>&1 ;;
	ext4) mount -t ext4 ${2:+-o "$2"} "$(media_loop "$1")" "$media_folder/$1" ;;
	esac || media_fail "cannot mount $1"
}

# media_yank NAME: pulls the volume out, whatever is open on it. Open files fail at once (exFAT: ENOTCONN, the FUSE connection is cut;
# ext4: EIO, the file system is shut down without its log), its path is an empty folder, its device goes when the last open file does.
# What was written but not synced may be lost, as in life.
media_yank() {
	media_cut "$1" || return 1
	umount -l "$media_folder/$1" || return 1
	media_unthrottle "$1"
	losetup -d "$(media_loop "$1")"
	rm -f "$media_folder/$1.loop"
}

# media_replug NAME: gives a volume that was pulled out a device again, mends its file system if it must, and mounts it. Whoever held files
# on it must have closed them: a device that lives on could write over the new one.
media_replug() {
	media_detach "$1" && media_attach "$1" || return 1
	[ "$(cat "$media_folder/$1.kind")" != exfat ] || fsck.exfat -y "$(media_loop "$1")" >/dev/null 2>&1 || :
	media_mount "$1"
}

# media_throttle NAME READ_MB_PER_S WRITE_MB_PER_S: limits the volume's device; 0 is no limit. The limit stands in the root group, because
# cgroup v1 writes dirty pages back from there.
media_throttle() {
	media_limit "$1" read "$2" && media_limit "$1" write "$3"
}

# media_unthrottle NAME: no limit any more.
media_unthrottle() {
	media_blkio >/dev/null && [ -f "$media_folder/$1.loop" ] || return 0
	media_throttle "$1" 0 0
}

# media_drop NAME: forgets what memory holds of the volume, so that the next read comes from its device.
media_drop() {
	sync -f "$media_folder/$1" && echo 3 >/proc/sys/vm/drop_caches && blockdev --flushbufs "$(media_loop "$1")"
}

# What follows serves the functions above.

media_blkio() {
	for media_group in /sys/fs/cgroup/blkio /sys/fs/cgroup; do
		[ -w "$media_group/blkio.throttle.read_bps_device" ] && echo "$media_group" && return 0
	done
	return 1
}

media_limit() {
	media_group=$(media_blkio) || media_fail "no blkio controller" || return 1
	media_device=$(media_loop "$1")
	media_number=$(cat "/sys/block/${media_device#/dev/}/dev") || return 1
	echo "$media_number ${3}000000" >"$media_group/blkio.throttle.${2}_bps_device"
}

# The image keeps the memory it has.
media_format_ext4() {
	mkfs.ext4 -q -F -m 0 -E nodiscard,lazy_itable_init=0,lazy_journal_init=0,root_owner=0:0 ${2:+-N "$2"} "$(media_loop "$1")" &&
		media_mount "$1" && rmdir "$media_folder/$1/lost+found"
}

media_prepare() {
	mkdir -p "$media_folder/$1" || return 1
	if [ ! -d "$media_folder/$1.medium" ]; then
		rm -f "$media_folder/$1.img"
		truncate -s "${2}000000" "$media_folder/$1.img" || return 1
	fi
	echo "$3" >"$media_folder/$1.kind"
	media_names="$1 $media_names"
	media_attach "$1"
}

# The file the volume is in.
media_image() {
	if [ -d "$media_folder/$1.medium" ]; then
		echo "$media_folder/$1.medium/IMAGE"
	else
		echo "$media_folder/$1.img"
	fi
}

media_forget_image() {
	rm -f "$media_folder/$1.img"
	[ -d "$media_folder/$1.medium" ] || return 0
	umount "$media_folder/$1.medium" 2>/dev/null || umount -l "$media_folder/$1.medium"
	rmdir "$media_folder/$1.medium"
}

# Direct input and output where the image's own file system has it: else each page is in memory twice, and a limit on the device would
# measure nothing but memory.
media_attach() {
	media_file=$(media_image "$1")
	media_device=$(losetup -f --show --direct-io=on "$media_file" 2>/dev/null || losetup -f --show "$media_file") ||
		media_fail "no loop device for $1" || return 1
	echo "$media_device" >"$media_folder/$1.loop"
}

# Waits until no device is on the image any more: one may be held a moment longer by a FUSE daemon that is on its way out.
media_detach() {
	media_unthrottle "$1"
	rm -f "$media_folder/$1.loop"
	for media_try in 1 2 3 4 5 6 7 8 9 10; do
		media_device=$(losetup -n -O NAME -j "$(media_image "$1")")
		[ -n "$media_device" ] || return 0
		losetup -d "$media_device" 2>/dev/null || :
		[ "$media_try" = 1 ] || sleep 0.2
	done
	media_fail "$media_device of $1 is still in use"
}

# Makes every later use of the mounted file system fail.
media_cut() {
	case $(cat "$media_folder/$1.kind") in
	exfat)
		mountpoint -q "$media_folder/.fuse" || media_show_fuse || return 1
		media_number=$(mountpoint -d "$media_folder/$1") || return 1
		media_cut_fuse "${media_number%:*}" "${media_number#*:}" ;;
	ext4)
		# EXT4_IOC_SHUTDOWN is _IOR('X', 125, __u32); 2 is EXT4_GOING_FLAGS_NOLOGFLUSH (fs/ext4/ext4.h).
		perl -e 'ioctl(STDIN, 0x8004587d, my $how = pack("L", 2)) or die "$!\n"' <"$media_folder/$1" ;;
	esac || media_fail "cannot cut $1 off"
}

# Only desktops and servers with an init system have this mounted, and another script that mounted it would take it away when it ends.
media_show_fuse() {
	mkdir -p "$media_folder/.fuse" && mount -t fusectl fusectl "$media_folder/.fuse" &&
		media_at_end "umount '$media_folder/.fuse' && rmdir '$media_folder/.fuse'"
}

# A connection is named after the kernel's own device number: the major in the upper twelve bits, the minor in the lower twenty.
media_cut_fuse() {
	echo 1 >"$media_folder/.fuse/$(($1 * 1048576 + $2))/abort"
}

media_take_out() {
	media_unmount "$1" 2>/dev/null || { media_cut "$1" 2>/dev/null || :; umount -l "$media_folder/$1" 2>/dev/null || :; }
	media_detach "$1"
}
