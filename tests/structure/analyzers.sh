#!/bin/sh
# SPDX-License-Identifier: ISC
# What two analyzers say of src/, each by a preset of its own: clang-tidy with the checks of .clang-tidy, and gcc -fanalyzer. By hand, for
# they take minutes:
#   HEADRACE_SOURCE=$PWD sh tests/structure/analyzers.sh
# gcc 12 takes memory that something else comes to own for a leak, and what memcpy fills for unset; ASan and valgrind judge both, running.
set -eu
cd "$HEADRACE_SOURCE"
. tests/support/tap.sh
told=$(mktemp)
trap 'rm -f "$told"' EXIT

# finds_nothing PRESET: Debug builds, so that the asserts are read too; all findings are shown, not the first file's alone.
finds_nothing() {
	status=0
	cmake --preset "$1" -G Ninja -DHEADRACE_TESTS=OFF >"$told"
	cmake --build "build/$1" --target headrace_objects headrace_cli_objects --clean-first -- -k 0 >"$told" || status=$?
	grep -E ': (error|warning): ' "$told" | sort -u || :
	[ "$status" = 0 ]
}

clang_tidy_finds_nothing() { finds_nothing tidy; }
gcc_fanalyzer_finds_nothing() { finds_nothing fanalyzer; }

tap clang_tidy_finds_nothing
tap gcc_fanalyzer_finds_nothing
tap_done
