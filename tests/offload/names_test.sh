#!/bin/sh
# SPDX-License-Identifier: ISC
# Odd names from card to bag on real volumes: ext4 takes any bytes, exFAT does not and says so before anything is written.
# Witnesses: find and sha256sum over both sides, sha256sum, xxhsum and jq.
set -eu
here=$HEADRACE_SOURCE/tests/support
. "$here/tap.sh"
. "$here/media.sh"
. "$here/able.sh"
scratch=$(mktemp -d "${TMPDIR:-/var/tmp}/headrace-names.XXXXXX")
headrace=$HEADRACE_BUILD/src/cli/headrace
export LC_ALL=C

ground() {
	media_begin "$scratch/volumes"
	media_ext4 card 60
	media_ext4 ssd 60
	media_ext4 backup 60
	XDG_STATE_HOME=$scratch/volumes/state
	export XDG_STATE_HOME
	rm -rf "$XDG_STATE_HOME"
	cd "$scratch/volumes"
}

# make NAME...: empties the card and puts a file of each name there, its content its number, each a second younger than the
# one before. A name is a Perl string.
make() {
	rm -rf card/DCIM
	mkdir -p card/DCIM/100NMERE
	(cd card/DCIM/100NMERE && perl -e '
		foreach my $text (@ARGV) {
			my $name = eval "\"$text\"";
			open(my $file, ">", $name) or die "$text: $!";
			print $file "frame ", ++$number, "\n";
			close $file;
			utime 1778900000 + $number, 1778900000 + $number, $name;
		}' "$@")
	[ "$(find card/DCIM/100NMERE -type f -printf x | wc -c)" = $# ]
}

# Every file below a folder by name and content, in a form with one line each whatever the name.
contents() {
	(cd "$1" && find . -type f -print0 | sort -z | xargs -0 sha256sum -z | perl -0pe 's/\n/<LF>/g; s/\0/\n/')
}

# manifest_holds FILE TOOL: as the standard has it: %0A, %0D and %25 undone, each file looked at by the tool itself.
manifest_holds() {
	perl -ne 'chomp; s/%(0A|0D|25)/chr hex $1/ge; print "$_\0"' "$1" |
		xargs -0 sh -c 'tool=$1; shift
			for line; do
				[ "$($tool <"${line#*  }" | cut -d " " -f 1)" = "${line%%  *}" ] || exit 255
			done' sh "$2"
}

# A bag as others see it. Lines without a % are for the tools as they stand.
bag_is_right() {
	(
		cd "$1"
		sha256sum --quiet -c tagmanifest-sha256.txt
		grep -v % manifest-sha256.txt | sha256sum --strict --quiet -c -
		grep -v % manifest-xxh128.txt >../plain.txt
		xxhsum --strict --quiet -c ../plain.txt
		rm ../plain.txt
		manifest_holds manifest-sha256.txt sha256sum
		manifest_holds manifest-xxh128.txt 'xxhsum -q -H2'
	)
	contents card >card.contents
	contents "$1/data" >bag.contents
	cmp card.contents bag.contents
}

# Percent-decoding gives the bytes of each proven path back.
events_name_the_card() {
	jq -e . events >/dev/null
	jq -r 'select(.event == "file_proven") | .path' events | perl -ne 'chomp; s/%([0-9A-F]{2})/chr hex $1/ge; print "$_\0"' |
		sort -zu >told
	(cd card && find . -type f -printf '%P\0' | sort -z) | cmp - told
}

# offload CARD PLACE PLACE OPTION...
offload() {
	card=$1 one=$2 two=$3
	shift 3
	# shellcheck disable=SC2086 # none or one word
	"$headrace" offload "$card" --to "$one" --to "$two" $same_device --job "${job:-Cup final}" "$@"
}

delivers() {
	offload card ssd backup --json-lines >events
	for place in ssd backup; do
		bag=$(find $place -name bagit.txt -printf '%h\n')
		bag_is_right "$bag"
		[ -z "$(find $place -name '.*.part' ! -path '*/data/*')" ]
	done
	events_name_the_card
	"$headrace" verify ssd backup --json | jq -e .all_valid
	expect_safe card
	offload card ssd backup --json | jq -e .all_done
	[ "$(find ssd backup -name bagit.txt | wc -l)" = 2 ]
}

carries_line_ends_percents_and_controls() {
	ground
	make 'two\nlines.JPG' 'cr\rhere.JPG' 'tab\there.JPG' 'del\x7f.JPG' 'esc\e[31m.JPG' '100%.JPG' '%0A.JPG' '%25' '%' '\x01'
	delivers
}

carries_quotes_backslashes_and_dashes() {
	ground
	make "it's \\\"the\\\" final.JPG" 'back\\slash.JPG' '\\n.JPG' '-rf.JPG' '--to' ' lead' 'trail ' 'a*b?c:d|e<f>.JPG' 'a.' '...' \
		'#' '~' '~home' '\$HOME' '\`id\`' 'a,b;c' 'C:x'
	delivers
}

carries_bytes_that_are_no_utf_8() {
	ground
	make '\xff\xfe.JPG' 'cut \xc3' 'c1 \xc2\x85.JPG' 'surrogate \xed\xa0\x80' 'overlong \xc0\xaf' 'M\xfcller.JPG' 'stick \xf0\x9f\x8f\x91'
	delivers
}

carries_names_alike_but_for_case_or_composition() {
	ground
	make 'A.JPG' 'a.JPG' 'a.jpg' 'M\xc3\xbcller.JPG' 'Mu\xcc\x88ller.JPG' 'm\xc3\xbcller.JPG'
	delivers
}

carries_names_of_255_bytes() {
	ground
	make "$(printf 'x%.0s' $(seq 251)).JPG" "$(printf 'x%.0s' $(seq 250))y.JPG" "$(printf 'y%.0s' $(seq 255))" \
		"$(printf 'z%.0s' $(seq 240))" "$(printf 'w%.0s' $(seq 249))" "$(printf '\\xc3\\xa9%.0s' $(seq 127))z"
	delivers
}

carries_a_tree_64_folders_deep() {
	ground
	make NMA_0001.JPG
	deep=card/DCIM
	for level in $(seq 64); do
		deep=$deep/level-$level-of-the-stand-at-Northmere
	done
	mkdir -p "$deep"
	echo deep >"$deep/NMA_0002.JPG"
	[ "$(find card -name 'level-64-*' | tr -cd / | wc -c)" = 65 ]
	delivers
}

carries_files_named_as_our_temporary_ones() {
	ground
	make NMA_0001.JPG .NMA_0001.JPG.part ..NMA_0001.JPG.part.part .0.1.part .NMA_0001.JPG.2.part
	delivers
}

carries_a_job_of_any_bytes() {
	ground
	make NMA_0001.JPG
	job=$(printf "it's 100%% \"odd\" \\377")
	delivers
}

# refused SENTENCE: with an ext4 and an exFAT place. Where the build cannot know what exFAT takes, the drive's own refusal is told.
refused() {
	if able volumes; then refused_before "$1"; else told_after; fi
}

# What stands there is right, whatever the drive took.
told_after() {
	rm -rf ssd/* stick/*
	status=0
	offload card ssd stick 2>complaints || status=$?
	cat complaints
	case $status in
	0) contents card >card.contents && contents stick/*/*/data | cmp - card.contents ;;
	1) grep 'FAILED.* in stick: \|place stick FAILED: ' complaints ;;
	*) return 1 ;;
	esac
	for bag in ssd/*/* stick/*/*; do
		[ ! -e "$bag" ] || (cd "$bag" && manifest_holds manifest-sha256.txt sha256sum)
	done
	contents card >card.contents && contents ssd/*/*/data | cmp - card.contents
}

# Before anything is written to either.
refused_before() {
	status=0
	offload card ssd stick 2>complaints || status=$?
	cat complaints
	[ "$status" = 4 ]
	grep -F "$1" complaints
	grep 'nothing was written' complaints
	[ -z "$(find ssd stick -mindepth 1)" ]
	[ ! -e "$XDG_STATE_HOME" ]
	offload card ssd stick --json 2>complaints | jq -e '.refusals | length > 0'
}

refuses_what_exfat_cannot_name() {
	ground
	media_exfat stick 60
	for name in 'two\nlines' 'tab\t' '\"quoted\"' 'back\\slash' 'what?' 'a*' 'a:b' 'a|b' 'a<b' 'a>b' '\xff.JPG' 'cut \xc3' 'a.'; do
		make NMA_0001.JPG "$name"
		refused 'Place stick (fuseblk) cannot hold the name DCIM/100NMERE/'
	done
}

refuses_names_that_exfat_takes_for_one() {
	ground
	media_exfat stick 60
	make NMA_0001.JPG nma_0001.jpg
	refused 'Place stick (fuseblk) cannot tell DCIM/100NMERE/'
	make 'M\xc3\xbcller.JPG' 'm\xc3\x9cller.JPG'
	refused 'Place stick (fuseblk) cannot tell DCIM/100NMERE/'
	make 'M\xc3\xbcller.JPG' 'Mu\xcc\x88ller.JPG'
	refused 'Place stick (fuseblk) cannot tell DCIM/100NMERE/'
}

refuses_a_job_that_exfat_cannot_name() {
	ground
	media_exfat stick 60
	make NMA_0001.JPG
	job='Who won?'
	refused 'Place stick (fuseblk) cannot hold a folder named Who won? as the job is'
}

carries_to_exfat_what_it_can_name() {
	ground
	media_exfat stick 60
	make 'M\xc3\xbcller.JPG' '-rf.JPG' '100%.JPG' "it's.JPG" 'del\x7f.JPG' "$(printf 'x%.0s' $(seq 251)).JPG" \
		"$(printf '\\xc3\\xa9%.0s' $(seq 127))" 'stick \xf0\x9f\x8f\x91' NMA_0001.JPG
	offload card ssd stick --json-lines >events
	bag_is_right ssd/*/*
	bag_is_right stick/*/*
	events_name_the_card
}

# 150 letters of two bytes are a name for exFAT, and none for ext4.
carries_from_exfat_to_exfat_a_name_that_ext4_refuses() {
	ground
	media_exfat stick 60
	media_exfat source 60
	mkdir -p source/DCIM/100NMERE
	echo long >"source/DCIM/100NMERE/$(printf '\303\251%.0s' $(seq 150))"
	status=0
	offload source ssd stick 2>complaints || status=$?
	[ "$status" = 4 ]
	grep 'Place ssd ([a-z0-9]*) cannot hold the name' complaints
	[ -z "$(find ssd stick -mindepth 1)" ]
	able volumes || return 0 # by bytes it is too long for any
	"$headrace" offload source --to stick
	contents source >card.contents
	contents stick/*/*/data | cmp - card.contents
}

tap_if exfat carries_line_ends_percents_and_controls carries_quotes_backslashes_and_dashes carries_bytes_that_are_no_utf_8 \
	carries_names_alike_but_for_case_or_composition carries_names_of_255_bytes carries_a_tree_64_folders_deep \
	carries_files_named_as_our_temporary_ones carries_a_job_of_any_bytes refuses_what_exfat_cannot_name \
	refuses_names_that_exfat_takes_for_one refuses_a_job_that_exfat_cannot_name carries_to_exfat_what_it_can_name \
	carries_from_exfat_to_exfat_a_name_that_ext4_refuses
rm -rf "$scratch"
tap_done
