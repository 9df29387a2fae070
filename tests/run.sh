#!/bin/sh
# SPDX-License-Identifier: ISC
# Installs what is missing, builds, runs every test. The last line is "N passed, N failed"; status 1 when one failed.
#   --no-install  take the machine as it is
#   --preset NAME another build (debug, asan, tsan, clang, portable; coverage says at the end what was run of each room)
#   --keep        leave the scratch folders of failed tests, and say where they are
#   TEXT          only tests whose name matches
set -eu
source=$(cd "$(dirname "$0")/.." && pwd)
. "$source/tests/setup.sh"

install=yes preset=release keep=no only=.
while [ $# -gt 0 ]; do
	case $1 in
	--no-install) install=no ;;
	--preset)
		preset=$2
		shift
		;;
	--keep) keep=yes ;;
	-*)
		say "usage: run.sh [--no-install] [--preset NAME] [--keep] [TEXT]"
		exit 2
		;;
	*) only=$1 ;;
	esac
	shift
done

[ "$install" = no ] || install_packages "$source/tests/packages-build.txt" "$source/tests/packages-test.txt"
build "$preset" -DHEADRACE_TESTS=ON
find "$source/build/$preset" -name '*.gcda' -delete

# Tests take away what they made; a failed program does not get to it, and a failed case of a script is copied (tap.sh).
if [ "$keep" = yes ]; then
	HEADRACE_KEEP=$source/build/$preset/kept
	export HEADRACE_KEEP TMPDIR="$HEADRACE_KEEP"
	rm -rf "$HEADRACE_KEEP"
	mkdir "$HEADRACE_KEEP"
fi

# Most of what is only run when a call fails is run by failing it.
if [ "$preset" = coverage ]; then
	HEADRACE_CALLS_ROUNDS=2000 HEADRACE_CALLS_OF='resume verify move fill archive'
	export HEADRACE_CALLS_ROUNDS HEADRACE_CALLS_OF
fi

# Each test prints TAP; what a test printed is kept by ctest in its XML and, line by line under the test's number, in the plain log.
# Two at once, for the long ones wait for slow devices; those that judge speeds run alone (RUN_SERIAL).
log=$source/build/$preset/tests.log
say "testing"
ctest --test-dir "$source/build/$preset" --tests-regex "$only" --parallel 2 --verbose --output-junit "$source/build/$preset/tests.xml" >"$log" 2>&1 || true

if [ "$keep" = yes ]; then
	for kept in "$HEADRACE_KEEP"/*; do
		[ ! -e "$kept" ] || say "kept    ${kept#"$source"/}"
	done
fi

[ "$preset" != coverage ] || sh "$source/tests/structure/coverage.sh" "$source/build/coverage"

# A program that ended badly without a failed case of its own (crash, time-out, not run) counts as one failure.
awk -v strict="${CI:-false}" '
	function name_of(line) { sub(/^[0-9]+: (not )?ok [0-9]+ (- )?/, "", line); return line }
	/^[0-9]+: Test command:/ { next }
	/^[0-9]+: not ok / { failed++; bad[$1] = 1; print "FAILED  " name_of($0) }
	/^[0-9]+: ok .*# SKIP/ { skipped++; if (strict == "true") failed++; print "skipped " name_of($0); next }
	/^[0-9]+: ok / { passed++ }
	/^ *[0-9]+\/[0-9]+ Test +#[0-9]+:/ {
		number = $0; sub(/^[^#]*#/, "", number); sub(/:.*/, "", number)
		if ($0 !~ / Passed /) {
			print "FAILED  " $0
			if (!((number ":") in bad)) failed++
		}
	}
	END {
		if (passed + failed == 0) failed = 1
		if (failed > 0) print "see " log_file
		printf "%d passed, %d failed\n", passed, failed
		exit failed > 0
	}' log_file="${log#"$source"/}" "$log"
