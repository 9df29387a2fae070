# SPDX-License-Identifier: ISC
# What the tests of hostile cards stand on; to be sourced. A run has two places and a ledger to write to; a tree of guards stands
# around them, and the system's own account of it, and of the card, is taken before and after. Where strace is there, each call that
# could write is looked at as well.
. "$HEADRACE_SOURCE/tests/support/tap.sh"
# In memory where there is room: nothing here is about time.
folder=${TMPDIR:-/var/tmp}
room=$(df --output=avail /dev/shm 2>/dev/null | tail -n 1)
[ "${room:-0}" -lt 1000000 ] || folder=/dev/shm
scratch=$(mktemp -d "$folder/headrace-hostile.XXXXXX")
trap 'rm -rf "$scratch"' EXIT
headrace=$HEADRACE_BUILD/src/cli/headrace
faults=$HEADRACE_SOURCE/tests/faults
export LC_ALL=C
# A fault of memory must not look like a status of ours.
export ASAN_OPTIONS=exitcode=99 UBSAN_OPTIONS=exitcode=99

# ground: an empty card below guards, which its links and names can reach. Leaves the shell in it.
ground() {
	rm -rf "$scratch/ground"
	mkdir -p "$scratch/ground/guard/folder" "$scratch/ground/deep/down/card/DCIM" "$scratch/ground/one" "$scratch/ground/two"
	cd "$scratch/ground"
	echo kept >guard/kept
	echo kept >guard/folder/N1.JPG
	ln -s ../one guard/link
	ln -s deep/down/card card
	export XDG_STATE_HOME="$scratch/ground/state"
}

# What must not change. Access times are left out: the account reads.
account() {
	find . \( -path ./one -o -path ./two -o -path ./state \) -prune -o -path ./said -o -path './said.*' -o -path . -o \
		-printf '%P %y %l %m %s %i %T@ %C@\0'
	find guard deep -type f -execdir sha256sum -z {} + # from within each folder: a path may be longer than a call takes
}

# offload STATUSES [OPTION...]: the card to both places, under a time-out; it must end in one of these, and nothing else may have changed.
# `said.events` and `said` (what it complained of) are kept; $status is how it ended, $peak_kb the memory it took.
offload() {
	wanted=$1
	shift
	account >../before
	traced=
	[ -z "${hostile_strace:-}" ] || traced="env ASAN_OPTIONS=$ASAN_OPTIONS:detect_leaks=0 strace -qq -f -y -s 9999 -o ../trace -e trace=%file,ftruncate,fchmod,fchown,futimesat,utimensat"
	status=0
	# shellcheck disable=SC2086 # a list of words
	/usr/bin/time --quiet -f %M -o ../peak timeout "${hostile_seconds:-60}" $traced "$headrace" offload "${card:-card}" --to one --to two \
		--same-device --job 'Cup final' --json-lines "$@" >said.events 2>said || status=$?
	peak_kb=$(tail -n 1 ../peak)
	account >../after
	cat -v said | tail -n 20
	cmp ../before ../after || return 1
	case " $wanted " in *" $status "*) ;; *) return 1 ;; esac
	[ -z "$traced" ] || perl "$faults/written_paths.pl" ../trace "$PWD/one" "$PWD/two" "$PWD/state"
	jq -es 'length > 0' said.events >../checked 2>&1 || [ "$status" = 1 ] || [ "$status" = 4 ]
	[ "$status" != 4 ] || [ -z "$(find one two -mindepth 1)" ]
}

# Files of a folder by content and name, a line each: what sorts and compares, whatever the names.
contents() {
	(cd "$1" && find . -type f -print0 | sort -z | xargs -0r sha256sum -z | perl -0pe 's/^\\?(\w+)  \.\///; my $hash = $1; chomp; $_ = "$hash " . unpack("H*", $_) . "\n"') | sort
}

# The bag of a place.
bag_in() {
	find "$1" -mindepth 3 -maxdepth 3 -name bagit.txt -printf '%h\n'
}

# Every regular file of the card stands in both places, byte for byte, and nothing besides.
delivered_whole() {
	contents deep/down/card >../wanted
	[ -s ../wanted ]
	for place in one two; do
		contents "$(bag_in $place)/data" | cmp ../wanted -
	done
	"$headrace" verify one two --json | jq -e .all_valid >../checked
}

# The last word on the card.
result() {
	jq -e "select(.event == \"result\") | .cards[0] | $1" said.events
}
