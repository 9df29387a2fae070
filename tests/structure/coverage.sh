#!/bin/sh
# SPDX-License-Identifier: ISC
# What has been run of each room since the counts were last deleted: run.sh --preset coverage prints it at the end of all tests. By itself,
# after something else was run with the programs of that build:
#   sh tests/structure/coverage.sh build/coverage [ROOM]       with a room: what of its files was never run
# asserts are not compiled in (NDEBUG). What a killed process ran is not counted.
set -eu
source=$(cd "$(dirname "$0")/../.." && pwd)
build=$(cd "$1" && pwd)
room=${2:-}

# ask OPTION...: gcovr's answer on stdout. It wants its objects below where it stands.
ask() {
	(cd "$build" && gcovr --root "$source" --filter "$source/src/$room" --exclude-unreachable-branches --gcov-ignore-parse-errors src "$@")
}

if [ -n "$room" ]; then
	ask --sort-uncovered
	exit
fi
ask --json-summary | jq -r '
	def share(covered; total): if total == 0 then "-" else (1000 * covered / total | round / 10 | tostring) + " %" end;
	def row(name): [name, share(map(.line_covered) | add; map(.line_total) | add), share(map(.branch_covered) | add; map(.branch_total) | add)];
	.files | (group_by(.filename | split("/")[1])[] | row(.[0].filename | split("/")[1])), row("all") | @tsv' |
	awk -F '\t' '{ printf "%-12s %8s of lines %8s of branches\n", $1, $2, $3 }'
