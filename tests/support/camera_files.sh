#!/bin/sh
# SPDX-License-Identifier: ISC
# camera_files.sh FOLDER: fetches real camera files out of Debian packages into FOLDER, once; status 1 when that cannot be done.
#
# No such file is in the project. The machine's own package sources are used, with the source packages of the same
# archive added in a list of our own: nothing of the machine's is changed, and root is not needed.
set -eu
folder=$1
[ -e "$folder/complete" ] && exit 0
rm -rf "$folder"
mkdir -p "$folder/apt/lists/partial" "$folder/apt/archives/partial" "$folder/packages" "$folder/files"
folder=$(cd "$folder" && pwd)

keyring=/usr/share/keyrings/debian-archive-keyring.gpg
[ -r "$keyring" ] && option="[signed-by=$keyring]" || option=
# shellcheck disable=SC2016 # apt's own variables
apt-get indextargets --format '$(ORIGIN) $(COMPONENT) $(REPO_URI) $(RELEASE)' 'Created-By: Packages' |
	awk -v option="$option" '$1 == "Debian" && $2 == "main" { print "deb", option, $3, $4, $2; print "deb-src", option, $3, $4, $2 }' \
		>"$folder/apt/sources.list"
if ! [ -s "$folder/apt/sources.list" ]; then
	echo "apt knows no Debian archive here: run apt-get update" >&2
	exit 1
fi

apt() {
	apt-get -qq -o Dir::Etc::SourceList="$folder/apt/sources.list" -o Dir::Etc::SourceParts=- \
		-o Dir::State::Lists="$folder/apt/lists" -o Dir::Cache="$folder/apt" -o Dir::Cache::Archives="$folder/apt/archives" \
		-o Acquire::Retries=3 -o APT::Sandbox::User= "$@" >&2
}
cd "$folder/packages"
apt update
apt source --download-only exiv2 libimage-exiftool-perl libexif jhead
apt download forensics-samples-files

cd "$folder/files"
for archive in "$folder"/packages/*.orig.tar.*; do
	package=$(basename "$archive" | sed 's/_.*//')
	mkdir "$package"
	tar -xf "$archive" -C "$package" --ignore-case --wildcards --no-anchored \
		'*.jpg' '*.jpeg' '*.tif' '*.tiff' '*.dng' '*.nef' '*.arw' '*.pef' '*.cr2' '*.cr3' '*.rw2' '*.orf' '*.raf' '*.iiq' \
		'*.hif' '*.heic' '*.heif' '*.mov' '*.mp4' 2>/dev/null || [ -n "$(ls "$package")" ]
done
for deb in "$folder"/packages/*.deb; do
	dpkg-deb -x "$deb" deb
done
rm -rf "$folder/apt" "$folder/packages"
touch "$folder/complete"
