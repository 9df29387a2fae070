#!/bin/sh
# SPDX-License-Identifier: ISC
# archive_seeds.sh FOLDER: small archives of each kind, as archive_fuzz takes them: a byte that chooses, then the archive.
set -eu
cd "$1"
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
"$HEADRACE_BUILD/tests/card/sample_archives" "$scratch"

mkdir -p "$scratch/card/DCIM/1/2/3/4/5/6/7/8/9"
cd "$scratch"
echo 'a frame' >card/DCIM/1/N1.JPG
echo 'another' >card/DCIM/1/2/3/4/5/6/7/8/9/N2.JPG
ln -s N1.JPG card/DCIM/1/link
ln card/DCIM/1/N1.JPG card/DCIM/1/hard
mkfifo card/DCIM/pipe
echo x >"card/$(printf 'caf\303\251 and a name that is too long for the hundred bytes of an old tar, with no folder in it at all').JPG"
truncate -s 20000 card/sparse
for format in gnu posix; do tar -C card -S --format=$format -b 1 -cf $format.tar .; done
# Made by others, where these are installed.
! command -v bsdtar >/dev/null || bsdtar -C card --format pax --options hdrcharset=BINARY -cf bsd.tar .
! command -v zip >/dev/null || (rm card/DCIM/pipe && cd card && zip -qry ../deflated.zip . && zip -qrP half-time ../encrypted.zip DCIM)
! command -v genisoimage >/dev/null || {
	genisoimage -quiet -no-pad -R -o rock.iso card
	genisoimage -quiet -no-pad -J -o joliet.iso card/DCIM
}
# An image whose ninth folder says that it is four gigabytes long, on a volume of six, and the eighth three sectors, of which the first is
# the last of a piece: libarchive makes its buffer as large as that, then twice as large until four gigabytes fit, which is six.
! command -v genisoimage >/dev/null || {
	for name in A B C D E F G H I; do
		mkdir -p "vast/$name"
		head -c 100 /dev/zero >"vast/$name/N1.JPG" # no entry, whoever takes it for a list of them
	done
	genisoimage -quiet -no-pad -o vast.iso vast
	perl -0777 -pi -e '
		s/(\x01CD001\x01.{73}).{8}/$1\0\0\x30\0\0\x30\0\0/s;
		s/(\x1f\0{6}\x1f)\0\x08\0\0\0\0\x08\0/$1\0\x18\0\0\0\0\x18\0/g;
		s/\x20\0{6}\x20\0\x08\0\0\0\0\x08\0/\x28\0\0\0\0\0\0\x28\0\xf8\xff\xff\xff\xff\xf8\0/g' vast.iso
}
cd "$1"
for archive in "$scratch"/*.tar "$scratch"/*.zip "$scratch"/*.iso; do
	printf '\001' | cat - "$archive" >"$(basename "$archive")"
done
