#!/bin/sh
# SPDX-License-Identifier: ISC
# verify of a bag beside the tools that check its manifests: sha256sum -c and xxhsum -c, each with cold caches, on the disk of this machine.
# verify checks both manifests, the tags and the proof of the medium in its one reading. Prints medians and ratios, and a CSV line each.
#   verify.sh [--runs N] [--quick]      medians of N runs (3); --quick: a tenth of the data
set -eu
source=$(cd "$(dirname "$0")/../.." && pwd)
headrace=${HEADRACE:-$source/build/release/src/cli/headrace}
. "$source/tests/bench/measure.sh"
runs=3 part=1
while [ $# -gt 0 ]; do
	case $1 in
	--runs)
		runs=$2
		shift
		;;
	--quick) part=10 ;;
	*)
		echo "usage: verify.sh [--runs N] [--quick]" >&2
		exit 2
		;;
	esac
	shift
done
work=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-verify.XXXXXX")
trap 'rm -rf "$work"' EXIT
XDG_STATE_HOME=$work/state
export XDG_STATE_HOME

in_bag() {
	(cd "$bag" && "$@")
}

# measure SET
measure() {
	mkdir "$work/card" "$work/place"
	fill "$work/card" "$1"
	"$headrace" offload "$work/card" --to "$work/place" --job bench --same-device --quiet >/dev/null 2>&1 || [ $? = 1 ]
	bag=$(echo "$work"/place/bench/*_card)
	rm -f "$work"/*.seconds
	for _ in $(seq "$runs"); do
		forget
		seconds "$headrace" verify "$bag" --quiet >>"$work/ours.seconds"
		forget
		seconds in_bag sha256sum --quiet -c manifest-sha256.txt >>"$work/sha256sum.seconds"
		forget
		seconds in_bag xxhsum --quiet -c manifest-xxh128.txt >>"$work/xxhsum.seconds"
	done
	compare "verify,$1" "$(median "$work/ours.seconds")" sha256sum "$(median "$work/sha256sum.seconds")" xxhsum "$(median "$work/xxhsum.seconds")"
	rm -rf "$work/card" "$work/place"
}

measure mixed
measure small
