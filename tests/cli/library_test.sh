#!/bin/sh
# SPDX-License-Identifier: ISC
# What is installed: the program with its pages and completions, and the library for other programs. TAP.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
tree=$scratch/tree
# The flags the library was built with: a sanitizer in it must be linked by its user too.
flags=$(sed -n 's/^CMAKE_C_FLAGS:STRING=//p' "$HEADRACE_BUILD/CMakeCache.txt")
compiler=$(sed -n 's/^CMAKE_C_COMPILER:[A-Z]*=//p' "$HEADRACE_BUILD/CMakeCache.txt")
cmake --install "$HEADRACE_BUILD" --prefix "$scratch/first" >/dev/null
# Moved after it was installed: nothing may remember where it first stood.
mv "$scratch/first" "$tree"
PKG_CONFIG_PATH=$(dirname "$(find "$tree" -name headrace.pc)")
LD_LIBRARY_PATH=$(dirname "$(find "$tree" -name libheadrace.so)")
export PKG_CONFIG_PATH LD_LIBRARY_PATH

program_pages_and_completions_are_installed() {
	"$tree/bin/headrace" --version | grep '^headrace '
	for file in man/man1/headrace.1 man/man1/headrace-offload.1 man/man1/headrace-verify.1 man/man1/headrace-safe.1 \
		man/man1/headrace-log.1 man/man5/headrace-bag.5 bash-completion/completions/headrace zsh/site-functions/_headrace \
		fish/vendor_completions.d/headrace.fish; do
		[ -s "$tree/share/$file" ]
	done
}
tap program_pages_and_completions_are_installed

pkg_config_builds_against_the_shared_library() {
	$compiler $flags "$HEADRACE_SOURCE/tests/cli/consumer/consumer.c" $(pkg-config --cflags --libs headrace) -o "$scratch/shared"
	"$scratch/shared"
	readelf -d "$scratch/shared" | grep 'libheadrace.so.0'
}
tap pkg_config_builds_against_the_shared_library

pkg_config_builds_against_the_static_library() {
	mkdir "$scratch/static-only"
	cp "$(find "$tree" -name libheadrace.a)" "$scratch/static-only"
	$compiler $flags "$HEADRACE_SOURCE/tests/cli/consumer/consumer.c" -L"$scratch/static-only" -Wl,-Bstatic -lheadrace -Wl,-Bdynamic \
		$(pkg-config --cflags --libs --static headrace | sed 's/-lheadrace//') -o "$scratch/static"
	LD_LIBRARY_PATH='' "$scratch/static"
}
tap pkg_config_builds_against_the_static_library

cmake_finds_both_libraries() {
	cmake -G Ninja -S "$HEADRACE_SOURCE/tests/cli/consumer" -B "$scratch/consumer" -DCMAKE_PREFIX_PATH="$tree" \
		-DCMAKE_C_COMPILER="$compiler" -DCMAKE_C_FLAGS="$flags"
	cmake --build "$scratch/consumer"
	"$scratch/consumer/consumer_shared"
	LD_LIBRARY_PATH='' "$scratch/consumer/consumer_static"
}
tap cmake_finds_both_libraries

shared_library_shows_only_what_headers_promise() {
	nm -D --defined-only "$(find "$tree" -name 'libheadrace.so.*.*')" | sed 's/.* //' | sort >"$scratch/shown"
	[ -s "$scratch/shown" ]
	grep -ohE '\bhr_[a-z0-9_]+\(' "$tree"/include/headrace/*.h | tr -d '(' | sort -u >"$scratch/promised"
	comm -23 "$scratch/shown" "$scratch/promised" | tee "$scratch/surplus"
	[ ! -s "$scratch/surplus" ]
}
tap shared_library_shows_only_what_headers_promise

tap_done
