#!/bin/sh
# SPDX-License-Identifier: ISC
# Cards that are really volumes: their names, and what is said of one that is pulled while it is read.
set -eu
tool=$HEADRACE_BUILD/tests/card/card_tool
. "$HEADRACE_SOURCE/tests/support/tap.sh"
. "$HEADRACE_SOURCE/tests/support/media.sh"
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-card-volumes.XXXXXX")
card=$scratch/volumes/card

fill() {
	mkdir -p "$card/DCIM/100NMERE"
	for number in 1 2 3 4; do head -c 8000000 /dev/urandom >"$card/DCIM/100NMERE/NMA_000$number.JPG"; done
	tar -C "$card" -cf "$card/card.tar" DCIM/100NMERE/NMA_0001.JPG DCIM/100NMERE/NMA_0002.JPG
	media_drop card
}

a_volume_has_its_label_for_a_name_and_a_folder_on_it_its_own() {
	media_begin "$scratch/volumes"
	media_ext4 card 64
	e2label "$(media_loop card)" NMERE_A
	fill
	[ "$("$tool" name "$card")" = NMERE_A ]
	[ "$("$tool" name "$card/DCIM")" = DCIM ]
	[ "$("$tool" name "$card/card.tar")" = card ]
	"$tool" list "$card" | grep -c '^file 8000000 .* DCIM/100NMERE/NMA_000[1-4].JPG$' | grep -qx 4
}

# fetched COMMAND...: bytes that came from the card's device meanwhile (sectors of 512 bytes, the third field of stat).
fetched() {
	number=/sys/block/$(basename "$(media_loop card)")/stat
	before=$(awk '{ print $3 }' "$number")
	"$@" >/dev/null
	echo $((($(awk '{ print $3 }' "$number") - before) * 512))
}

# card_tool reads each file twice, the second time past the cache.
a_second_reading_comes_from_the_card_again() {
	media_begin "$scratch/volumes"
	media_ext4 card 64
	fill
	mkdir "$scratch/first" "$scratch/second"
	[ "$(fetched "$tool" copy "$card/DCIM" "$scratch/first")" -ge 64000000 ]
	media_drop card
	[ "$(fetched "$tool" copy "$card/card.tar" "$scratch/second")" -ge 32000000 ]
}

# pull_from KIND PATH: slowly, so that the card goes away under the reader.
pull_from() {
	media_begin "$scratch/volumes"
	"media_$1" card 64
	fill
	media_throttle card 4 0
	rm -rf "$scratch/out"
	mkdir "$scratch/out"
	"$tool" copy "$2" "$scratch/out" 2>"$scratch/said" &
	reader=$!
	for _ in $(seq 100); do
		[ -z "$(find "$scratch/out" -type f -size +0)" ] || break
		sleep 0.1
	done
	media_yank card
	tap_fails wait $reader
	cat "$scratch/said"
	[ "$(grep -c '^gone: ' "$scratch/said")" = 1 ]
}

a_card_pulled_while_it_is_read_is_gone() { pull_from exfat "$card"; }
a_card_pulled_while_its_archive_is_read_is_gone() { pull_from exfat "$card/card.tar"; }
a_card_that_fails_while_it_is_read_is_gone() { pull_from ext4 "$card"; }

tap_if "" a_volume_has_its_label_for_a_name_and_a_folder_on_it_its_own a_second_reading_comes_from_the_card_again
tap_if "throttle" a_card_that_fails_while_it_is_read_is_gone
tap_if "exfat throttle" a_card_pulled_while_it_is_read_is_gone a_card_pulled_while_its_archive_is_read_is_gone
rm -rf "$scratch"
tap_done
