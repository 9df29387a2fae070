# SPDX-License-Identifier: ISC
# What the fault tests stand on; to be sourced. A card of twelve frames, ten small ones and two past a megabyte, that are
# written past the page cache.
here=$HEADRACE_SOURCE/tests/support
. "$here/tap.sh"
. "$here/media.sh"
. "$here/able.sh"
. "$here/faulty_mount.sh"
# The images of the volumes stand in memory where there is room: nothing here is about time, and syncs are many.
folder=${TMPDIR:-/var/tmp}
room=$(df --output=avail /dev/shm 2>/dev/null | tail -n 1)
[ "${room:-0}" -lt 500000 ] || folder=/dev/shm
scratch=$(mktemp -d "$folder/headrace-faults.XXXXXX")
headrace=$HEADRACE_BUILD/src/cli/headrace

ground_folder() {
	cd "$scratch"
	export XDG_STATE_HOME="$scratch/state"
	rm -rf "$XDG_STATE_HOME" "$scratch"/*.real "$scratch"/card
	faulty_begin "$scratch"
}

# frames FOLDER: bytes that look like nothing, the same in every run; no block of them is another or zeros.
frames() {
	mkdir -p "$1/DCIM/100NMERE"
	perl -e '
		srand 7;
		for my $n (1 .. 12) {
			open(my $file, ">:raw", sprintf("%s/DCIM/100NMERE/NMA_%04d.JPG", $ARGV[0], $n)) or die $!;
			print $file pack("L*", map { int rand 4294967296 } 1 .. ($n > 10 ? 524288 : 20480));
		}' "$1"
}

# run STATUS OPTION...: an offload of the card to the two places that must end so; `events` and `complaints` are kept, and the
# verdict as `sentence`. $run_options are given besides.
run() {
	wanted=$1
	shift
	status=0
	# shellcheck disable=SC2086 # lists of words
	"$headrace" offload card --to one --to two --job 'Cup final' --json-lines ${run_options:-$same_device} "$@" >events 2>complaints || status=$?
	cat complaints
	jq -r 'select(.event == "result") | .cards[].sentence' events | tee sentence
	[ "$status" = "$wanted" ]
}

# verdict START: the sentence begins so. Where nothing can be shown to come from the medium no copy counts, and it says that.
verdict() {
	if able medium; then
		grep "^$1" sentence
	else
		grep '^NOT SAFE to format: all 12 files without a proven copy\. .*read back from the medium do not count\.$' sentence
	fi
}

# Every payload file of a place under its final name, as "PATH-ON-CARD<tab>PATH".
named_in() {
	find "$1" -type f -path '*/data/*' ! -name '.*.part' -printf '%p\n' | sed 's#^\(.*/data/\(.*\)\)$#\2\t\1#' | sort
}

# What bears a final name there, be the bag finished or not, is the frame itself, and none stands there twice.
names_nothing_wrong() {
	named_in "$1" >named
	[ -z "$(cut -f 1 named | uniq -d)" ]
	while IFS="$(printf '\t')" read -r frame path; do
		cmp "card.real/$frame" "$path" || return 1
	done <named
}

# Every frame but those named stands in the place under its name, byte for byte.
holds_all_but() {
	place=$1
	shift
	(cd card.real && find DCIM -type f | sort) >wanted
	for frame; do
		sed -i "/NMA_$frame/d" wanted
	done
	names_nothing_wrong "$place"
	cut -f 1 named | cmp wanted -
}

# Its bags are finished, and others find them right.
has_right_bags() {
	[ -z "$(find "$1" -name '.*.part')" ]
	find "$1" -name bag-info.txt -printf '%h\n' >bags
	[ -s bags ]
	while read -r bag; do
		(cd "$bag" && [ -e bagit.txt ] && sha256sum --quiet -c manifest-sha256.txt &&
			xxhsum --quiet -c manifest-xxh128.txt && sha256sum --quiet -c tagmanifest-sha256.txt) || return 1
	done <bags
}

cases_of() {
	reason=$(media_can) && reason=$(faulty_can) && can=yes || can=no
	for case; do
		if [ "$can" = yes ]; then tap "$case"; else tap_skip "$case" "$reason"; fi
	done
	rm -rf "$scratch"
	tap_done
}
