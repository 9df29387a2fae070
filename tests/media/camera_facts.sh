#!/bin/sh
# SPDX-License-Identifier: ISC
# Real camera files against exiftool (Debian package libimage-exiftool-perl): each fact equals the standard value it prints, or is absent
# here for a reason that is counted. camera_facts.sh PRINT_FACTS: the program that prints our side. TAP.
set -eu
print_facts=$1
files=$HEADRACE_BUILD/camera-files
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
previews_name="camera files: every preview is one that exiftool finds, and those it finds are here or absent for a reason"
test_name="camera files: every fact equals what exiftool prints, or is absent for a reason"

if ! sh "$HEADRACE_SOURCE/tests/support/camera_files.sh" "$files" 2>"$work/fetch"; then
	sed 's/^/# /' "$work/fetch"
	echo "ok 1 - $test_name # SKIP the packages with camera files could not be fetched"
	echo 1..1
	exit 0
fi
find "$files/files" -type f | sort >"$work/list"
"$print_facts" <"$work/list" >"$work/ours"

# A file whose container exiftool calls broken has no standard values to compare.
exiftool -n -a -G1 -s -Warning -Error -ThumbnailOffset -ThumbnailLength -PreviewImageStart -PreviewImageLength -JpgFromRawStart \
	-JpgFromRawLength -OtherImageStart -OtherImageLength -MPImageStart -MPImageLength -MPImageType -@ "$work/list" >"$work/places" 2>/dev/null ||
	true
awk '/^======== / { path = substr($0, 10) }
	/^\[ExifTool\] *Error / { print path }
	/^\[ExifTool\] *Warning .*(JPEG format error|Skipped unknown|Missing JPEG|[Tt]runcated|Bad IFD0 directory|for IFD0 )/ { print path }' \
	"$work/places" | sort -u >"$work/damaged"

set -- -Directory -FileName -FileType -ExifIFD:DateTimeOriginal -IFD0:DateTimeOriginal -ExifIFD:CreateDate -QuickTime:CreateDate \
	-ExifIFD:SubSecTimeOriginal -ExifIFD:SubSecTimeDigitized -ExifIFD:OffsetTimeOriginal -ExifIFD:OffsetTimeDigitized \
	-ExifIFD:SerialNumber -IFD0:Model -XMP-xmp:Rating -IFD0:Orientation -File:ImageWidth -File:ImageHeight \
	-Track1:ImageWidth -Track1:ImageHeight -ExifIFD:ExifImageWidth -ExifIFD:ExifImageHeight
for directory in IFD0 IFD1 IFD2 SubIFD SubIFD1 SubIFD2; do
	set -- "$@" "-$directory:SubfileType" "-$directory:Compression" "-$directory:ImageWidth" "-$directory:ImageHeight"
done
set -- "$@" -ExifIFD:ISO -IFD0:ISO -ExifIFD:ExposureTime -IFD0:ExposureTime -MakerNotes:SerialNumber -MakerNotes:InternalSerialNumber \
	-SequenceNumber -ContinuousDrive
exiftool -q -m -n -f -T -charset filename=utf8 "$@" -@ "$work/list" >"$work/theirs" 2>/dev/null || true

awk -F '\t' -v name="$test_name" -f "$HEADRACE_SOURCE/tests/media/camera_facts.awk" "$work/damaged" "$work/ours" "$work/theirs" || status=1

# Of previews in some containers exiftool tells no place, but gives the bytes, at times with padding behind.
: >"$work/unplaced"
awk -v unplaced="$work/unplaced" -f "$HEADRACE_SOURCE/tests/media/camera_previews.awk" "$work/ours" "$work/places" || previews=wrong
while read -r offset size path; do
	tail -c +$((offset + 1)) "$path" | head -c "$size" >"$work/ours.jpg"
	found=no
	for tag in PreviewImage ThumbnailImage JpgFromRaw; do
		exiftool -m -b "-$tag" "$path" 2>/dev/null | head -c "$size" | cmp -s - "$work/ours.jpg" && found=yes && break
	done
	if [ $found = yes ]; then
		echo "# equal byte by byte: $size bytes at $offset of $path"
	else
		echo "# $path: $size bytes at $offset are no preview there"
		previews=wrong
	fi
done <"$work/unplaced"
if [ "${previews:-right}" = right ]; then
	echo "ok 3 - $previews_name"
else
	echo "not ok 3 - $previews_name"
	status=1
fi
echo 1..3
exit "${status:-0}"
