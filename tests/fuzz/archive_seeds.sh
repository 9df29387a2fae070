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
cd "$1"
for archive in "$scratch"/*.tar "$scratch"/*.zip "$scratch"/*.iso; do
	printf '\001' | cat - "$archive" >"$(basename "$archive")"
done
