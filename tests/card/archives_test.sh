#!/bin/sh
# SPDX-License-Identifier: ISC
# Archives made by others are read byte for byte, and others read the same in them: GNU tar, bsdtar (libarchive, which we read with too:
# a witness of names and formats only), Info-ZIP's zip and unzip, genisoimage and isoinfo (cdrkit).
set -eu
tool=$HEADRACE_BUILD/tests/card/card_tool
. "$HEADRACE_SOURCE/tests/support/tap.sh"
work=$(mktemp -d "$HEADRACE_BUILD/archives-XXXXXX")
trap 'rm -rf "$work"' EXIT
cd "$work"

mkdir -p card/DCIM/100NMERE card/DCIM/101NMERE card/MISC
awk 'BEGIN { for (i = 0; i < 120000; i++) printf "%d half-time at Northmere\n", i * 7919 }' >card/DCIM/100NMERE/NMA_0001.JPG
head -c 1048576 card/DCIM/100NMERE/NMA_0001.JPG >card/DCIM/100NMERE/NMA_0001.DNG
head -c 1048577 card/DCIM/100NMERE/NMA_0001.JPG >card/DCIM/100NMERE/NMA_0002.JPG
: >card/MISC/EMPTY.TXT
echo protected >card/DCIM/101NMERE/NMA_0003.JPG
find card -type f -exec touch -d '2026-05-17 15:04:04 UTC' {} +
chmod 444 card/DCIM/101NMERE/NMA_0003.JPG

# The same and names of all kinds: UTF-8 composed and not, ISO 8859-1, a line break, percent, quotes, 255 bytes, a path of 700.
long=$(printf '%0200d' 0)
cp -a card odd
mkdir -p "odd/$long/$long/$long"
for name in "$(printf 'caf\303\251.JPG')" "$(printf 'cafe\314\201-2.JPG')" "$(printf 'caf\351-3.JPG')" "$(printf 'two\nlines.JPG')" '100%41.JPG' \
	"it's \"the\" final.JPG" '-rf' 'back\slash' "$(printf '%0251d' 0).JPG" "$long/$long/$long/deep.JPG"; do
	echo "$name" >"odd/$name"
done
find odd -type f -exec touch -d '2026-05-17 15:04:04 UTC' {} +

# copied ARCHIVE: reads it twice into a new folder, "out".
copied() {
	rm -rf out
	mkdir out
	"$tool" copy "$1" out
}
# same_as FOLDER: "out" holds its files with their bytes and times; empty folders are nobody's files.
same_as() {
	(cd "$1" && find . -type f -printf '%s %T@ %p\0' | sort -z) >left
	(cd out && find . -type f -printf '%s %T@ %p\0' | sort -z) >right
	cmp left right
	diff -r "$1" out
}
# protected ARCHIVE: the paths that are.
protected() {
	"$tool" list "$1" | sed -n 's/^file [0-9]* [0-9.]* protected //p'
}
no_skips() {
	"$tool" list "$1" >listed
	tap_fails grep '^skip' listed
}

tars_of_gnu_tar_are_read_in_each_format() {
	for format in v7 oldgnu gnu ustar posix; do
		from=odd
		case $format in v7 | ustar) from=card ;; esac # the names are too long for these
		tar -C $from --format=$format -cf $format.tar .
		no_skips $format.tar
		copied $format.tar
		same_as $from
		protected $format.tar | grep -qx DCIM/101NMERE/NMA_0003.JPG
	done
}

tars_of_bsdtar_are_read_in_each_format() {
	for format in gnutar pax; do
		LC_ALL=C.UTF-8 bsdtar -C odd --format $format -cf bsd-$format.tar .
		no_skips bsd-$format.tar
		copied bsd-$format.tar
		same_as odd
	done
	bsdtar -C card --format ustar -cf bsd-ustar.tar DCIM MISC
	copied bsd-ustar.tar
	same_as card
}

holes_of_a_sparse_tar_are_filled() {
	mkdir -p sparse
	printf head >sparse/N1.MOV
	truncate -s 5000000 sparse/N1.MOV
	printf tail | dd of=sparse/N1.MOV bs=1 seek=3000000 conv=notrunc 2>/dev/null
	truncate -s 4000000 sparse/N2.MOV
	touch -d '2026-05-17 15:04:04 UTC' sparse/*
	for format in gnu posix; do
		tar -C sparse -S --format=$format -cf sparse-$format.tar .
		[ "$(stat -c %s sparse-$format.tar)" -lt 1000000 ]
		no_skips sparse-$format.tar
		copied sparse-$format.tar
		same_as sparse
	done
}

a_hard_link_in_a_tar_makes_its_name_unreadable() {
	mkdir -p hard
	echo x >hard/N1.JPG
	ln hard/N1.JPG hard/N2.JPG
	ln -s N1.JPG hard/N3.JPG
	tar -C hard --sort=name -cf hard.tar .
	"$tool" list hard.tar | sed 's/^file [^/]* /file /' | sort >listed
	printf '%s\n' 'file N1.JPG' 'skip a link, not followed, ok: N3.JPG' 'skip cannot be read, unsupported: N2.JPG' | cmp - listed
}

zips_of_info_zip_are_read_stored_deflated_and_streamed() {
	cp -a odd zipped
	rm 'zipped/back\slash' # libarchive takes it for the separator of DOS, whatever system the zip names
	(cd zipped && zip -qr ../deflated.zip . && zip -qr0 ../stored.zip . && zip -qr - . | cat >../streamed.zip && zip -qr -fz ../large.zip .)
	for name in deflated stored streamed large; do
		no_skips $name.zip
		copied $name.zip
		same_as zipped
		protected $name.zip | grep -qx DCIM/101NMERE/NMA_0003.JPG
		rm -rf witness
		mkdir witness
		unzip -q^ -d witness $name.zip # names of any bytes
		diff -r witness out
	done
}

zips_of_bsdtar_are_read() {
	for how in deflate store; do
		bsdtar -C card --format zip --options zip:compression=$how -cf bsd-$how.zip .
		unzip -tq bsd-$how.zip
		no_skips bsd-$how.zip
		copied bsd-$how.zip
		same_as card
	done
}

names_a_zip_says_are_unicode_come_composed() {
	mkdir -p unicode
	echo x >"unicode/$(printf 'cafe\314\201.JPG')"
	(cd unicode && LC_ALL=C.UTF-8 bsdtar --format zip --options zip:hdrcharset=UTF-8 -cf ../unicode.zip .)
	copied unicode.zip
	[ -f "out/$(printf 'caf\303\251.JPG')" ]
}

what_is_encrypted_in_a_zip_is_not_carried() {
	(cd card && zip -qP half-time ../encrypted.zip MISC/EMPTY.TXT DCIM/101NMERE/NMA_0003.JPG && zip -q ../encrypted.zip DCIM/100NMERE/NMA_0001.JPG)
	"$tool" list encrypted.zip >listed
	grep -qx 'skip cannot be read, unsupported: DCIM/101NMERE/NMA_0003.JPG' listed
	copied encrypted.zip
	cmp card/DCIM/100NMERE/NMA_0001.JPG out/DCIM/100NMERE/NMA_0001.JPG
}

a_zip_that_fails_its_check_sum_says_so_and_gives_the_rest() {
	(cd card && zip -qr0 ../torn.zip DCIM)
	at=$(grep -abo '4000 half-time' torn.zip | head -n 1 | cut -d: -f1)
	printf X | dd of=torn.zip bs=1 seek="$at" conv=notrunc 2>/dev/null
	tap_fails unzip -tq torn.zip
	rm -rf out
	mkdir out
	tap_fails "$tool" copy torn.zip out 2>said
	grep -q 'differs: torn.zip: the archive is damaged: ZIP bad CRC' said
	cmp card/DCIM/101NMERE/NMA_0003.JPG out/DCIM/101NMERE/NMA_0003.JPG
}

# Rock Ridge keeps names as they are; Joliet is Unicode; without either there are eight and three characters.
images_of_genisoimage_are_read_with_each_extension() {
	genisoimage -quiet -R -o rock.iso card
	genisoimage -quiet -J -input-charset utf-8 -o joliet.iso card
	genisoimage -quiet -R -J -input-charset utf-8 -o both.iso card
	genisoimage -quiet -o plain.iso card
	for name in rock joliet both plain; do
		no_skips $name.iso
		copied $name.iso
		same_as card
		[ -z "$(protected $name.iso)" ]
	done
	for path in DCIM/100NMERE/NMA_0001.JPG DCIM/100NMERE/NMA_0001.DNG DCIM/101NMERE/NMA_0003.JPG; do
		isoinfo -R -i rock.iso -x /$path | cmp - out/$path
		isoinfo -J -i joliet.iso -x /$path | cmp - out/$path
		isoinfo -i plain.iso -x "/$path;1" | cmp - out/$path
	done
}

names_of_an_image_are_kept_and_those_of_joliet_composed() {
	mkdir -p image
	for name in "$(printf 'caf\303\251.JPG')" "$(printf 'cafe\314\201-2.JPG')" "it's the final, 100%.JPG"; do
		echo "$name" >"image/$name"
	done
	find image -type f -exec touch -d '2026-05-17 15:04:04 UTC' {} +
	genisoimage -quiet -R -input-charset utf-8 -output-charset utf-8 -o names-rock.iso image
	copied names-rock.iso
	same_as image
	genisoimage -quiet -J -input-charset utf-8 -o names-joliet.iso image
	copied names-joliet.iso
	cmp "image/$(printf 'cafe\314\201-2.JPG')" "out/$(printf 'caf\303\251-2.JPG')"
}

a_folder_as_deep_as_rock_ridge_moves_away_is_found_in_its_place() {
	mkdir -p deep/1/2/3/4/5/6/7/8/9/10
	echo x >deep/1/2/3/4/5/6/7/8/9/10/N1.JPG
	touch -d '2026-05-17 15:04:04 UTC' deep/1/2/3/4/5/6/7/8/9/10/N1.JPG
	genisoimage -quiet -R -o deep.iso deep
	no_skips deep.iso
	copied deep.iso
	same_as deep
}

# Nothing says that their content is right: libarchive leaves the check sum of a gzip stream alone.
archives_compressed_as_a_whole_are_refused() {
	tar -C card -cf plain.tar .
	gzip -k plain.tar
	xz -k plain.tar
	for name in plain.tar.gz plain.tar.xz; do
		tap_fails "$tool" list $name 2>said
		grep -q "unsupported: $name: neither a folder nor a whole archive" said
	done
}

empty_archives_are_no_cards() {
	mkdir -p empty
	tar -cf empty.tar -T /dev/null
	bsdtar --format zip -cf empty.zip -T /dev/null
	for name in empty.tar empty.zip; do
		tap_fails "$tool" list $name
	done
	genisoimage -quiet -R -o empty.iso empty
	"$tool" list empty.iso | cmp - /dev/null
}

# What the writers of the hostile archives make when they do not lie.
our_own_archives_are_right_by_others() {
	mkdir -p sample
	"$HEADRACE_BUILD/tests/card/sample_archives" sample
	for kind in tar zip iso; do
		no_skips sample/sample.$kind || [ $kind = tar ] # a link
		copied sample/sample.$kind
		rm -rf witness
		mkdir witness
		case $kind in
		tar) tar -C witness -xf sample/sample.tar && rm witness/DCIM/link ;;
		zip) unzip -tq sample/sample.zip && unzip -qd witness sample/sample.zip ;;
		iso)
			mkdir witness/DCIM
			for number in 1 2 3; do
				isoinfo -i sample/sample.iso -x "/DCIM/N000$number.JPG;1" >witness/DCIM/N000$number.JPG
			done ;;
		esac
		[ "$(find out -type f | wc -l)" = 3 ]
		diff -r witness out
	done
}

tap tars_of_gnu_tar_are_read_in_each_format
tap tars_of_bsdtar_are_read_in_each_format
tap holes_of_a_sparse_tar_are_filled
tap a_hard_link_in_a_tar_makes_its_name_unreadable
tap zips_of_info_zip_are_read_stored_deflated_and_streamed
tap zips_of_bsdtar_are_read
tap names_a_zip_says_are_unicode_come_composed
tap what_is_encrypted_in_a_zip_is_not_carried
tap a_zip_that_fails_its_check_sum_says_so_and_gives_the_rest
tap images_of_genisoimage_are_read_with_each_extension
tap names_of_an_image_are_kept_and_those_of_joliet_composed
tap a_folder_as_deep_as_rock_ridge_moves_away_is_found_in_its_place
tap archives_compressed_as_a_whole_are_refused
tap empty_archives_are_no_cards
tap our_own_archives_are_right_by_others
tap_done
