#!/bin/sh
# SPDX-License-Identifier: ISC
# shellcheck disable=SC2086 # $same_device is none or one word
# The main job as its user does it, on real volumes: an exFAT card and two ext4 drives. Witnesses: sha256sum, xxhsum, jq.
set -eu
here=$HEADRACE_SOURCE/tests/support
. "$here/tap.sh"
. "$here/media.sh"
. "$here/able.sh"
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-cli.XXXXXX")
headrace=$HEADRACE_BUILD/src/cli/headrace
demo_card=$HEADRACE_BUILD/tests/support/demo_card

# ground CARD-OPTION...: fresh volumes with a card of the final; each case is a shell of its own, and all ends with it.
ground() {
	media_begin "$scratch/volumes"
	media_exfat card 200 NORTHMERE_A
	media_ext4 ssd 200
	media_ext4 backup 200
	XDG_STATE_HOME=$scratch/volumes/state
	export XDG_STATE_HOME
	rm -rf "$XDG_STATE_HOME"
	cd "$scratch/volumes"
	"$demo_card" --out card --seed 7 --frames 120 --truth truth.csv "$@"
	media_drop card
}

offload() {
	"$headrace" offload card --to ssd --to backup $same_device --job "Cup final" "$@"
}

bags_are_right() {
	for bag in ssd/*/*/ backup/*/*/; do
		(cd "$bag" && sha256sum --quiet -c manifest-sha256.txt && xxhsum --quiet -c manifest-xxh128.txt && sha256sum --quiet -c tagmanifest-sha256.txt)
	done
	[ -z "$(find ssd backup -name '*.part')" ]
}

# A card too slow to be through before anybody looks, and the moment when both places hold files under their final names. What is left to
# be read then takes seconds.
begin_slowly() {
	ground --bytes 600000
	media_throttle card 10 0
}

holds_nearly_all() { [ "$(find "$1" -path '*/data/*' -type f | wc -l)" -ge 115 ]; }

has_names() { [ "$(find "$1" -name '*.JPG' | wc -l)" -ge 5 ]; }

wait_until_midway() {
	tap_wait 60 has_names ssd
	tap_wait 60 has_names backup
	[ -z "$(find ssd backup -name bagit.txt)" ]
}

card_is_on() {
	(cd card && find . -type f | sort | xargs -d '\n' sha256sum) >card.sums
	(cd "$1"/*/*/data && sha256sum --quiet -c "$scratch/volumes/card.sums")
}

ends_in_safe_with_bags_that_others_can_check() {
	ground
	offload --json >result.json
	jq -e . result.json
	bags_are_right
	card_is_on ssd
	card_is_on backup
	expect_safe card
	! able medium || "$headrace" safe card | grep '^card card: SAFE to format'
	"$headrace" verify ssd backup
	"$headrace" log 1 --plot rates.svg
	grep -q '</svg>' rates.svg
}

# Frames of several blocks each, whose bytes pass the same threads mixed.
reads_two_cards_at_once_and_mixes_nothing() {
	ground --frames 20 --bytes 3000000
	media_ext4 second 200
	"$demo_card" --out second --seed 8 --frames 20 --bytes 3000000
	media_drop second
	"$headrace" offload card second --to ssd --to backup $same_device --job "Cup final" --cards-at-once 2
	[ "$(find ssd -name bagit.txt | wc -l)" = 2 ]
	bags_are_right
	"$headrace" verify ssd backup
	expect_safe card
	expect_safe second
}

finds_one_flipped_bit_a_year_later() {
	ground
	offload --quiet
	victim=$(find ssd -name '*.JPG' | head -n 1)
	tap_flip "$victim" 5000
	status=0
	"$headrace" verify ssd || status=$?
	[ "$status" = 1 ]
	(cd ssd/*/*/ && tap_fails sha256sum --quiet -c manifest-sha256.txt)
	"$headrace" verify backup
	tap_fails "$headrace" safe card
}

# One of the two is not where it was when the copies were made.
counts_only_what_stands_on_a_drive_that_is_here() {
	ground
	offload --quiet
	media_unmount ssd
	expect_safe card # not connected: the record is believed
	mkdir elsewhere
	mount "$(media_loop ssd)" elsewhere
	expect_safe card
	victim=$(find elsewhere -name '*.JPG' | head -n 1)
	mv "$victim" "$victim.taken"
	tap_fails "$headrace" safe card
	mv "$victim.taken" "$victim"
	expect_safe card
	umount elsewhere
	media_renew ssd
	tap_fails "$headrace" safe card
	media_unmount ssd
	mount "$(media_loop ssd)" elsewhere
	tap_fails "$headrace" safe card
	umount elsewhere
}

goes_on_after_kill_nine() {
	begin_slowly
	"$headrace" offload card --to ssd --to backup $same_device --job "Cup final" --quiet &
	wait_until_midway
	kill -9 $!
	wait $! || true
	tap_fails "$headrace" safe card
	media_throttle card 0 0
	offload
	bags_are_right
	card_is_on ssd
	card_is_on backup
	[ "$(find ssd -name bagit.txt | wc -l)" = 1 ]
	expect_safe card
}

goes_on_after_the_card_was_pulled() {
	begin_slowly
	offload --quiet &
	wait_until_midway
	media_yank card
	status=0
	wait $! || status=$?
	[ "$status" = 1 ]
	media_replug card
	offload
	bags_are_right
	card_is_on ssd
	expect_safe card
}

keeps_the_other_place_when_one_is_pulled() {
	begin_slowly
	offload >said 2>complaints &
	wait_until_midway
	media_yank ssd
	status=0
	wait $! || status=$?
	cat said complaints
	[ "$status" = 1 ]
	grep '^headrace: place ssd FAILED: ' complaints
	grep '^card card: NOT SAFE to format: ' said
	card_is_on backup
	media_replug ssd
	media_throttle card 0 0
	offload
	bags_are_right
	expect_safe card
}

refuses_a_place_without_room_before_writing() {
	ground --bytes 600000
	fallocate -l 130M backup/filler
	status=0
	offload || status=$?
	[ "$status" = 4 ]
	[ ! -e ssd/"Cup final" ]
}

# What the interrupted run left there takes the room that what is missing seems to need.
goes_on_in_a_place_that_is_nearly_full() {
	begin_slowly
	fallocate -l $(($(df --output=avail -B1 ssd | tail -n 1) - 78000000)) ssd/filler
	"$headrace" offload card --to ssd --to backup $same_device --job "Cup final" --quiet &
	tap_wait 60 holds_nearly_all ssd
	kill -9 $!
	wait $! || true
	[ "$(df --output=avail -B1 ssd | tail -n 1)" -lt 15000000 ]
	media_throttle card 0 0
	offload
	bags_are_right
	card_is_on ssd
}

stops_on_interrupt_and_dies_of_it() {
	begin_slowly
	status=0
	# A shell without job control has its children ignore SIGINT.
	env --default-signal=INT "$headrace" offload card --to ssd --to backup $same_device --job "Cup final" &
	wait_until_midway
	kill -INT $!
	wait $! || status=$?
	[ "$status" = 130 ]
	[ -z "$(find ssd backup -name bagit.txt)" ]
	[ -z "$(find ssd backup -name '*.JPG.part')" ]
	media_throttle card 0 0
	offload
	bags_are_right
}

copies_nothing_a_second_time() {
	ground
	offload --quiet
	offload >second
	[ "$(find ssd -name bagit.txt | wc -l)" = 1 ]
}

# The ssd has the files of another card already, so they are not copied there again: `safe` must count what `offload` counted.
says_the_same_of_a_card_as_safe_does() {
	ground
	mkdir cards cards/first cards/second
	"$demo_card" --out cards/first --seed 8 --frames 12
	cp -a cards/first/. cards/second
	"$headrace" offload cards/first --to ssd $same_device --job 'Cup final' --quiet || [ $? = 1 ]
	"$headrace" offload cards/second --to ssd --to backup $same_device --job 'Cup final' | tee said
	grep '^  ssd  nothing new' said
	grep -h '^card cards/second: ' said >offload.said
	"$headrace" safe cards/second >safe.said || [ $? = 1 ]
	grep -h '^card cards/second: ' safe.said | diff offload.said -
	! able medium || grep '^card cards/second: SAFE to format: all [0-9]* files stand proven on 2 drives' safe.said
}

# The folder it was mounted on stands, on the disk of this machine.
warns_of_a_drive_that_is_not_mounted() {
	ground
	mkdir backup/matches
	"$headrace" offload card --to ssd --to backup/matches $same_device --job 'Cup final' --quiet 2>complaints
	tap_fails grep 'is it plugged in' complaints
	media_unmount backup
	mkdir backup/matches
	"$headrace" offload card --to ssd --to backup/matches --same-device --job 'Cup final' --dry-run 2>complaints
	grep "warning: A drive was mounted at $scratch/volumes/backup before, and none is now: is it plugged in? Place backup/matches is on the drive of " complaints
	[ "$(grep -c 'is it plugged in' complaints)" = 1 ]
	rmdir backup/matches
}

# A drive behind another bridge has another serial number; here, where disks are images, another file.
counts_a_drive_once_whatever_it_is_called_now() {
	ground
	mkdir ssd/again
	"$headrace" offload card --to ssd $same_device --job 'Cup final' --quiet || [ $? = 1 ]
	media_unmount ssd
	media_detach ssd
	mv ssd.img other.img
	device=$(losetup -f --show --direct-io=on other.img)
	media_at_end "umount '$scratch/volumes/ssd'; losetup -d $device; rm -f '$scratch/volumes/other.img'"
	mount "$device" ssd
	"$headrace" offload card --to ssd/again $same_device --job 'Cup final' --quiet || [ $? = 1 ]
	[ "$(find ssd -name bagit.txt | wc -l)" = 2 ]
	tap_fails "$headrace" safe card
}

writes_nothing_on_a_dry_run() {
	ground
	offload --dry-run
	[ -z "$(ls -A ssd)" ] && [ ! -e "$XDG_STATE_HOME" ]
}

tap_if "exfat throttle" ends_in_safe_with_bags_that_others_can_check finds_one_flipped_bit_a_year_later \
	reads_two_cards_at_once_and_mixes_nothing counts_only_what_stands_on_a_drive_that_is_here \
	goes_on_after_kill_nine goes_on_after_the_card_was_pulled \
	keeps_the_other_place_when_one_is_pulled refuses_a_place_without_room_before_writing goes_on_in_a_place_that_is_nearly_full \
	stops_on_interrupt_and_dies_of_it copies_nothing_a_second_time says_the_same_of_a_card_as_safe_does \
	counts_a_drive_once_whatever_it_is_called_now warns_of_a_drive_that_is_not_mounted \
	writes_nothing_on_a_dry_run
rm -rf "$scratch"
tap_done
