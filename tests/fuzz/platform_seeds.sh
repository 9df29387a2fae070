#!/bin/sh
# SPDX-License-Identifier: ISC
# platform_seeds.sh FOLDER: what a system and its devices say, as platform_fuzz takes it.
set -eu
cd "$1"
printf '\000\101/media/card\00036 35 8:1 / /media/card\\040two rw,noatime shared:1 master:2 - exfat /dev/sda1 rw\n40 1 0:44 / / rw - overlay overlay rw' >mounts
# A binary device object store with both capabilities; the head of an exFAT volume; of ext4; of a partitioned disk.
printf '\004\005\017\052\000\002\012\020\003\000\016\000\001\012\377\007\024\020\012\000\001\000\000\000\000\021\000\000\060\000\012\000\260\000\012\000' >usb
printf '\004\353\166\220EXFAT   ' >exfat
{
	printf '\004'
	head -c 1080 /dev/zero
	printf '\123\357'
	head -c 46 /dev/zero
	printf '0123456789abcdefNORTHMERE'
} >ext4
{
	printf '\004'
	head -c 512 /dev/zero
	printf 'EFI PART'
} >partitions
{
	printf '\004'
	printf '80000000000000000401900000000000%096d' 0
} >card-status
device='pci0000:00/0000:00:14.0/usb2/2-1/2-1.4/2-1.4:1.0/host6/target6:0:0/6:0:0:0/block/sda'
printf '\007%s\000exfat\000I:1\nE:ID_FS_UUID=4A1C-09F3\nE:ID_FS_LABEL=NMERE\nE:ID_SERIAL=reader\n\000\000\0048:1\n\001\005125\n\002\0021\n' "$device" >tree
printf '\007%s\000ext4\000\000\000\0048:1\n\026\0118.0 GT/s\n\027\0024\n\003\005wwid\n' 'pci0000:00/0000:00:1d.0/0000:02:00.0/nvme/nvme0/nvme0n1' >nvme
printf '\007%s\000fuse.\377\000I:1\nE:ID_FS_UUID=4\266\nE:ID_FS_LABEL=\377\n\000\000\0048:1\n' "$device" >no-utf8
