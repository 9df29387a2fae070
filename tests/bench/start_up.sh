#!/bin/sh
# SPDX-License-Identifier: ISC
# What it costs to start: headrace --version, --help and the help of a command, beside a program that does nothing, a
# hundred of each. Prints seconds a hundred starts, and a CSV line each.
set -eu
source=$(cd "$(dirname "$0")/../.." && pwd)
headrace=${HEADRACE:-$source/build/release/src/cli/headrace}
. "$source/tests/bench/measure.sh"

hundred() {
	for _ in 1 2 3 4 5 6 7 8 9 10; do
		"$@"; "$@"; "$@"; "$@"; "$@"; "$@"; "$@"; "$@"; "$@"; "$@"
	done
}

nothing=$(seconds hundred /bin/true)
for words in --version --help "offload --help"; do
	# shellcheck disable=SC2086
	took=$(seconds hundred "$headrace" $words)
	compare "start,$words" "$took" /bin/true "$nothing"
done
