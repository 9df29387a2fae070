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
	odd["time"] = $4 $5 $6 != "---" || clip !~ /^(-|0000:00:00 00:00:00)$/
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
	for (i = 22; i < 46; i += 4)
		if ($i % 2 == 0 && $(i + 1) != 6 && $(i + 2) * $(i + 3) > area) {
			area = $(i + 2) * $(i + 3)
			size = $(i + 2) "x" $(i + 3)
		}
	if (size == "-" && $20 > 0 && $21 > 0)
		size = $20 "x" $21
	return size
}

# The first of several numbers; 0 says nothing. In a .rw2 it stands in its preview alone, and in a field of no standard.
function expect_iso(    iso) {
	iso = $46 != "-" ? $46 : $47
	sub(/ .*/, "", iso)
	return iso == "0" || $3 == "RW2" ? "-" : iso
}

# Ours where it is their number to as many digits as they print.
function expect_exposure(    theirs, part) {
	theirs = $48 != "-" ? $48 : $49
	if (theirs !~ /^[0-9.e-]*[0-9]$/ || theirs == 0)
		return "-"
	split(fact[11], part, "/")
	if (part[2] > 0 && (part[1] / part[2] - theirs) ^ 2 <= (theirs / 1e6) ^ 2)
		return fact[11]
	return theirs
}

function hexadecimal(text,    i, number) {
	for (i = 1; i <= length(text); i++)
		number = number * 16 + index("0123456789ABCDEF", substr(text, i, 1)) - 1
	return number
}

# libexif writes the two halves of a number apart, the first in hexadecimal.
function expect_maker_serial(    theirs) {
	theirs = trimmed($50 != "-" ? $50 : $51)
	if (trimmed($12) != "-")
		return "-"
	if (fact[12] ~ /^[0-9A-F]+-[0-9]+$/ && hexadecimal(substr(fact[12], 1, 4)) * 65536 + substr(fact[12], 6) == theirs)
		return fact[12]
	return theirs
}

function expect_drive_mode(    words) {
	split("Single;Continuous;Movie;Continuous, speed priority;Continuous, low;Continuous, high", words, ";")
	return $53 ~ /^[0-5]$/ ? words[$53 + 1] : "-"
}

# A file whose time and size are known is fine; nothing is said of one that is damaged but what is lost.
function expect_trouble() {
	if (fact[2] != "-" && fact[9] != "-")
		return "-"
	if (path in damaged)
		return fact[15] == "-" ? "what is wrong" : fact[15]
	if (!is_read())
		return "no kind of picture or clip that is read here"
	if (fact[2] != "-")
		return "-"
	return odd["time"] ? "its time is no date" : "no capture time in it"
}

function is_read() {
	return $3 ~ /^(JPEG|THM|TIFF|DNG|NEF|ARW|PEF|CR2|RW2|ORF|SRW|IIQ|HEIF|HEIC|CR3|RAF|MOV|MP4)$/
}

function reason_for(field) {
	if (path in damaged)
		return "the file is damaged"
	if (!is_read())
		return "a container that is not read"
	if (field ~ /^maker/)
		return "notes of a layout that is not read, or of blanks"
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
	compare("iso", expect_iso(), fact[10])
	compare("exposure", expect_exposure(), fact[11])
	compare("maker serial", expect_maker_serial(), fact[12])
	compare("maker run number", $52, fact[13])
	compare("maker drive mode", expect_drive_mode(), fact[14])
	compare("trouble", expect_trouble(), fact[15])
}
END {
	printf "# %d files, %d facts equal:", files, equal_count
	for (field in equal)
		printf " %s %d", field, equal[field]
	print ""
	for (reason in absent)
		printf "# %d absent here: %s\n", absent[reason], reason
	# Far fewer would mean that the packages no longer hold what this test is about.
	enough = files >= 200 && equal["time"] >= 140 && equal["fraction"] >= 30 && equal["rating"] >= 10 && equal["serial"] >= 3 &&
		equal["iso"] >= 100 && equal["exposure"] >= 130 && equal["maker serial"] >= 10 && equal["maker run number"] >= 30
	print (wrong ? "not ok" : "ok") " 1 - " name
	print (enough ? "ok" : "not ok") " 2 - camera files: enough of them carry each fact"
	exit wrong || !enough
}
