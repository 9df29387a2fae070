#!/bin/sh
# SPDX-License-Identifier: ISC
# Runs what stands behind each "$ " of a transcript and compares what it says: standard output, then standard error with "! " before each
# line, then "[STATUS]" unless it is 0. TAP, a test a command. The scratch folder's path reads SCRATCH. With --write, prints the transcript
# as it is now.
set -eu
transcript=$1
PATH=$HEADRACE_BUILD/src/cli:$PATH
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
export PATH XDG_STATE_HOME="$scratch/state" TERM=xterm LC_ALL=C TZ=UTC
unset NO_COLOR CLICOLOR CLICOLOR_FORCE
mkdir "$scratch/here"
number=0 failures=0 command='' expected=''

say() {
	status=0
	(cd "$scratch/here" && eval "$command") >"$scratch/out" 2>"$scratch/err" </dev/null || status=$?
	sed "s|$scratch|SCRATCH|g" "$scratch/out"
	sed "s|$scratch|SCRATCH|g; s/^/! /" "$scratch/err"
	[ "$status" = 0 ] || echo "[$status]"
}

compare() {
	[ -n "$command" ] || return 0
	number=$((number + 1))
	say >"$scratch/said"
	printf '%s' "$expected" >"$scratch/expected"
	if [ "${2:-}" = --write ]; then
		printf '$ %s\n' "$command"
		cat "$scratch/said"
	elif diff -u "$scratch/expected" "$scratch/said" >"$scratch/differences"; then
		printf 'ok %s - %s\n' "$number" "$command"
	else
		failures=$((failures + 1))
		printf 'not ok %s - %s\n' "$number" "$command"
		sed 's/^/# /' "$scratch/differences"
	fi
}

while IFS= read -r line || [ -n "$line" ]; do
	case $line in
	'$ '*)
		compare "$@"
		command=${line#??} expected=''
		;;
	*) expected=$expected$line'
' ;;
	esac
done <"$transcript"
compare "$@"
[ "${2:-}" = --write ] || echo "1..$number"
[ "$failures" = 0 ]
