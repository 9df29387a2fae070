#!/bin/sh
# SPDX-License-Identifier: ISC
# Every claim that is tried in rounds (tests/faults/*_rounds.sh), one after the other, each for its share of the time; at the end one
# table of what was done and caught, and status 1 when a claim was broken or a part ended before it could say.
#
#     sh tests/faults/campaign.sh --seconds 3600 --seed 7                 all parts
#     sh tests/faults/campaign.sh --seconds 600 silent_place clean        these
#
# A round follows from the seed and its number alone: what is broken is told at once with the command that makes it again. The build
# is $HEADRACE_BUILD, build/release unless that is set; what each part said is kept in faults/PART.log there. Needs root and Linux.
set -eu
HEADRACE_SOURCE=$(cd "$(dirname "$0")/../.." && pwd)
HEADRACE_BUILD=${HEADRACE_BUILD:-$HEADRACE_SOURCE/build/release}
export HEADRACE_SOURCE HEADRACE_BUILD

refuse() {
	echo "usage: campaign.sh [--seconds N] [--seed N] [PART...]" >&2
	exit 2
}

seconds=600 seed=1 parts=
while [ $# -gt 0 ]; do
	case $1 in
	--seconds | --seed)
		[ $# -ge 2 ] || refuse
		case $1 in --seconds) seconds=$2 ;; *) seed=$2 ;; esac
		shift
		;;
	-*) refuse ;;
	*) parts="$parts $1" ;;
	esac
	shift
done
if [ -z "$parts" ]; then
	for script in "$HEADRACE_SOURCE"/tests/faults/*_rounds.sh; do
		part=${script##*/}
		parts="$parts ${part%_rounds.sh}"
	done
fi

# shellcheck disable=SC2086 # a list of words
set -- $parts
share=$((seconds / $#)) status=0
mkdir -p "$HEADRACE_BUILD/faults"
for part; do
	log=$HEADRACE_BUILD/faults/$part.log
	echo "# $part, $share s" >&2
	outcome=held
	sh "$HEADRACE_SOURCE/tests/faults/${part}_rounds.sh" --seconds "$share" --seed "$seed" >"$log" 2>&1 || outcome=BROKEN
	! grep -q '^ok .*# SKIP' "$log" || outcome=skipped
	grep -qE '^(not )?ok 1 - ' "$log" || outcome=DIED
	case $outcome in BROKEN | DIED) status=1 ;; esac
	case $outcome in
	BROKEN) grep '^# broken' "$log" >&2 ;;
	DIED) tail -n 20 "$log" >&2 ;;
	esac
	printf '%s %s %s\n' "$part" "$outcome" "$(sed -n 's/^# figures: //p' "$log")"
done >"$HEADRACE_BUILD/faults/figures"

awk '{
	part = $1; outcome = $2
	sub(/^[^ ]+ [^ ]+ ?/, "")
	printf "%-20s %s\n", part, outcome
	count = split($0, figures, ", ")
	for (i = 1; i <= count; i++) {
		split(figures[i], figure, " ")
		printf "  %-28s %10d\n", figure[1], figure[2]
	}
}' "$HEADRACE_BUILD/faults/figures"
exit $status
