#!/bin/sh
# SPDX-License-Identifier: ISC
# How far off forecasts are, on emulated cards and drives. Needs root, the blkio controller of cgroup v1, FUSE, and 8 GB of free memory,
# 18 GB for runs of 20 s.
#
#   forecast.sh [--seconds N] [--runs N] [CASE...]      runs of about N seconds (6), N of each case (4); CASE: CARD-PLACES-FILES, as 200-two-small
#
# 24 cases: a card of 80, 200 or 400 MB/s; to one place of 150 MB/s in all (shared), to one that writes 120 and reads 200 apart, to two of
# 100/150 and 300/400 apart, to one of 60 in all and one of 250/400 apart; files of 20 MB or of 200 kB. Of each case: `headrace measure`, a
# forecast, a run; more runs, each behind a forecast; and a run by a deadline of 0.6 of what the last took. Beside the forecasts stand three
# plain ones: by the rate of the last run, by the mean rate of all runs so far, and by the lowest set rate of any device.
set -eu
source=$(cd "$(dirname "$0")/../.." && pwd)
build=${HEADRACE_BUILD:-$source/build/release}
HEADRACE_MEDIUM=$build/tests/support/medium
. "$source/tests/support/media.sh"
. "$source/tests/bench/measure.sh"
headrace=${HEADRACE:-$build/src/cli/headrace}
seconds=6 runs=4 wanted=
while [ $# -gt 0 ]; do
	case $1 in
	--seconds)
		seconds=$2
		shift
		;;
	--runs)
		runs=$2
		shift
		;;
	-*)
		sed -n '3,11s/^# \{0,1\}//p' "$0" >&2
		exit 2
		;;
	*) wanted="$wanted $1" ;;
	esac
	shift
done
reason=$(media_can throttle drive) || {
	echo "cannot measure here: $reason" >&2
	exit 1
}
in_memory=${TMPDIR:-/var/tmp}/headrace-bench-forecast
mkdir -p "$in_memory"
mount -t tmpfs -o "size=$((4 + seconds * 7 / 10))g" tmpfs "$in_memory"
media_begin "$in_memory/media"
trap 'media_end; status=$?; umount "$in_memory" && rmdir "$in_memory"; exit "$status"' EXIT
table=$results/forecast.csv
echo "case,mb,run,real_s,low_s,mid_s,high_s,error,last_error,mean_error,ceiling_error,at_quarter_error" >"$table"
deadlines=$results/deadline.csv
echo "case,deadline_s,took_s,unused" >"$deadlines"

# ---- Devices ----

# shared NAME MB RATE; apart NAME MB WRITE READ
shared() {
	media_drive "$1" "$2" "$3"
}
apart() {
	media_ext4 "$1" "$2"
	fallocate -l "${2}000000" "$media_folder/$1.img" # memory is slow when it is first touched
	media_throttle "$1" "$4" "$3"
}

# places KIND MB: makes them; `places` are their options, `lowest` the lowest set rate. rate_of KIND: MB/s that they verify.
rate_of() {
	case $1 in
	shared) echo 75 ;;
	apart) echo 120 ;;
	two) echo 100 ;;
	uneven) echo 30 ;;
	esac
}
make_places() {
	case $1 in
	shared) shared a "$2" 150 && lowest=150 ;;
	apart) apart a "$2" 120 200 && lowest=120 ;;
	two) apart a "$2" 100 150 && apart b "$2" 300 400 && lowest=100 ;;
	uneven) shared a "$2" 60 && apart b "$2" 250 400 && lowest=60 ;;
	esac
	places="--to $media_folder/a"
	[ ! -d "$media_folder/b" ] || places="$places --to $media_folder/b"
}

# fill_card MB KIND
fill_card() {
	mkdir -p "$media_folder/card/DCIM/100NMERE"
	openssl enc -aes-128-ctr -pass pass:northmere -nosalt -in /dev/zero 2>/dev/null |
		if [ "$2" = large ]; then files "$media_folder/card/DCIM/100NMERE" $(($1 / 20)) 20000000 1 DNG; else files "$media_folder/card/DCIM/100NMERE" $(($1 * 5)) 200000 1 JPG; fi
	media_drop card
}

# ---- Runs ----

ask() {
	XDG_STATE_HOME=$media_folder/state "$headrace" "$@" 2>/dev/null
}

# number KEY < one JSON document: the first number of that key
number() {
	sed -nE "s/.*\"$1\": ?([0-9.]+).*/\1/p" | head -n 1
}

clear_places() {
	for place in a b; do [ ! -d "$media_folder/$place" ] || rm -rf "$media_folder/$place"/*; done
	forget
	for name in card a b; do [ ! -f "$media_folder/$name.loop" ] || blockdev --flushbufs "$(media_loop "$name")"; done
}

# foresee: low, mid and high of verified_s
foresee() {
	ask forecast "$media_folder/card" $places --json | sed -n '/"verified_s": {/,/}/p' >"$media_folder/foreseen"
	low=$(number low <"$media_folder/foreseen") mid=$(number mid <"$media_folder/foreseen") high=$(number high <"$media_folder/foreseen")
}

# copy: seconds in `real`; in `quarter` the end that was expected at a quarter of them
copy() {
	clear_places
	ask offload "$media_folder/card" $places --json-lines --progress none >"$media_folder/events" || return 1
	real=$(tail -n 1 "$media_folder/events" | sed -nE 's/.*"elapsed_ns":([0-9]+),"copied.*/\1/p')
	quarter=$(sed -nE 's/.*"event":"progress","elapsed_ns":([0-9]+),.*"left_low_ns":([0-9]+),"left_high_ns":([0-9]+).*/\1 \2 \3/p' \
		"$media_folder/events" | awk -v real="$real" '$1 >= real / 4 { print ($1 + ($2 + $3) / 2) / 1e9; exit }')
	real=$(awk -v ns="$real" 'BEGIN { print ns / 1e9 }')
}

# note RUN: a line of the table, and the rate of this run for the plain forecasters that follow
note() {
	touch "$media_folder/rates"
	awk -v name="$case" -v mb="$mb" -v run="$1" -v real="$real" -v low="$low" -v mid="$mid" -v high="$high" -v quarter="${quarter:-0}" \
		-v lowest="$lowest" '
		{ last = $1; sum += $1 }
		function off(seconds) { return seconds > 0 ? sprintf("%.4f", seconds / real - 1) : "" }
		END { printf "%s,%s,%s,%.3f,%s,%s,%s,%s,%s,%s,%s,%s\n", name, mb, run, real, low, mid, high, off(mid), NR ? off(mb / last) : "",
			NR ? off(mb / (sum / NR)) : "", off(mb / lowest), off(quarter) }' "$media_folder/rates" | tee -a "$table"
	awk -v mb="$mb" -v real="$real" 'BEGIN { print mb / real }' >>"$media_folder/rates"
}

by_deadline() {
	clear_places
	deadline=$(awk -v real="$real" 'BEGIN { printf "%.2f", 0.6 * real }')
	began=$(date +%s.%N)
	status=0
	ask offload "$media_folder/card" $places --by "${deadline}s" --quiet >/dev/null || status=$?
	awk -v name="$case" -v d="$deadline" -v a="$began" -v b="$(date +%s.%N)" -v status="$status" 'BEGIN {
		printf "%s,%s,%.3f,%s\n", name, d, b - a, status == 3 ? sprintf("%.4f", 1 - (b - a) / d) : "status " status }' | tee -a "$deadlines"
}

# A program with a view of mounts of its own may hold a device a while longer.
take_out() {
	for volume in "$@"; do
		[ -f "$media_folder/$volume.loop" ] || continue
		for try in 1 2 3 4 5; do media_take_out "$volume" 2>/dev/null && break || sleep 2; done
		media_forget_image "$volume"
		rm -f "$media_folder/$volume.loop"
		rmdir "$media_folder/$volume"
	done
}

# one CARD PLACES FILES
one() {
	case=$1-$2-$3
	[ -z "$wanted" ] || case " $wanted " in *" $case "*) ;; *) return 0 ;; esac
	rate=$(rate_of "$2")
	[ "$rate" -lt "$1" ] || rate=$1
	mb=$((rate * seconds / 20 * 20))
	rm -rf "$media_folder/state"
	apart card $((mb + 200)) 0 "$1"
	make_places "$2" $((mb * 2 + 1500))
	[ "$lowest" -lt "$1" ] || lowest=$1
	fill_card "$mb" "$3"
	ask measure "$media_folder/card" $(echo "$places" | sed 's/--to //g') --seconds 2 >/dev/null
	for run in $(seq "$runs"); do
		clear_places
		foresee
		copy
		note "$run"
	done
	by_deadline
	take_out card a b
}

for card in 80 200 400; do
	for kind in shared apart two uneven; do
		for size in large small; do one "$card" "$kind" "$size"; done
	done
done
