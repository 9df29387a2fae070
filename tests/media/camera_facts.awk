# SPDX-License-Identifier: ISC
# camera_facts.awk DAMAGED OURS THEIRS: compares the facts of print_facts with the columns of exiftool that camera_facts.sh asked for.

function trimmed(value) {
	sub(/^ +/, "", value)
	sub(/ +$/, "", value)
	return value == "" ? "-" : value
}

function is_time(value) {
	return value ~ /^[0-9][0-9][0-9][0-9]:[0-9][0-9]:[0-9][0-9] [0-9][0-9]:[0-9][0-9]:[0-9][0-9]$/ && value !~ /^0000|:00:[0-9][0-9] |:00 /
}

# Times in the order in which the reader believes them; sets fraction and offset to those of the one chosen.
function expect_time(    i, clip) {
	fraction = offset = "-"
	clip = $7
	sub(/[+]00:00$/, "", clip)
	if (is_time($4) || is_time($5)) {
		fraction = trimmed($8)
		offset = trimmed($10)
		return is_time($4) ? $4 : $5
	}
	if (is_time($6)) {
		fraction = trimmed($9)
		offset = trimmed($11)
		return $6
	}
	if (is_time(clip))
		return clip
	odd["time"] = $4 $5 $6 clip != "----"
	return "-"
}

# The size of the picture as the file's kind stores it; "-" where no standard field does.
function expect_size(    i, best, area, size) {
	if ($3 == "RAF" || $3 == "RW2")
		return "-"
	if ($16 != "-")
		return $16 "x" $17
	if ($18 != "-")
		return $18 > 0 ? $18 "x" $19 : "-"
	size = "-"
	for (i = 22; i <= NF; i += 4)
		if ($i % 2 == 0 && $(i + 1) != 6 && $(i + 2) * $(i + 3) > area) {
			area = $(i + 2) * $(i + 3)
			size = $(i + 2) "x" $(i + 3)
		}
	if (size == "-" && $20 > 0 && $21 > 0)
		size = $20 "x" $21
	return size
}

function reason_for(field) {
	if (path in damaged)
		return "the file is damaged"
	if ($3 !~ /^(JPEG|THM|TIFF|DNG|NEF|ARW|PEF|CR2|RW2|ORF|SRW|IIQ|HEIF|HEIC|CR3|RAF|MOV|MP4)$/)
		return "a container that is not read"
	if (odd[field])
		return "a value that is not in the standard's form"
	return ""
}

function compare(field, theirs, ours,    reason) {
	if (theirs == ours) {
		if (theirs != "-") {
			equal[field]++
			equal_count++
		}
		return
	}
	if (ours == "-" || path in damaged) {
		reason = reason_for(field)
		if (reason != "") {
			absent[reason]++
			return
		}
	}
	wrong++
	print "# " path ": " field " is " ours " here, " theirs " there"
}

FILENAME == ARGV[1] { damaged[$1] = 1; next }
FILENAME == ARGV[2] { ours[$1] = $0; next }
{
	path = $1 "/" $2
	if (!(path in ours))
		next
	split(ours[path], fact, "\t")
	delete odd
	files++
	time = expect_time()
	if (odd["time"]) {
		odd_times++
		absent["a value that is not in the standard's form"]++
	}
	orientation = trimmed($15)
	if (orientation != "-" && (orientation < 1 || orientation > 8))
		odd["orientation"] = 1
	compare("time", time, fact[2])
	compare("fraction", fraction, fact[3])
	compare("offset", offset, fact[4])
	compare("serial", trimmed($12), fact[5])
	compare("model", trimmed($13), fact[6])
	compare("rating", trimmed($14), fact[7])
	compare("orientation", orientation, fact[8])
	compare("size", expect_size(), fact[9])
}
END {
	printf "# %d files, %d facts equal:", files, equal_count
	for (field in equal)
		printf " %s %d", field, equal[field]
	print ""
	for (reason in absent)
		printf "# %d absent here: %s\n", absent[reason], reason
	# Far fewer would mean that the packages no longer hold what this test is about.
	enough = files >= 200 && equal["time"] >= 140 && equal["fraction"] >= 30 && equal["rating"] >= 10 && equal["serial"] >= 3
	print (wrong ? "not ok" : "ok") " 1 - " name
	print (enough ? "ok" : "not ok") " 2 - camera files: enough of them carry each fact"
	print "1..2"
	exit wrong || !enough
}
