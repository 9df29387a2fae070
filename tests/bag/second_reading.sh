#!/bin/sh
# SPDX-License-Identifier: ISC
# A second reading of RFC 8493, by other hands than the library's: find, sort, awk and the checksum tools of coreutils and
# xxHash. Status 0 when the bag in $1 is complete and valid. For names without LF, CR, % or a backslash.
set -eu
export LC_ALL=C
cd "$1"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

refuse() {
	echo "$1" >&2
	exit 1
}

# 2.1.1: exactly these two lines.
printf 'BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n' | cmp - bagit.txt || refuse "bagit.txt is another"

# 3: every payload file in every manifest, and no other; each digest right.
[ -d data ] || refuse "no data folder"
find data -type f | sort >"$work/files"
[ -z "$(find data ! -type f ! -type d)" ] || refuse "a link or device in data"
manifests=0
for manifest in manifest-*.txt; do
	[ -f "$manifest" ] || refuse "no manifest"
	manifests=$((manifests + 1))
	sed 's/^[0-9a-f]*  *//' "$manifest" >"$work/listed"
	sort "$work/listed" | cmp - "$work/files" || refuse "$manifest lists other files than there are"
	case $manifest in
	manifest-sha256.txt) tool='sha256sum --strict' ;;
	manifest-xxh128.txt) tool='xxhsum --strict' ;;
	*) refuse "$manifest: no tool for it" ;;
	esac
	[ ! -s "$manifest" ] || $tool -c --quiet "$manifest" || refuse "$manifest does not hold"
done

# 2.2.2: octets and files.
oxum=$(sed -n 's/^Payload-Oxum: //p' bag-info.txt)
found=$(find data -type f -printf '%s\n' | awk '{ octets += $1 } END { printf "%d.%d", octets, NR }')
[ "$oxum" = "$found" ] || refuse "Payload-Oxum $oxum is $found"

# 2.2.1: every payload manifest, no tag manifest, no payload; here: every other tag file too.
sed 's/^[0-9a-f]*  *//' tagmanifest-sha256.txt | sort >"$work/tags"
find . -maxdepth 1 -type f ! -name 'tagmanifest-*' -printf '%P\n' | sort | cmp - "$work/tags" || refuse "tag files differ"
sha256sum --strict -c --quiet tagmanifest-sha256.txt || refuse "a tag file does not hold"
