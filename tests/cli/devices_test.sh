#!/bin/sh
# SPDX-License-Identifier: ISC
# `headrace devices` on this machine, whatever is plugged in. jq and lsblk are the witnesses. TAP.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
. "$HEADRACE_SOURCE/tests/support/able.sh"
. "$HEADRACE_SOURCE/tests/support/media.sh"
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-devices.XXXXXX")
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

# A drive of a case's own, which goes with it.
drive() {
	media_begin "$scratch/volumes"
	media_ext4 ssd 200
	place=$media_folder/ssd
}

# shown FIELD: of the device mounted at the drive's place, as JSON.
shown() {
	headrace devices --json | jq -c --arg place "$place" ".devices[] | select(.mount_points | index(\$place)) | $1"
}

names_a_drive_where_it_is_mounted() {
	drive
	[ "$(shown .name)" = "\"$(basename "$(cat "$media_folder/ssd.loop")")\"" ]
	[ "$(shown .identity)" = "\"file:$media_folder/ssd.img\"" ]
	[ "$(shown .link.kind)" = '"virtual"' ]
	headrace devices | grep " $place\$"
}

shows_what_measure_found_out() {
	drive
	[ "$(shown .measured.write_MB_s)" = null ]
	headrace measure "$place" --seconds 1 --json >"$scratch/out"
	shown .measured >"$scratch/shown"
	jq -e --slurpfile out "$scratch/out" '.write_MB_s > 0 and .write_MB_s == $out[0].paths[0].write_MB_s' "$scratch/shown"
	jq -e '.read_back_MB_s > 0' "$scratch/shown"
	headrace devices | grep '^ *measured .* write'
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
	tap_if "" names_a_drive_where_it_is_mounted shows_what_measure_found_out
else
	tap says_that_it_cannot_tell
fi
tap_done
