#!/bin/sh
# SPDX-License-Identifier: ISC
# The main job at the devices' speed: this program beside the plain ways, and beside the bound, on emulated cards and drives. Needs root,
# the blkio controller of cgroup v1, FUSE, 14 GB of free memory, and fio.
#
#   offload.sh [--runs N] [--ours] [--quick] [CASE...]      medians of N runs (3); --ours leaves the plain ways out; --quick: a tenth
#
# The bound of a run is, over all devices, the bytes through that device over its speed, read-back included. The plain way (naive): cp -r
# to each place, sync, drop caches, hash the card and each copy, compare. The parallel plain way (par): both cp at once, all hashes at
# once. The one disk of this machine has no set speed: mixed files on it stand beside fio, which moves the same bytes (bare) and does nothing else.
# Every case runs the same build with the same settings. The card gives 200 MB/s. "600/450 shared": each drive reads and writes out
# of one budget, as most real ones do; "300/150 apart": reads and writes have a limit each.
set -eu
source=$(cd "$(dirname "$0")/../.." && pwd)
build=${HEADRACE_BUILD:-$source/build/release}
HEADRACE_MEDIUM=$build/tests/support/medium
. "$source/tests/support/media.sh"
. "$source/tests/bench/measure.sh"
headrace=${HEADRACE:-$build/src/cli/headrace}
runs=3 part=1 ways="naive par" wanted= second= keeps=no bare= known=
while [ $# -gt 0 ]; do
	case $1 in
	--runs)
		runs=$2
		shift
		;;
	--ours) ways= ;;
	--quick) part=10 ;;
	-*)
		sed -n '3,13s/^# \{0,1\}//p' "$0" >&2
		exit 2
		;;
	*) wanted="$wanted $1" ;;
	esac
	shift
done
reason=$(media_can throttle drive exfat) || {
	echo "cannot measure here: $reason" >&2
	exit 1
}
# The emulated devices are in memory, so that they are as fast as they are set to be, whatever the disk of this machine does.
on_disk=${TMPDIR:-/var/tmp}/headrace-bench
in_memory=$on_disk-memory
mkdir -p "$in_memory"
mount -t tmpfs -o size=100% tmpfs "$in_memory"
warm_memory "$in_memory"
media_begin "$in_memory/media"
trap 'media_end; status=$?; umount "$in_memory" && rmdir "$in_memory"; exit "$status"' EXIT
[ -f "$results/offload.csv" ] || echo "case,ours_s,bound_s,naive_s,par_s,card_free_s,peak_mb,cpu_s_per_gb,bare_s" >"$results/offload.csv"

# ---- Cards ----

card_bytes() {
	find "$1/DCIM" ${second:+"$second/DCIM"} -type f -printf '%s\n' | awk '{ sum += $1 } END { printf "%.0f\n", sum }'
}

# ---- Ways ----

ours() {
	XDG_STATE_HOME=$media_folder/state /usr/bin/time -f '%e %M %U %S' -o "$media_folder/usage" \
		"$headrace" offload "$1" ${second:+"$second"} --to "$2" --to "$3" --job bench --same-device --digest "$digest" --json-lines --quiet \
		>"$media_folder/events" 2>/dev/null || [ $? = 1 ]
}

is_all_done() {
	tail -n 1 "$media_folder/events" | grep -q '"all_done":true' || {
		echo "not all was done: $(tail -n 1 "$media_folder/events")" >&2
		exit 1
	}
}

hashes() {
	(cd "$1" && find . -type f | sort | xargs -d '\n' $hash 2>/dev/null)
}

naive_card() {
	for place in "$2" "$3"; do cp -r "$1/DCIM" "$place/"; done
	forget
	hashes "$1/DCIM" >"$media_folder/card.sums"
	for place in "$2" "$3"; do hashes "$place/DCIM" | cmp - "$media_folder/card.sums"; done
}

par_card() {
	cp -r "$1/DCIM" "$2/" & cp -r "$1/DCIM" "$3/" & wait
	forget
	hashes "$1/DCIM" >"$media_folder/card.sums" & hashes "$2/DCIM" >"$media_folder/a.sums" & hashes "$3/DCIM" >"$media_folder/b.sums" &
	wait
	cmp "$media_folder/card.sums" "$media_folder/a.sums"
	cmp "$media_folder/card.sums" "$media_folder/b.sums"
}

# each WAY CARD PLACE PLACE: of two cards the plain ways take one after the other, each into folders of its own
each() {
	"${1}_card" "$2" "$3" "$4"
	[ -n "$second" ] || return 0
	mkdir "$3/second" "$4/second"
	"${1}_card" "$second" "$3/second" "$4/second"
}

naive() {
	each naive "$@"
}

par() {
	each par "$@"
}

# bare CARD PLACE PLACE: the card's bytes read three times and written twice, with large direct requests, both at once. fio says itself how
# long it took, so that its start and the files it lays out first are not counted.
bare() {
	bytes=$(card_bytes "$1")
	set -- "$2" --bs=1M --direct=1 --ioengine=libaio --iodepth=4 --size="$bytes" --output-format=terse --terse-version=3
	fio --directory="$@" --name=read --rw=read --io_size=$((3 * bytes)) --name=write --rw=write --nrfiles=2 --size=$((2 * bytes)) >"$media_folder/fio"
	took=$(awk -F';' '{ ms = $9 + $50; worst = ms > worst ? ms : worst } END { print worst / 1000 }' "$media_folder/fio")
}

now() {
	date +%s.%N
}

# fresh PLACE: prints the path of a place that nothing was ever in (see media_renew): of a folder, a folder in it. What was copied before is
# deleted to make room, but for small files, which take little and leave many inodes.
fresh() {
	if [ -f "$1.loop" ]; then
		media_renew "$(basename "$1")"
		echo "$1"
	else
		[ "$keeps" = yes ] || rm -rf "$1"/*
		mktemp -d "$1/XXXXXX"
	fi
}

# run WAY CARD PLACE PLACE: a line of figures in $media_folder/WAY: seconds, and for ours also card free at, peak MB, processor s.
run() {
	way=$1
	shift
	place_a=$(fresh "$2")
	place_b=$(fresh "$3")
	rm -rf "$media_folder/state"
	forget
	for program in "$headrace" cp find sort xargs cmp tail grep ${hash%% *}; do "$program" --version >/dev/null 2>&1; done
	began=$(now) took=
	$way "$1" "$place_a" "$place_b"
	took=${took:-$(awk -v a="$began" -v b="$(now)" 'BEGIN { printf "%.3f", b - a }')}
	if [ "$way" = ours ]; then
		is_all_done
		free=$(sed -n 's/.*"card_free","elapsed_ns":\([0-9]*\).*/\1/p' "$media_folder/events" | head -n 1)
		awk -v t="$took" -v f="${free:-0}" '{ print $1, f / 1e9, $2 / 1000, $3 + $4 }' "$media_folder/usage"
	else
		echo "$took"
	fi >>"$media_folder/$way.figures"
}

# measure NAME BOUND CARD PLACE PLACE: bound 0 where there is none that is known. A virtual machine's memory is slow when it is first touched,
# that of an emulated drive too: one run goes before that is not counted.
measure() {
	name=$1 bound=$2
	shift 2
	run ours "$@"
	rm -f "$media_folder"/*.figures
	for i in $(seq "$runs"); do for w in ours $bare $ways; do run "$w" "$@"; done; done
	figures=$media_folder/ours.figures
	awk -v name="$name" -v ours="$(median "$figures" 1)" -v bound="$bound" -v free="$(median "$figures" 2)" -v peak="$(median "$figures" 3)" \
		-v cpu="$(median "$figures" 4)" -v bytes="$(card_bytes "$1")" -v csv="$results/offload.csv" \
		-v bare="$(median "$media_folder/bare.figures" 1)" -v naive="$(median "$media_folder/naive.figures" 1)" -v par="$(median "$media_folder/par.figures" 1)" 'BEGIN {
		printf "%-34s ours %7.2f s", name, ours
		if (bound > 0) printf "  %.3f of bound %.2f", ours / bound, bound
		if (bare > 0) printf "  %.2f of bare %.2f", ours / bare, bare
		if (naive > 0) printf "  %.2f of naive %.2f", ours / naive, naive
		if (par > 0) printf "  %.2f of par %.2f", ours / par, par
		cpu = cpu / (bytes / 1e9)
		printf "  card free %.2f s  peak %.0f MB  cpu %.2f s/GB\n", free, peak, cpu
		printf "%s,%s,%s,%s,%s,%s,%s,%.3f,%s\n", name, ours, bound, naive, par, free, peak, cpu, bare + 0 >>csv
	}'
}

# bound CARD RATE-A RATE-B TIMES: seconds; each place passes its bytes TIMES times through one budget (2: shared, 1: apart)
bound() {
	awk -v n="$(card_bytes "$1")" -v a="$2" -v b="$3" -v t="$4" 'BEGIN {
		worst = n / 200e6
		if (t * n / (a * 1e6) > worst) worst = t * n / (a * 1e6)
		if (t * n / (b * 1e6) > worst) worst = t * n / (b * 1e6)
		printf "%.3f\n", worst
	}'
}

# ---- Cases ----

# is_wanted CASE
is_wanted() {
	known="$known $1"
	[ -z "$wanted" ] || case " $wanted " in *" $1 "*) true ;; *) false ;; esac
}

room=$((3400 / part + 200))

# card KIND SET
card() {
	"media_$1" card "$room"
	fill "$media_folder/card" "$2"
	media_throttle card 200 200
}

take_out() {
	for volume in "$@"; do
		media_take_out "$volume"
		media_forget_image "$volume"
	done
}

# shared CASE SET RATE-A RATE-B [SEEK_MS]
shared() {
	is_wanted "$1" || return 0
	card ext4 "$2"
	media_drive a "$room" "$3" ${5:-}
	media_drive b "$room" "$4" ${5:-}
	measure "$1" "$(bound "$media_folder/card" "$3" "$4" 2)" "$media_folder/card" "$media_folder/a" "$media_folder/b"
	take_out card a b
}

# two_cards CASE RATE-A RATE-B: on links of their own; each has half of the mixed files and gives half of 200 MB/s
two_cards() {
	is_wanted "$1" || return 0
	for name in card second; do
		media_ext4 "$name" "$room"
		fill "$media_folder/$name" half
		media_throttle "$name" 100 100
	done
	second=$media_folder/second
	media_drive a "$room" "$2"
	media_drive b "$room" "$3"
	measure "$1" "$(bound "$media_folder/card" "$2" "$3" 2)" "$media_folder/card" "$media_folder/a" "$media_folder/b"
	second=
	take_out card second a b
}

# apart CASE SET CARD-KIND RATE-A RATE-B
apart() {
	is_wanted "$1" || return 0
	card "$3" "$2"
	media_ext4 a "$room"
	media_ext4 b "$room"
	for place in a b; do fallocate -l "${room}000000" "$media_folder/$place.img"; done # memory is slow when it is first touched
	media_throttle a "$4" "$4"
	media_throttle b "$5" "$5"
	measure "$1" "$(bound "$media_folder/card" "$4" "$5" 1)" "$media_folder/card" "$media_folder/a" "$media_folder/b"
	take_out card a b
}

# folders WHERE CASE SET: card and places are folders of one volume
folders() {
	mkdir -p "$1/card" "$1/a" "$1/b"
	media_at_end "rm -rf '$1'"
	fill "$1/card" "$3"
	measure "$2" 0 "$1/card" "$1/a" "$1/b"
	rm -rf "$1"
}

# memory CASE SET
memory() {
	is_wanted "$1" || return 0
	folders "$in_memory/plain" "$1" "$2"
}

# disk CASE SET: card and places on the one disk of this machine
disk() {
	is_wanted "$1" || return 0
	case $2 in small) keeps=yes ;; *) bare=bare ;; esac
	folders "$on_disk" "$1" "$2"
	keeps=no bare=
}

digest=both hash="xxhsum -H2"
shared mixed-shared-600/450 mixed 600 450
shared mixed-shared-300/150 mixed 300 150
two_cards two-cards-shared-600/450 600 450
apart mixed-apart-300/150 mixed ext4 300 150
apart mixed-apart-300/150-exfat mixed exfat 300 150
shared both-seeking-300/150 both 300 150 8
shared small-shared-600/450 small 600 450
apart small-apart-300/150 small ext4 300 150
memory small-memory small
disk mixed-disk mixed
disk small-disk small
digest=xxh128
memory mixed-memory-xxh128 mixed
digest=both hash=sha256sum
memory mixed-memory-sha256 mixed
for name in $wanted; do
	case " $known " in *" $name "*) continue ;; esac
	echo "no case is called $name; there are:$known" >&2
	exit 2
done
