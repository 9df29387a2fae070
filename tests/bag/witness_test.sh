#!/bin/sh
# SPDX-License-Identifier: ISC
# Others look at our bags: sha256sum and xxhsum by their own manifests, and a second reading of the whole standard. Each must
# accept the bag as made and refuse it after one bit, one byte, one name or one file.
set -eu
here=$HEADRACE_SOURCE/tests/bag
tool=$HEADRACE_BUILD/tests/bag/bag_tool
. "$HEADRACE_SOURCE/tests/support/tap.sh"
scratch=$(mktemp -d "$HEADRACE_BUILD/witness-XXXXXX")
trap 'rm -rf "$scratch"' EXIT

mkdir -p "$scratch/card/DCIM/100NORTH" "$scratch/card/MISC"
awk 'BEGIN { for (i = 0; i < 400000; i++) printf "%d half-time at Northmere\n", i }' >"$scratch/card/DCIM/100NORTH/NM_A0001.JPG"
echo 'raw twin' >"$scratch/card/DCIM/100NORTH/NM_A0001.DNG"
echo 'named with care' >"$scratch/card/MISC/it's \"the\" final, 2nd half.txt"
: >"$scratch/card/MISC/empty"
victim=data/DCIM/100NORTH/NM_A0001.JPG

new_bag() {
	rm -rf "$scratch/place"
	mkdir "$scratch/place"
	bag=$("$tool" make "$scratch/place" "$scratch/card" "${1:-sha256}")
}
by_sha256sum() { (cd "$bag" && sha256sum -c --quiet manifest-sha256.txt); }
by_xxhsum() { (cd "$bag" && xxhsum -c --quiet manifest-xxh128.txt); }
by_second_reading() { sh "$here/second_reading.sh" "$bag"; }
by_verify() { "$tool" verify "$bag"; }

flip_a_bit() {
	tap_flip "$bag/$victim" 7
}
cut_a_byte() { truncate -s -1 "$bag/$victim"; }
rename_a_file() { mv "$bag/$victim" "$bag/$victim.other"; }
remove_a_file() { rm "$bag/$victim"; }

# One by one, so that each witness stands by itself.
accepts_then_refuses() {
	new_bag
	"$1"
	for damage in flip_a_bit cut_a_byte rename_a_file remove_a_file; do
		new_bag
		$damage
		tap_fails "$1"
	done
}

sha256sum_accepts_the_bag_and_refuses_it_damaged() { accepts_then_refuses by_sha256sum; }
xxhsum_accepts_the_bag_and_refuses_it_damaged() { accepts_then_refuses by_xxhsum; }
a_second_reading_of_the_standard_accepts_it_and_refuses_it_damaged() { accepts_then_refuses by_second_reading; }
verify_accepts_it_and_refuses_it_damaged() { accepts_then_refuses by_verify; }

a_bag_without_sha256_is_a_bag_too() {
	new_bag xxh128
	[ ! -e "$bag/manifest-sha256.txt" ]
	grep -qx 'Payload-Digests: xxh128' "$bag/bag-info.txt"
	by_xxhsum
	by_second_reading
	by_verify
	flip_a_bit
	tap_fails by_second_reading
	tap_fails by_verify
}

both_readings_see_a_file_nobody_listed() {
	new_bag
	echo more >"$bag/data/more.txt"
	tap_fails by_second_reading
	tap_fails by_verify
}

both_readings_see_a_changed_tag_file() {
	for name in bag-info.txt files.csv frames.csv throughput.csv; do
		new_bag
		echo x >>"$bag/$name"
		tap_fails by_second_reading
		tap_fails by_verify
	done
}

files_csv_agrees_with_the_manifests() {
	new_bag
	# Columns path, size_bytes, modified_ns, xxh128, sha256: read by the number of the column from the end, for names hold commas.
	sed 1d "$bag/files.csv" | awk -F, '{ print $(NF - 4) }' | sort >"$scratch/xxh128"
	sed 1d "$bag/files.csv" | awk -F, '{ print $(NF - 3) }' | sort >"$scratch/sha256"
	sed 's/ .*//' "$bag/manifest-xxh128.txt" | sort | cmp - "$scratch/xxh128"
	sed 's/ .*//' "$bag/manifest-sha256.txt" | sort | cmp - "$scratch/sha256"
}

tap sha256sum_accepts_the_bag_and_refuses_it_damaged
tap xxhsum_accepts_the_bag_and_refuses_it_damaged
tap a_second_reading_of_the_standard_accepts_it_and_refuses_it_damaged
tap verify_accepts_it_and_refuses_it_damaged
tap a_bag_without_sha256_is_a_bag_too
tap both_readings_see_a_file_nobody_listed
tap both_readings_see_a_changed_tag_file
tap files_csv_agrees_with_the_manifests
tap_done
