# SPDX-License-Identifier: ISC
# What a run that was cut short, and the one after it, left in places; to be sourced, in the folder that holds cards and places. The
# witnesses are others' programs: find, sha256sum, xxhsum, sqlite3.
#
#     judged_cards cardA cardB       first; a card's bags bear its folder's name
#     look PLACE...                  first of all each time: the rest speaks of what stood there then
#     names_only_right               what bears a final name in a bag or a sequence folder is that file of the card, byte for byte
#     believes_what_stands           `headrace safe` counts no copy that does not stand in the places, and says SAFE of nothing less
#                                    than all files in `one` and in `two`
#     none_is_lost                   each file of the cards stands in each place, in a bag or a sequence folder
#     memory_stands                  each copy that the ledger calls proven stands where it says; `remembered` lists them
#     all_done 'n == 1'              each file of the cards stands n times in each place, in bags or, where it left its bag, in a sequence
#                                    folder; all bags are finished and right, and nothing of a run is left lying about
#     ledger_is_sound
#
# Each is silent and holds, or says what does not and fails.

judged_cards() {
	cards="$*"
	for judged_card; do
		(cd "$judged_card" && find . -type f -exec sha256sum {} + | sed "s#^\\([0-9a-f]*\\)  \\./#\\1\\t$judged_card\\t#")
	done >judged.cards
}

# `standing`: what bears a final name, as "DIGEST<tab>CARD<tab>PATH ON THE CARD<tab>FILE"; "-" for what a sequence folder does not tell.
look() {
	places=$*
	# shellcheck disable=SC2086 # a list of words
	find $places -type f ! -name '.*.part' \( -path '*/data/*' -o -path '*/sequences/*/[0-9]*_*' \) -exec sha256sum {} + |
		sed -n -e 's#^\([0-9a-f]*\)  \(.*_\([^_/]*\)/data/\(.*\)\)$#\1\t\3\t\4\t\2#p' -e t \
			-e 's#^\([0-9a-f]*\)  \(.*/sequences/[^/]*/[0-9]*_[^/]*\)$#\1\t-\t-\t\2#p' >standing
}

# judge_standing PROGRAM: an awk program over the cards' files and then what stands: wanted[card, path] is the digest, name[card, path]
# the last part of the path; place and last are of FILE, where a sequence folder puts a number before the name.
judge_standing() {
	awk -F '\t' '
		NR == FNR { wanted[$2, $3] = $1; last = $3; sub(/.*\//, "", last); name[$2, $3] = last; named[$1, last] = 1; next }
		{ place = $4; sub(/\/.*/, "", place); last = $4; sub(/.*\//, "", last); if ($2 == "-") sub(/^[0-9]*_/, "", last) }
		'"$1" judged.cards standing
}

names_only_right() {
	judge_standing '
		$2 == "-" ? !(($1, last) in named) : wanted[$2, $3] != $1 { print "wrong bytes: " $4; bad = 1 }
		END { exit bad }'
}

# A ledger that is not there, or has no table yet, knows nothing.
believes_what_stands() {
	for judged_one in $cards; do
		"$headrace" safe "$judged_one" --json >safe.json 2>safe.said || [ $? = 1 ] || { cat safe.said; return 1; }
		jq -r '.cards[0] | ([.drives[]? | .files + .not_from_medium] | max // 0), .is_safe' safe.json | tr '\n' ' ' >believed
		judge_standing '
			$2 == "'"$judged_one"'" && wanted[$2, $3] == $1 { anywhere[$3] = 1; in_place[place, $3] = 1 }
			END {
				getline <"believed"
				split($0, believed, " ")
				for (file in anywhere) right++
				for (key in in_place) { split(key, part, SUBSEP); count[part[1]]++ }
				for (key in wanted) { split(key, part, SUBSEP); all += part[1] == "'"$judged_one"'" }
				if (believed[1] > right + 0) { print believed[1] " files of '"$judged_one"' believed, " right + 0 " stand"; exit 1 }
				if (believed[2] != "false" && (count["one"] < all || count["two"] < all)) { print "SAFE without two copies"; exit 1 }
			}' || return 1
	done
}

# In a bag, or in a sequence folder what a bag does not have any more: frames that were moved. Views have more than that.
# count_standing "TEST OF n": told are the files of the cards whose count does not hold.
count_standing() {
	judge_standing '
		$2 == "-" { moved[place, $1, last] = 1; next }
		{ count[place, $2, $3]++ }
		END {
			places = split("'"$places"'", place_of, " ")
			for (i = 1; i <= places; i++)
				for (file in wanted) {
					n = count[place_of[i], file]
					n = n ? n : ((place_of[i], wanted[file], name[file]) in moved)
					if (!('"$1"')) { sub(SUBSEP, " ", file); print file " stands " n " times in " place_of[i]; bad = 1 }
				}
			exit bad
		}'
}

none_is_lost() {
	count_standing 'n >= 1'
}

# Paths are bytes in the ledger.
memory_stands() {
	judged_ledger=$XDG_STATE_HOME/headrace/ledger.db
	: >remembered
	[ -s "$judged_ledger" ] && [ "$(sqlite3 "$judged_ledger" "SELECT count(*) FROM sqlite_schema WHERE name = 'copy'")" = 1 ] || return 0
	sqlite3 "$judged_ledger" "SELECT CAST(mount_point AS TEXT) || '/' || CAST(path_on_volume AS TEXT) || '/data/' ||
			CAST(folder AS TEXT) || CAST(name AS TEXT)
		FROM copy JOIN file ON file.id = copy.file JOIN bag ON bag.id = copy.bag" >remembered || return 1
	while read -r judged_file; do
		[ -f "$judged_file" ] || { echo "remembered as proven, but gone: $judged_file"; return 1; }
	done <remembered
}

# Folders of a bag that files left stay.
is_clean() {
	# shellcheck disable=SC2086 # a list of words
	find $places -mindepth 1 \( -name '.*' ! -path '*/data/*' -o -name '.*.part' -o -name '*.aside' -o -type d -empty ! -path '*/data/*' \) \
		>lying
	[ ! -s lying ] || { sed 's/^/left lying: /' lying; return 1; }
}

has_right_bags() {
	# shellcheck disable=SC2086 # a list of words
	find $places -type d -name data -printf '%h\n' >bags
	[ -s bags ] || { echo "no bag"; return 1; }
	while read -r bag; do
		(cd "$bag" && [ -e bagit.txt ] && sha256sum --quiet -c tagmanifest-sha256.txt && sums_are_right) ||
			{ echo "a bag not right: $bag"; return 1; }
	done <bags
}

# Of files below here. With xxh128 alone there is one list.
sums_are_right() {
	xxhsum --quiet -c manifest-xxh128.txt && { [ ! -e manifest-sha256.txt ] || sha256sum --quiet -c manifest-sha256.txt; }
}

# Beside what was moved stand its sums; sequences that are views have none.
has_right_sequences() {
	# shellcheck disable=SC2086 # a list of words
	find $places -path '*/sequences/*/manifest-xxh128.txt' -printf '%h\n' >folders
	while read -r folder; do
		(cd "$folder" && sums_are_right) || { echo "sums not right in $folder"; return 1; }
	done <folders
}

all_done() {
	names_only_right && count_standing "$1" && is_clean && has_right_bags && has_right_sequences
}

ledger_is_sound() {
	judged_ledger=$XDG_STATE_HOME/headrace/ledger.db
	[ ! -s "$judged_ledger" ] || [ "$(sqlite3 "$judged_ledger" 'PRAGMA integrity_check; PRAGMA foreign_key_check;')" = ok ] ||
		{ echo "the ledger is damaged"; return 1; }
}
