#!/bin/sh
# SPDX-License-Identifier: ISC
# The demo card against programs that know nothing of it: exiftool (Exif, XMP, RIFF and movie boxes) and djpeg of libjpeg-turbo.
set -eu
support=$(cd "$(dirname "$0")" && pwd)
. "$support/tap.sh"
demo_card=${HEADRACE_BUILD:?}/tests/support/demo_card
scratch=$(mktemp -d "${TMPDIR:-/tmp}/headrace-demo.XXXXXX")
trap 'chmod -R u+w "$scratch"; rm -rf "$scratch"' EXIT
cd "$scratch"
export TZ=UTC LC_ALL=C

# column NAME [FILE]: a column of a truth file, one value a row.
column() {
	awk -F, -v name="$1" 'NR == 1 { for (i = 1; i <= NF; i++) if ($i == name) at = i; next } { print $at }' "${2:-card.truth.csv}"
}

pictures() {
	column files | tr ';' '\n' | grep '\.JPG$'
}

# Every file of a card with its digest, in an order of its own.
digests() {
	(cd "$1" && find . -type f -exec sha256sum {} + | sort -k 2)
}

has_the_frames_asked_for_and_the_files_the_truth_names() {
	[ "$(column kind | grep -c '^frame$')" = 240 ]
	[ "$(find card/DCIM -name '*.JPG' | wc -l)" = 240 ]
	column files | tr ';' '\n' | sort >named
	(cd card && find DCIM -type f) | sort >found
	diff named found
}

is_the_same_to_the_byte_for_the_same_seed() {
	"$demo_card" --out again --seed 7 --frames 240 --size 240x160 --raw-every 40
	digests card >first
	digests again >second
	diff first second
	cmp card.truth.csv again.truth.csv
}

is_another_match_for_another_seed() {
	"$demo_card" --out other --seed 8 --frames 60 --size 96x64 --plain
	"$demo_card" --out this --seed 7 --frames 60 --size 96x64 --plain
	(cd other && find . -name '*.JPG' -exec sha256sum {} + | cut -d ' ' -f 1 | sort) >others
	(cd this && find . -name '*.JPG' -exec sha256sum {} + | cut -d ' ' -f 1 | sort) >these
	[ -z "$(comm -12 others these)" ]
}

opens_in_any_decoder() {
	rm -f complaints
	pictures | while read -r picture; do
		djpeg -grayscale "card/$picture" >picture.pgm 2>>complaints
		sed -n 2p picture.pgm
	done >sizes
	[ ! -s complaints ]
	[ "$(grep -c -x '240 160' sizes)" = 240 ]
}

is_read_by_exiftool_as_the_truth_has_it() {
	exiftool -q -r -f -d %s -ext JPG -p '$Directory/$FileName,$DateTimeOriginal,$SubSecTimeOriginal,$OffsetTimeOriginal,$SerialNumber,$Rating,$ImageSize' \
		card/DCIM | sort >seen
	awk -F, 'NR > 1 && $2 == "frame" { split($1, files, ";"); stamp = $6; rating = $12 == "" ? "-" : $12
		printf "card/%s,%s,%s,+01:00,%s,%s,240x160\n", files[1], substr(stamp, 1, 10), substr(stamp, 11, 2), $4, rating }' card.truth.csv |
		sort >told
	diff told seen
}

is_valid_to_exiftool() {
	exiftool -q -r -validate -p '$Validate' card/DCIM | sort -u >verdicts
	[ "$(cat verdicts)" = OK ]
}

has_a_thumbnail_that_opens() {
	pictures | head -n 20 | while read -r picture; do
		exiftool -b -ThumbnailImage "card/$picture" >small.jpg
		djpeg small.jpg >small.ppm
	done
	[ "$(head -n 2 small.ppm | tail -n 1)" = "120 80" ]
}

gives_raw_twins_the_same_facts_and_a_preview_that_opens() {
	[ "$(find card/DCIM -name '*.DNG' | wc -l)" = 6 ]
	for raw in card/DCIM/*/*.DNG; do
		for file in "$raw" "${raw%.DNG}.JPG"; do
			exiftool -T -SubSecDateTimeOriginal -SerialNumber -Rating -ISO -ExposureTime -Orientation "$file" >"facts.${file##*.}"
		done
		cmp facts.DNG facts.JPG
		exiftool -b -PreviewImage "$raw" >preview.jpg
		djpeg preview.jpg >preview.ppm
		[ "$(exiftool -T -SubIFD:ImageWidth -SubIFD:PhotometricInterpretation "$raw")" = "32	Color Filter Array" ]
	done
}

# intervals: burst, stalled, cadence and the interval before each frame, as the stamps in the files have it.
intervals() {
	exiftool -q -r -f -d %s -ext JPG -p '$Directory/$FileName $DateTimeOriginal $SubSecTimeOriginal' "$1/DCIM" >stamps
	awk -v card="$1" 'FNR == NR { at[$1] = $2 + $3 / 10 ^ length($3); next }
		FNR == 1 || $2 != "frame" { next }
		{ split($1, files, ";"); burst = $3 $9; now = at[card "/" files[1]]
		  if (burst in last) printf "%s %d %g %.3f\n", burst, $10, $11, now - last[burst]
		  last[burst] = now }' FS=' ' stamps FS=, "$1.truth.csv"
}

holds_the_cadence_it_tells_until_the_buffer_is_full() {
	"$demo_card" --out paced --frames 600 --size 48x32 --plain --clock-resolution-ms 1 --drop-percent 0
	intervals paced | awk '$2 == 0 { count++; if ($4 < 1 / $3 - 0.0075 || $4 > 1 / $3 + 0.0075) { print; bad = 1 } } END { exit bad || count < 200 }'
}

falls_to_the_drain_rate_for_three_seconds_and_more() {
	"$demo_card" --out full --frames 600 --size 48x32 --plain --clock-resolution-ms 1 --cadence 30 --drain 12 --buffer 40
	intervals full | awk '$2 == 1 { if ($4 > 1 / 12 + 0.0075) { print; bad = 1 }; stalled[$1] += $4 }
		END { for (burst in stalled) if (stalled[burst] > 3) long++; exit bad || long < 2 }'
	# Depth b, drained at r, filled at f, is full after b / (1 - r / f) frames: 40 / (1 - 12 / 30) = 66.7.
	awk -F, 'NR > 1 { burst = $3 $9; seen[burst]++; if ($10 && !(burst in full)) full[burst] = seen[burst] }
		END { for (burst in full) if (seen[burst] > 90) { count++; if (full[burst] < 65 || full[burst] > 70) bad = 1 }
		      exit bad || !count }' full.truth.csv
}

never_stalls_without_an_end_to_the_buffer() {
	"$demo_card" --out endless --frames 600 --size 48x32 --plain --buffer 0
	[ "$(column stalled endless.truth.csv | sort -u)" = 0 ]
}

drops_frames_within_bursts() {
	"$demo_card" --out dropped --frames 600 --size 48x32 --plain --clock-resolution-ms 1 --drop-percent 5 --buffer 0
	intervals dropped | awk '{ if ($4 > 1.6 / $3) gaps++; if ($4 > 2.5 / $3) bad = 1 } END { exit bad || gaps < 10 }'
}

keeps_plays_apart_and_the_bursts_of_a_play_together() {
	awk -F, 'NR > 1 && $2 == "frame" { body = $3; gap = ($5 - last[body]) / 1e9
		if (body in last && $8 != sequence[body] && gap < 6) bad = 1
		if ($8 == sequence[body] && $9 != burst[body] && (gap < 0.4 || gap > 3.7)) bad = 1
		if ($8 == sequence[body] && $9 == burst[body] && gap > 0.4) bad = 1
		last[body] = $5; sequence[body] = $8; burst[body] = $9 }
		END { exit bad }' card.truth.csv
}

writes_as_many_digits_as_the_clock_has() {
	for resolution in 1:3 10:2 100:1; do
		"$demo_card" --out "clock${resolution%:*}" --frames 20 --size 48x32 --plain --clock-resolution-ms "${resolution%:*}"
		exiftool -q -r -p '$SubSecTimeOriginal' "clock${resolution%:*}" | awk -v digits="${resolution#*:}" 'length($1) != digits { exit 1 }'
	done
	"$demo_card" --out clock1000 --frames 20 --size 48x32 --plain --clock-resolution-ms 1000
	[ "$(exiftool -q -r -f -p '$SubSecTimeOriginal' clock1000 | sort -u)" = - ]
}

# DCF (CIPA DC-009): a folder number is used once; 9999 is followed by 0001 in the next folder.
rolls_over_into_a_new_folder() {
	last=$(find card/DCIM -name 'NMA_9999.JPG')
	first=$(find card/DCIM -name 'NMA_0001.*' | head -n 1)
	[ -n "$last" ] && [ -n "$first" ] && [ "$(dirname "$last")" != "$(dirname "$first")" ]
	[ -z "$(find card/DCIM -mindepth 1 | grep -v -E '^card/DCIM/[1-9][0-9]{2}NMERE(/NM[AB]_[0-9]{4}\.(JPG|DNG|WAV|MOV))?$')" ]
	[ -z "$(find card/DCIM -name '*_0000.*')" ]
}

sets_file_times_to_the_moment_of_capture() {
	awk -F, 'NR > 1 { split($1, files, ";"); print files[1], $5 }' card.truth.csv | while read -r file time; do
		[ "$(stat -c %.9Y "card/$file" | tr -d .)" = "$time" ]
	done
	"$demo_card" --out fat --frames 10 --size 48x32 --plain --fat-times
	find fat -name '*.JPG' -exec stat -c %.9Y {} + | awk -F. '$1 % 2 || $2 + 0 { exit 1 }'
}

pads_to_the_byte_and_stays_a_picture() {
	for size in 61000 61001 61002 61003 61004 4000000; do
		"$demo_card" --out "padded$size" --frames 2 --size 240x160 --plain --bytes "$size" --raw-every 1 --raw-bytes "$size"
		for file in "padded$size"/DCIM/*/*; do
			[ "$(stat -c %s "$file")" = "$size" ]
			[ "$(exiftool -T -ExifImageWidth -ImageWidth "$file" | cut -f 1)" = 240 ]
			complaints=$(exiftool -validate -warning -a -s3 "$file" | sort -u)
			# Of the padding it says what is true: it does not know the segment.
			[ "$complaints" = OK ] || [ "$(echo "$complaints" | tail -n 1)" = "[minor] Unknown APP10 segment" ]
		done
		for picture in "padded$size"/DCIM/*/*.JPG; do
			djpeg "$picture" >/dev/null 2>complaints
			[ ! -s complaints ]
		done
	done
}

carries_memos_a_clip_and_what_else_cards_hold() {
	memo=$(find card/DCIM -name '*.WAV' | head -n 1)
	[ -e "${memo%.WAV}.JPG" ]
	[ "$(exiftool -T -SampleRate -BitsPerSample -NumChannels -Validate "$memo")" = "8000	16	1	OK" ]
	[ -z "$(exiftool -T -Duration# "$memo" | awk '$1 < 1 || $1 > 3')" ]
	[ -f card/MISC/NOTES.TXT ] && [ -f card/.volume-note ]
	[ -d card/MISC/EMPTY ] && [ -z "$(ls -A card/MISC/EMPTY)" ]
	for clip in card/DCIM/*/*.MOV; do
		told=$(grep "${clip#card/}" card.truth.csv | cut -d, -f 5)
		[ "$(exiftool -T -d %s -CreateDate -Duration# -ImageWidth "$clip")" = "${told%?????????}	2	120" ]
	done
}

# The first sample of the clip is a JPEG stream where the sample tables say it is.
holds_pictures_in_the_clip() {
	clip=$(find card/DCIM -name '*.MOV' | head -n 1)
	at=$(exiftool -T -MediaDataOffset "$clip")
	tail -c +"$((at + 1))" "$clip" >samples
	djpeg samples >sample.ppm
	[ "$(head -n 2 sample.ppm | tail -n 1)" = "120 80" ]
}

protects_the_files_it_says() {
	awk -F, 'NR > 1 && $13 == 1 { n = split($1, files, ";"); for (i = 1; i <= n; i++) print "card/" files[i] }' card.truth.csv | sort >told
	find card -type f ! -perm /222 | sort >found
	[ -s told ]
	diff told found
}

makes_the_whole_card_of_two_halves() {
	"$demo_card" --out whole --seed 7 --frames 120 --size 48x32
	"$demo_card" --out halves --seed 7 --frames 120 --size 48x32 --half 1
	before=$(find halves -name '*.JPG' | wc -l)
	"$demo_card" --out halves --seed 7 --frames 120 --size 48x32 --half 2 --truth second.csv
	[ "$before" -gt 0 ] && [ "$before" -lt 120 ]
	digests whole >first
	digests halves >second
	diff first second
	{ cat halves.truth.csv && tail -n +2 second.csv; } | cmp - whole.truth.csv
}

gives_each_body_its_own_card_of_the_same_match() {
	"$demo_card" --out both --seed 7 --frames 80 --size 48x32 --plain
	for body in A B; do
		"$demo_card" --out "of$body" --seed 7 --frames 40 --size 48x32 --plain --bodies "$body"
		[ "$(column body "of$body.truth.csv" | sort -u)" = "$body" ]
		column time_ns "of$body.truth.csv" >own
		awk -F, -v body="$body" '$3 == body { print $5 }' both.truth.csv | diff - own
	done
}

# Fewer bytes for the same part at the same quality is less detail (common practice, no source). The part is the player's, in the middle:
# the crowd is sharper when the player is not.
loses_detail_where_the_truth_says_the_focus_is_lost() {
	"$demo_card" --out focus --seed 7 --frames 240 --size 480x320 --plain
	awk -F, 'NR > 1 && $11 > 0 { split($1, files, ";"); print $14, "focus/" files[1] }' focus.truth.csv | sort -n |
		while read -r score file; do
			echo "$score $(djpeg -crop 96x128+192+144 "$file" | cjpeg -quality 87 | wc -c)"
		done >scored
	soft=$(head -n 40 scored | awk '{ sum += $2 } END { print sum }')
	sharp=$(tail -n 40 scored | awk '{ sum += $2 } END { print sum }')
	[ "$sharp" -gt $((soft * 12 / 10)) ]
}

refuses_what_makes_no_sense() {
	for line in "" "--out x --frames 0" "--out x --frames -1" "--out x --size 10x" "--out x --bodies C" "--out x --clock-resolution-ms 7" \
		"--out x --cadence 1e3" "--out x --cadence" "--out x --wish"; do
		# shellcheck disable=SC2086 # a list of words
		"$demo_card" $line && status=0 || status=$?
		[ "$status" = 2 ]
	done
	[ ! -e x ]
	tap_fails "$demo_card" --out x --date 2026-02-30
}

"$demo_card" --out card --seed 7 --frames 240 --size 240x160 --raw-every 40
for case in has_the_frames_asked_for_and_the_files_the_truth_names is_the_same_to_the_byte_for_the_same_seed \
	is_another_match_for_another_seed opens_in_any_decoder is_read_by_exiftool_as_the_truth_has_it is_valid_to_exiftool \
	has_a_thumbnail_that_opens gives_raw_twins_the_same_facts_and_a_preview_that_opens \
	holds_the_cadence_it_tells_until_the_buffer_is_full falls_to_the_drain_rate_for_three_seconds_and_more \
	never_stalls_without_an_end_to_the_buffer drops_frames_within_bursts keeps_plays_apart_and_the_bursts_of_a_play_together \
	writes_as_many_digits_as_the_clock_has rolls_over_into_a_new_folder sets_file_times_to_the_moment_of_capture \
	pads_to_the_byte_and_stays_a_picture carries_memos_a_clip_and_what_else_cards_hold holds_pictures_in_the_clip \
	protects_the_files_it_says makes_the_whole_card_of_two_halves gives_each_body_its_own_card_of_the_same_match \
	loses_detail_where_the_truth_says_the_focus_is_lost refuses_what_makes_no_sense; do
	tap "$case"
done
tap_done
