# SPDX-License-Identifier: ISC
# camera_previews.awk OURS THEIRS: compares the previews of print_facts with the starts and lengths that exiftool prints (-a -G1 -s -n, paths
# in lines of their own). Writes those of ours that exiftool tells no place of to the file `unplaced`: offset, size, path.

function size_of(path,    command, size) {
	command = "stat -c %s '" path "'"
	command | getline size
	close(command)
	return size
}

function pair(    key, place, size) {
	for (key in start) {
		if (!(key in length_of) || (key ~ /MPImage/ && type[key] !~ /^6553[78]$/))
			continue
		place = start[key] + 0 "+" length_of[key]
		if ((path, place) in theirs)
			continue
		theirs[path, place] = 1
		if ((path, place) in ours)
			equal++
		else if (key !~ /^(IFD|SubIFD|MPImage)/)
			absent["in the maker's notes"]++
		else if (trouble[path] ~ /^no kind/)
			absent["in a container that is not read"]++
		else if (path ~ /[.]rw2$/ && key ~ /^IFD1/)
			absent["within a preview"]++
		else if (start[key] + length_of[key] > (size = size_of(path)))
			absent["past the end of the file"]++
		else if (length_of[key] == 0)
			absent["empty"]++
		else {
			wrong++
			print "# " path ": a preview at " place " (" key ") is there, not here"
		}
	}
	delete start
	delete length_of
	delete type
}

FILENAME == ARGV[1] {
	split($0, field, "\t")
	trouble[field[1]] = field[15]
	count = split(field[16], places, " ")
	for (i = 1; i <= count && field[16] != "-"; i++)
		ours[field[1], places[i]] = 1
	next
}
/^======== / {
	pair()
	path = substr($0, 10)
	next
}
/^\[ExifTool\]/ { next }
{
	group = substr($1, 2, length($1) - 2)
	name = $2
	key = group " " name
	sub(/(Start|Offset|Length|Type)$/, "", key)
	if (name ~ /(Start|Offset)$/)
		start[key] = $4
	else if (name ~ /Length$/)
		length_of[key] = $4
	else
		type[key] = $4
}
END {
	pair()
	for (key in ours)
		if (!(key in theirs)) {
			split(key, part, SUBSEP)
			sub(/[+]/, " ", part[2])
			print part[2] " " part[1] >unplaced
		}
	printf "# %d previews equal\n", equal
	for (reason in absent)
		printf "# %d absent here: %s\n", absent[reason], reason
	exit wrong > 0 || equal < 100
}
