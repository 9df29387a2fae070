# SPDX-License-Identifier: ISC
# What the benches share; to be sourced by a POSIX shell script that has set `source`.
results=$source/build/bench
mkdir -p "$results"

# files FOLDER COUNT BYTES FIRST-NUMBER EXTENSION < bytes
files() {
	for i in $(seq "$4" $(($4 + $2 / ${part:-1} - 1))); do head -c "$3" >"$1/NMA_$(printf %04d "$i").$5"; done
}

# fill FOLDER SET: mixed = 400 x 4 MB + 40 x 30 MB; small = 5,000 x 61 kB; both; half: of mixed; of bytes that nothing can compress. With part=10 a tenth.
fill() {
	rm -rf "$1/DCIM"
	mkdir -p "$1/DCIM/100NMERE" "$1/DCIM/101NMERE"
	case $2 in half) share=2 ;; *) share=1 ;; esac
	openssl enc -aes-128-ctr -pass "pass:$(basename "$1")" -nosalt -in /dev/zero 2>/dev/null | (
		[ "$2" = small ] || files "$1/DCIM/100NMERE" $((400 / share)) 4000000 1 JPG
		[ "$2" = small ] || files "$1/DCIM/100NMERE" $((40 / share)) 30000000 5001 DNG
		case $2 in small | both) files "$1/DCIM/101NMERE" 5000 61441 1 JPG ;; esac
	)
	sync
}

# forget: what memory holds of any disk. Needs root.
forget() {
	sync
	echo 3 >/proc/sys/vm/drop_caches
}

# warm_memory FOLDER: most of the memory that is free is touched, up to 20 GB, and stays so; FOLDER is of a tmpfs. A virtual machine may give free
# memory back to its host, and is then slow when it takes it again: a copy within memory took 0.9 s or 6 s here. It gives back runs of 2 MB and
# more: a file of which one page in every MB is kept leaves none so long.
warm_memory() {
	{ printf x && head -c 1048575 /dev/zero; } >"$1/megabyte"
	for i in $(seq "$(awk '/^MemAvailable/ { n = $2 / 1024 - 1000; printf "%d", n < 20000 ? n : 20000 }' /proc/meminfo)"); do
		cat "$1/megabyte"
	done >"$1/megabytes"
	fallocate --dig-holes "$1/megabytes"
}

# seconds COMMAND...: prints how long it took; what it prints itself is lost. 1 when it failed.
seconds() {
	seconds_began=$(date +%s.%N)
	"$@" >/dev/null || return 1
	awk -v a="$seconds_began" -v b="$(date +%s.%N)" 'BEGIN { printf "%.4f\n", b - a }'
}

# median FILE [COLUMN]: of its lines by the first column; 0 when there are none
median() {
	if [ -s "$1" ]; then
		sort -n "$1" | awk -v c="${2:-1}" '{ v[NR] = $c } END { print v[int((NR + 1) / 2)] }'
	else
		echo 0
	fi
}

# compare CASE OURS [REFERENCE SECONDS]...: prints the figures with their ratios, and a line each in compare.csv
compare() {
	compare_case=$1 compare_ours=$2
	shift 2
	[ -f "$results/compare.csv" ] || echo "case,reference,ours_s,reference_s,ratio" >"$results/compare.csv"
	printf '%-24s ours %8.4f s' "$compare_case" "$compare_ours"
	while [ $# -gt 1 ]; do
		awk -v o="$compare_ours" -v n="$1" -v r="$2" 'BEGIN { printf "   %s %8.4f s (%.2f of it)", n, r, o / r }'
		awk -v c="$compare_case" -v o="$compare_ours" -v n="$1" -v r="$2" 'BEGIN { printf "\"%s\",%s,%s,%s,%.4f\n", c, n, o, r, o / r }' >>"$results/compare.csv"
		shift 2
	done
	echo
}
