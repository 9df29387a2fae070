#!/bin/sh
# SPDX-License-Identifier: ISC
# `headrace devices` on this machine, whatever is plugged in. jq and lsblk are the witnesses. TAP.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
. "$HEADRACE_SOURCE/tests/support/able.sh"
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
PATH=$HEADRACE_BUILD/src/cli:$PATH
export PATH XDG_STATE_HOME="$scratch/state" LC_ALL=C

# What the system itself lists as whole disks of some size, without what only memory or files play.
disks() {
	lsblk --nodeps --noheadings --bytes --output NAME,SIZE,TYPE | awk '$2 > 0 && $3 == "disk" && $1 !~ /^(zram|ram|nbd)/ { print $1 }' | sort
}

lists_every_disk_of_this_machine_as_json() {
	headrace devices --json >"$scratch/out"
	jq -e '.schema == 1 and .document == "devices" and (.devices | type) == "array"' "$scratch/out"
	jq -e '.devices | all((.link.kind | type) == "string" and (.mount_points | type) == "array" and (.warnings | type) == "array")' "$scratch/out"
	jq -r '.devices[].name' "$scratch/out" | grep -v '^loop' | grep -vE '^(zram|ram|nbd)' | sort >"$scratch/told"
	disks | diff - "$scratch/told"
}

shows_the_same_as_text() {
	headrace devices >"$scratch/text"
	headrace devices --quiet >"$scratch/quiet"
	for name in $(disks); do
		grep "^$name " "$scratch/text"
		grep "^$name " "$scratch/quiet"
	done
	[ -z "$(disks)" ] || [ "$(wc -l <"$scratch/quiet")" -lt "$(wc -l <"$scratch/text")" ]
}

says_so_when_a_ledger_that_was_named_is_not_there() {
	status=0
	headrace devices --ledger "$scratch/none.db" >"$scratch/out" 2>"$scratch/err" || status=$?
	[ "$status" = 1 ]
	grep '^headrace: ' "$scratch/err"
	[ -s "$scratch/out" ]
}

leaves_no_ledger_behind() {
	headrace devices
	[ ! -e "$scratch/state" ]
}

says_that_it_cannot_tell() {
	status=0
	headrace devices >"$scratch/out" 2>"$scratch/err" || status=$?
	[ "$status" = 1 ]
	grep 'cannot tell which devices are plugged in' "$scratch/err"
}

if able volumes; then
	tap lists_every_disk_of_this_machine_as_json
	tap shows_the_same_as_text
	tap says_so_when_a_ledger_that_was_named_is_not_there
	tap leaves_no_ledger_behind
else
	tap says_that_it_cannot_tell
fi
tap_done
