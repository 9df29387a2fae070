#!/bin/sh
# SPDX-License-Identifier: ISC
# The facts of a folder's JPEGs, all in memory, one thread, beside exiftool, which is asked for as many and reads no further than it must.
# Ours goes over the files ten times, for once is too short to tell. Prints JPEGs a second, and a CSV line with the seconds for one time.
#   heads.sh [--frames N] [--folder DIR]      of a demo card (1000), or all .jpg files of a folder instead
set -eu
source=$(cd "$(dirname "$0")/../.." && pwd)
build=${HEADRACE_BUILD:-$source/build/release}
. "$source/tests/bench/measure.sh"
frames=1000 folder=
while [ $# -gt 1 ]; do
	case $1 in
	--frames) frames=$2 ;;
	--folder) folder=$2 ;;
	esac
	shift 2
done
work=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-heads.XXXXXX")
trap 'rm -rf "$work"' EXIT
if [ -z "$folder" ]; then
	folder=$work/card
	"$build/tests/support/demo_card" --out "$folder" --frames "$frames" --plain
fi
find "$folder" -type f -iname '*.jpg' | sort >"$work/once"
for _ in 1 2 3 4 5 6 7 8 9 10; do cat "$work/once"; done >"$work/list"

ours() {
	"$build/tests/media/print_facts" <"$work/list"
}
theirs() {
	exiftool -fast2 -q -m -n -f -T -DateTimeOriginal -SubSecTimeOriginal -OffsetTimeOriginal -SerialNumber -Model -Rating -Orientation \
		-ImageSize -ISO -ExposureTime -ThumbnailOffset -@ "$work/once" 2>/dev/null || true
}

ours >/dev/null
took=$(seconds ours | awk '{ print $1 / 10 }')
compare "heads,$(wc -l <"$work/once") JPEGs" "$took" "exiftool -fast2" "$(seconds theirs)"
awk -v n="$(wc -l <"$work/once")" -v s="$took" 'BEGIN { printf "%d JPEGs a second\n", n / s }'
