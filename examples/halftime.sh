#!/bin/sh
# SPDX-License-Identifier: ISC
# Half-time at Northmere: builds headrace and a demo card, offloads the card to two drives, verifies both, asks whether the card may be
# formatted. As root everything is a real volume: an exFAT card and two ext4 drives in image files. Without root it is folders on one disk,
# which is honestly NOT SAFE.
#   --no-install  take the machine as it is
#   --keep        leave volumes mounted and folders as they are at the end
set -eu
source=$(cd "$(dirname "$0")/.." && pwd)
. "$source/tests/setup.sh"
. "$source/tests/support/media.sh"

install=yes keep=no
for option; do
	case $option in
	--no-install) install=no ;;
	--keep) keep=yes ;;
	*)
		say "usage: halftime.sh [--no-install] [--keep]"
		exit 2
		;;
	esac
done

[ "$install" = no ] || install_packages "$source/tests/packages-build.txt" "$source/examples/packages-demo.txt"
build release -DHEADRACE_TESTS=OFF -DHEADRACE_DEMO=ON
headrace=$source/build/release/src/cli/headrace
demo_card=$source/build/release/tests/support/demo_card
ground=$source/build/halftime
rm -rf "$ground"
mkdir -p "$ground/report"
XDG_STATE_HOME=$ground/state
export XDG_STATE_HOME

same_device=
if reason=$(media_can exfat); then
	media_begin "$ground"
	[ "$keep" = no ] || trap - EXIT
	media_exfat card 400 NORTHMERE_A
	media_ext4 ssd 400
	media_ext4 backup 400
else
	say "demo without real volumes ($reason): folders on one disk"
	mkdir -p "$ground/card" "$ground/ssd" "$ground/backup"
	same_device=--same-device
fi

say "building a demo card: cup final at Northmere, bodies A and B"
"$demo_card" --out "$ground/card" --seed 20260516 --frames 900 --raw-every 10 --truth "$ground/truth.csv"

# Nothing may be mistaken for the medium: what was just written is forgotten first.
sync
[ "$(id -u)" -ne 0 ] || echo 3 >/proc/sys/vm/drop_caches

# shellcheck disable=SC2086 # an option or nothing
"$headrace" offload "$ground/card" --to "$ground/ssd" --to "$ground/backup" --job "Cup final" --first protected,rated $same_device
"$headrace" verify "$ground/ssd" "$ground/backup"
verdict=$("$headrace" safe "$ground/card" 2>/dev/null | grep -m1 -o 'NOT SAFE[^.]*\|SAFE[^.]*' || true)
"$headrace" log 1 >"$ground/report/log.txt"
"$headrace" log 1 --plot "$ground/report/rates.svg"
cp -R "$ground/ssd/Cup final" "$ground/report/bag-example" 2>/dev/null || true

echo
echo "Done: a demo card of 900 frames was copied to two places, read back, verified."
echo "Card: $verdict."
echo "Look at: $ground/report (rates.svg, log.txt, one of the bags)."
