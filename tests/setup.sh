# SPDX-License-Identifier: ISC
# Sourced by tests/run.sh and examples/halftime.sh after they set `source` to the checkout: installs what is missing, and builds.

say() {
	printf '%s\n' "$*" >&2
}

# missing_packages LIST...: the names in the lists that are not installed.
missing_packages() {
	cat "$@" | while read -r package; do
		case $package in '' | '#'*) continue ;; esac
		state=$(dpkg-query -W -f '${Status}' "$package" 2>/dev/null) || state=
		[ "$state" = "install ok installed" ] || printf '%s ' "$package"
	done
}

as_root() {
	if [ "$(id -u)" -eq 0 ]; then "$@"; else sudo "$@"; fi
}

# install_packages LIST...: does nothing when all is there.
install_packages() {
	if ! command -v dpkg-query >/dev/null; then
		say "This is no Debian: please install what these files name, then say --no-install: $*"
		return 0
	fi
	missing=$(missing_packages "$@")
	[ -n "$missing" ] || return 0
	say "installing: $missing"
	as_root apt-get update -qq
	# shellcheck disable=SC2086 # a list of words
	as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing >/dev/null
}

# build PRESET [CMAKE-OPTION...]: into build/PRESET.
build() {
	preset=$1
	shift
	say "building ($preset)"
	(cd "$source" && cmake --preset "$preset" -G Ninja "$@" >"build-$preset.log" 2>&1) || {
		cat "$source/build-$preset.log" >&2
		return 1
	}
	mkdir -p "$source/build"
	mv "$source/build-$preset.log" "$source/build/$preset.log"
	cmake --build "$source/build/$preset" >>"$source/build/$preset.log" 2>&1 || {
		tail -n 60 "$source/build/$preset.log" >&2
		return 1
	}
}
