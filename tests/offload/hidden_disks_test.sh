#!/bin/sh
# SPDX-License-Identifier: ISC
# A place that does not show its disk, on a real overlay: it may be the disk of any other place, and is counted so.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
. "$HEADRACE_SOURCE/tests/support/media.sh"
. "$HEADRACE_SOURCE/tests/support/able.sh"
headrace=$HEADRACE_BUILD/src/cli/headrace
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-hidden.XXXXXX")

# A build that cannot tell any disk says the same of all places.
hides='Place hidden does not show its disk, so it counts as one copy with any other place\.'
able volumes || hides='Places .*hidden.* do not show their disks, so they count as one copy with any other place\.'

# Two drives, and hidden/, an overlay whose files stand on the first of them.
ground() {
	media_begin "$scratch/volumes"
	media_ext4 ssd 100
	media_ext4 backup 100
	cd "$scratch/volumes"
	mkdir -p ssd/lower ssd/upper ssd/work hidden card/DCIM/100NMERE
	mount -t overlay -o lowerdir=ssd/lower,upperdir=ssd/upper,workdir=ssd/work overlay hidden
	media_at_end "umount '$scratch/volumes/hidden'"
	for number in 1 2 3; do
		head -c 100000 /dev/urandom >card/DCIM/100NMERE/NMA_000$number.JPG
	done
	export XDG_STATE_HOME="$scratch/volumes/state"
	rm -rf "$XDG_STATE_HOME"
	media_at_end "rm -rf '$scratch/volumes/card' '$scratch/volumes/state'"
}

offload() {
	"$headrace" offload card --job 'Cup final' "$@"
}

# is_refused PLACE...: before a byte is written, in words that say which place, and what to do.
is_refused() {
	status=0
	offload "$@" >../said 2>&1 || status=$?
	cat ../said
	[ "$status" = 4 ]
	grep "^headrace: refused: $hides Name another drive, or say --same-device\.$" ../said
	[ ! -e 'hidden/Cup final' ] && [ ! -e 'ssd/Cup final' ] && [ ! -e 'backup/Cup final' ]
}

is_refused_beside_any_other_drive() {
	ground
	is_refused --to hidden --to ssd
	is_refused --to backup --to hidden
}

counts_as_one_with_any_other_drive() {
	ground
	offload --to hidden --to backup --same-device >../said 2>&1
	cat ../said
	grep "^headrace: warning: $hides$" ../said
	tap_fails "$headrace" safe card --json >../safe.json
	if able medium; then
		jq -e '.cards[0] | .on_one == 3 and .on_two_or_more == 0 and (.drives | length) == 2' ../safe.json
		"$headrace" safe card | grep 'counts as one with any other'
	else
		jq -e '.cards[0] | .on_none == 3 and [.drives[].not_from_medium] == [3]' ../safe.json
	fi
}

is_safe_on_two_drives_beside_it() {
	ground
	offload --to hidden --to ssd --to backup --same-device
	expect_safe card
	! able medium || "$headrace" safe card | grep '^card card: SAFE to format: all 3 files stand proven on 2 drives\.$'
}

tap_if "" is_refused_beside_any_other_drive counts_as_one_with_any_other_drive is_safe_on_two_drives_beside_it
rm -rf "$scratch"
tap_done
