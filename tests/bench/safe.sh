#!/bin/sh
# SPDX-License-Identifier: ISC
# How long "may this card be formatted?" takes on a workstation that has seen much: a ledger of 1,000,000 files, a card of 10,000 frames
# offloaded to two places, all caches cold and then warm. The reference is what must be done at least: find -ls over the card.
#   safe.sh [--files N]      of the ledger (1000000)
set -eu
source=$(cd "$(dirname "$0")/../.." && pwd)
build=${HEADRACE_BUILD:-$source/build/release}
headrace=${HEADRACE:-$build/src/cli/headrace}
. "$source/tests/bench/measure.sh"
in_ledger=1000000
[ "${1:-}" != --files ] || in_ledger=$2
work=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-safe.XXXXXX")
trap 'rm -rf "$work"' EXIT
"$build/tests/ledger/ledger_bench" "$work/ledger.db" "$in_ledger" >&2
mkdir -p "$work/a" "$work/b"
for folder in 100 101 102 103 104 105 106 107 108 109; do
	mkdir -p "$work/card/DCIM/${folder}NMERE"
	for number in $(seq 1000 1999); do echo "$folder $number" >"$work/card/DCIM/${folder}NMERE/NMA_$number.JPG"; done
done
"$headrace" offload "$work/card" --to "$work/a" --to "$work/b" --same-device --ledger "$work/ledger.db" --quiet >/dev/null 2>&1 || [ $? = 1 ]

# Places on one drive are one copy, so the answer is no, and the status 1.
ask() {
	"$headrace" safe "$work/card" --ledger "$work/ledger.db" || [ $? = 1 ]
}

forget
cold=$(seconds ask)
warm=$(seconds ask)
forget
find_cold=$(seconds find "$work/card" -ls)
find_warm=$(seconds find "$work/card" -ls)
compare "safe,cold" "$cold" "find -ls" "$find_cold"
compare "safe,warm" "$warm" "find -ls" "$find_warm"
