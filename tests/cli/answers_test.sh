#!/bin/sh
# SPDX-License-Identifier: ISC
# What the commands answer, in every form, over a small card on one drive. jq is the witness that JSON is JSON. TAP.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
. "$HEADRACE_SOURCE/tests/support/able.sh"
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
mkdir "$scratch/here"
PATH=$HEADRACE_BUILD/src/cli:$PATH
export PATH XDG_STATE_HOME="$scratch/state" LC_ALL=C TZ=UTC
cd "$scratch/here"

# A name no text can hold as it is: a quote, a backslash, a percent sign, a line break, a byte that is no UTF-8.
odd=$(printf 'odd"\\%%\n\377.JPG')
mkdir -p card/DCIM/100NMERE ssd backup
for number in 1 2 3; do
	head -c 100000 /dev/urandom >card/DCIM/100NMERE/NMA_000$number.JPG
done
echo odd >"card/DCIM/100NMERE/$odd"
ln -s DCIM card/link

offload() { headrace offload card --to ssd --to backup --same-device --job Northmere "$@"; }
# Everything but what this test writes itself.
standing() { find . ! -name out ! -name err ! -name plan.json | sort; }
# answers STATUS COMMAND...: its output in `out`.
answers() {
	wanted=$1 status=0
	shift
	"$@" >out 2>err || status=$?
	cat out err
	[ "$status" = "$wanted" ]
}

a_plan_is_shown_and_nothing_written() {
	standing >../before
	answers 0 offload --dry-run
	grep '^SHA-256 at up to .*/s$' out
	grep '^total 4 files, 300 kB; nothing was written$' out
	answers 0 offload --dry-run --json
	jq -e '.schema == 1 and .document == "plan" and .files_to_copy == 4 and (.places | length) == 2' out
	cp out plan.json
	standing | diff ../before -
}
tap a_plan_is_shown_and_nothing_written

a_refusal_is_a_plan_and_status_4() {
	answers 4 headrace offload card --to ssd --to ssd --json
	jq -e '.document == "plan" and (.refusals | length) > 0' out
	grep '^headrace: nothing was written$' err
}
tap a_refusal_is_a_plan_and_status_4

events_come_one_a_line() {
	answers 0 offload --json-lines
	cp out events.json
	jq -e -s 'all(.schema == 1)' out
	[ "$(jq -r .event out | grep -vx note | sort -u | paste -sd' ')" = 'card_finished card_free card_started file_proven progress result' ]
	[ "$(jq -r .event out | tail -n 1)" = result ]
	[ "$(jq -r 'select(.event == "file_proven") | .path' out | wc -l)" = 8 ]
	# The digest told is the file's.
	jq -r 'select(.event == "file_proven" and .place == "ssd" and (.path | test("0001"))) | .xxh128' out >told
	xxhsum -H2 card/DCIM/100NMERE/NMA_0001.JPG | cut -d' ' -f1 | diff told -
}
tap events_come_one_a_line

a_name_comes_back_from_json() {
	jq -r 'select(.event == "file_proven" and .place == "ssd" and (.path | test("odd"))) | .path' events.json >escaped
	# Percent-decoding: printf knows bytes by their octal number.
	sed 's/\\/\\0134/g; s/%25/\\0045/g; s/%0A/\\0012/g; s/%FF/\\0377/g' escaped >octal
	printf '%b' "$(cat octal)" >name
	printf 'DCIM/100NMERE/%s' "$odd" | cmp - name
}
tap a_name_comes_back_from_json

a_second_run_finds_nothing_new() {
	answers 0 offload --json
	cp out result.json
	jq -e '.document == "offload" and .all_done and (.all_safe | not) and (.cards[0].places | all(.bag == ""))' out
	answers 0 offload
	grep '^card card: NOT SAFE to format: ' out
	grep '^  ssd  nothing new$' out
	grep -x 'headrace: warning: Places ssd and backup stand on one drive, which holds the card card too: they count as one copy.' err
	[ "$(grep -c drive err)" = 1 ]
	answers 0 offload --quiet
	[ "$(wc -l <out)" = 1 ]
	tap_fails grep '^headrace: ' err
}
tap a_second_run_finds_nothing_new

one_drive_is_not_safe() {
	answers 1 headrace safe card
	grep '^card card: NOT SAFE to format: ' out
	grep '^Never format on one copy. Two copies on one drive are one.$' out
	answers 1 headrace safe card --quiet
	[ "$(wc -l <out)" = 1 ]
	answers 1 headrace safe card --json
	cp out safe.json
	jq -e '.document == "safe" and (.all_safe | not) and .cards[0].files == 4 and .cards[0].on_two_or_more == 0' out
}
tap one_drive_is_not_safe

a_flipped_byte_is_found() {
	answers 0 headrace verify ssd backup
	[ "$(grep -c '^RIGHT, with warnings  ' out)" = 2 ]
	[ "$(tail -n 1 out)" = 'RIGHT: all 2 bags' ]
	bag=$(echo backup/Northmere/*)
	tap_flip "$bag/data/DCIM/100NMERE/NMA_0002.JPG" 5000
	answers 1 headrace verify ssd backup
	grep '^NOT RIGHT  ' out
	[ "$(tail -n 1 out)" = 'NOT RIGHT: 1 of 2 bags' ]
	grep 'NMA_0002.JPG' out
	answers 1 headrace verify ssd backup --json
	cp out verify.json
	jq -e '(.all_valid | not) and ([.bags[].verdict] | sort) == ["invalid", "valid with warnings"]' out
	jq -e '[.bags[].problems[].path] | any(test("NMA_0002"))' out
	answers 1 headrace verify backup --quiet
	[ "$(wc -l <out)" = 2 ] # and the file
	answers 1 headrace verify backup --digest sha256
	answers 0 headrace verify ssd --digest sha256 --progress=lines
}
tap a_flipped_byte_is_found

# A drive that is not mounted, a folder without any: the last line is no RIGHT.
what_was_not_looked_at_is_not_right() {
	mkdir none
	for missing in nowhere none; do
		answers 1 headrace verify ssd "$missing"
		[ "$(tail -n 1 out)" = 'NOT RIGHT: nothing was checked in 1 of 2 folders' ]
		answers 1 headrace verify ssd "$missing" --quiet
		[ "$(tail -n 1 out)" = 'NOT RIGHT: nothing was checked in 1 of 2 folders' ]
		answers 1 headrace verify ssd "$missing" --json
		jq -e --arg missing "$missing" '(.all_valid | not) and .bags[0].verdict == "valid with warnings" and
			(.bags[1] | .path == $missing and .status == "not found" and .sentence != "" and (has("verdict") | not))' out
	done
	rmdir none
}
tap what_was_not_looked_at_is_not_right

# All that stands proven in a place, by the ledger's own word.
proven() {
	answers 1 headrace safe card --json
	proven=$(jq '[.cards[0].drives[] | .files + .not_from_medium] | add // 0' out)
}

what_is_checked_by_one_manifest_still_counts() {
	answers 0 headrace verify ssd --digest sha256
	proven
	[ "$proven" -ge 4 ]
}
tap what_is_checked_by_one_manifest_still_counts

a_bag_that_names_no_card_counts_for_nothing() {
	for tag in bag-info.txt bagit.txt files.csv; do
		for place in ssd backup; do mv $place/Northmere/*/$tag $place.$tag; done
		[ $tag = bagit.txt ] && for place in ssd backup; do echo torn >"$(echo $place/Northmere/*)/$tag"; done
		answers 1 headrace verify ssd/Northmere/* backup/Northmere/*
		proven
		[ "$proven" = 0 ]
		for place in ssd backup; do mv $place.$tag "$(echo $place/Northmere/*)/$tag"; done
		answers 1 headrace verify ssd backup
		proven
		[ "$proven" -ge 4 ]
	done
}
tap a_bag_that_names_no_card_counts_for_nothing

the_log_knows_the_run() {
	answers 0 headrace log
	grep '^   1  not safe ' out
	answers 0 headrace log 1
	grep '^held up by: ' out
	answers 0 headrace log 1 --json
	cp out log.json
	jq -e '.document == "log" and .runs[0].run == 1 and .runs[0].files == 4 and (.runs[0].stages | length) == 6' out
	answers 0 headrace log --json --limit 1
	jq -e '.runs | length == 1' out
	answers 1 headrace log 99
}
tap the_log_knows_the_run

csv_has_as_many_fields_as_its_heading() {
	answers 0 headrace log --csv
	awk -F, 'NR == 1 { fields = NF } NF != fields { exit 1 } END { exit NR < 2 }' out
	answers 0 headrace log 1 --csv
	awk -F, 'NR == 1 { fields = NF } NF != fields { exit 1 } END { exit NR < 7 }' out
	# All that was read from the card stands in the samples.
	[ "$(awk -F, '$1 == "card" { sum += $5 } END { print sum }' out)" = 300004 ]
}
tap csv_has_as_many_fields_as_its_heading

a_plot_is_a_new_file() {
	answers 0 headrace log 1 --plot plot.svg
	head -n 1 plot.svg | grep '^<?xml '
	cp plot.svg before.svg
	answers 1 headrace log 1 --plot plot.svg
	cmp plot.svg before.svg
	answers 1 headrace log 1 --plot nowhere/plot.svg
	answers 1 headrace log 1 --plot /dev/full
}
tap a_plot_is_a_new_file

every_key_stands_in_a_man_page() {
	cat plan.json events.json result.json safe.json verify.json log.json |
		jq -r 'paths | map(select(type == "string")) | last // empty' | sort -u >keys
	[ "$(wc -l <keys)" -gt 70 ]
	while read -r key; do
		grep -qw -- "$key" "$HEADRACE_SOURCE"/man/headrace-*.1 || echo "$key"
	done <keys | tee missing
	[ ! -s missing ]
}
tap every_key_stands_in_a_man_page

a_lost_ledger_is_filled_again() {
	rm -r "$XDG_STATE_HOME"
	answers 1 headrace safe card --quiet
	grep 'cannot be told' out
	answers 0 headrace verify ssd
	answers 1 headrace safe card --json
	proven=$(able medium && echo on_one || echo on_none)
	jq -e ".cards[0] | .$proven == 4 and .on_one + .on_none == 4" out
}
tap a_lost_ledger_is_filled_again

# Where whoever is not let in can run it.
cp "$HEADRACE_BUILD/src/cli/headrace" "$scratch/headrace"

# As whoever is not let in; what may be looked into is right.
a_folder_nobody_may_look_into_is_told_and_is_status_1() {
	mkdir -p shut/Northmere
	cp -r ssd/Northmere shut/first
	cp -r ssd/Northmere shut/second
	chmod 0 shut/Northmere
	chmod 755 "$scratch"
	as=
	if [ "$(id -u)" = 0 ]; then
		chown -R 65534:65534 shut
		as='setpriv --reuid=65534 --regid=65534 --clear-groups'
	fi
	# shellcheck disable=SC2086 # a list of words
	answers 1 $as "$scratch/headrace" verify shut
	[ "$(grep -c '^RIGHT, with warnings  ' out)" = 2 ]
	[ "$(tail -n 1 out)" = 'NOT RIGHT: nothing was checked in 1 of 2 folders' ]
	grep "^headrace: $PWD/shut/Northmere: you may not look into it: what is in it is NOT checked$" err
	# shellcheck disable=SC2086 # a list of words
	answers 1 $as "$scratch/headrace" verify shut --json
	jq -e '(.all_valid | not) and (.bags | length) == 3 and any(.bags[]; .status == "denied")' out
}
tap a_folder_nobody_may_look_into_is_told_and_is_status_1

a_place_one_may_not_write_in_is_refused() {
	mkdir -p closed/Northmere
	chmod 755 "$scratch"
	chmod a-w closed closed/Northmere
	as=
	[ "$(id -u)" != 0 ] || as='setpriv --reuid=65534 --regid=65534 --clear-groups'
	# shellcheck disable=SC2086 # a list of words
	answers 4 $as "$scratch/headrace" offload card --to closed --job Northmere --same-device
	grep '^headrace: refused: Place closed: you may not write in its folder Northmere: ' err
	# shellcheck disable=SC2086 # a list of words
	answers 4 $as "$scratch/headrace" offload card --to closed --job Another --same-device
	grep '^headrace: refused: Place closed: you may not write in it: ' err
	chmod 777 closed/Northmere
	# shellcheck disable=SC2086 # a list of words
	answers 0 $as "$scratch/headrace" offload card --to closed --job Northmere --same-device --dry-run
	[ -z "$(find closed -type f)" ]
}
tap a_place_one_may_not_write_in_is_refused

# The system itself says no to files over 4 MB, as to a drive's limit nobody could foresee.
a_file_that_fails_is_named_with_its_place_and_is_status_1() {
	mkdir -p large/DCIM/100NMERE
	head -c 100000 /dev/urandom >large/DCIM/100NMERE/NMA_0001.JPG
	head -c 6000000 /dev/urandom >large/DCIM/100NMERE/NMA_0002.JPG
	trap '' XFSZ
	(ulimit -f 8000 && answers 1 headrace offload large --to ssd --to backup --same-device --job Large)
	grep '^headrace: FAILED DCIM/100NMERE/NMA_0002.JPG in ssd: ' err
	grep '^headrace: FAILED DCIM/100NMERE/NMA_0002.JPG in backup: ' err
	grep '^not everything is done: the same command again goes on$' out
	cmp large/DCIM/100NMERE/NMA_0001.JPG ssd/Large/*/data/DCIM/100NMERE/NMA_0001.JPG
	answers 0 headrace offload large --to ssd --to backup --same-device --job Large
}
tap a_file_that_fails_is_named_with_its_place_and_is_status_1

# As a system under a FIPS policy does that has no module for it: config(5ssl), default_properties.
a_digest_the_system_does_not_allow_is_told_as_that() {
	printf '%s\n' 'openssl_conf = init' '[init]' 'alg_section = algorithms' '[algorithms]' 'default_properties = fips=yes' >out.cnf
	OPENSSL_CONF=$PWD/out.cnf answers 1 headrace verify ssd
	grep "^headrace: this system's cryptography does not allow SHA256$" err
	OPENSSL_CONF=$PWD/out.cnf answers 1 headrace verify ssd --json
	jq -e '(.all_valid | not) and (.bags | length) > 0 and all(.bags[]; (.path | test("/ssd/")) and .status == "unsupported" and .sentence != "")' out
	mkdir -p forbidden
	OPENSSL_CONF=$PWD/out.cnf answers 1 headrace offload card --to forbidden --job Northmere --same-device
	grep "^headrace: this system's cryptography does not allow SHA256$" err
}
tap a_digest_the_system_does_not_allow_is_told_as_that

tap_done
