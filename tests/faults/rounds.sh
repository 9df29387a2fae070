# SPDX-License-Identifier: ISC
# A claim tried in rounds, each made by its seed alone; to be sourced. A script of rounds is a quick test when run by itself, and a part of
# campaign.sh, which runs it for as long as one likes.
#
#     rounds_begin "$@"             reads --seed N, --rounds N or --seconds N, and --first N; $rounds_default rounds when neither is said
#     rounds_need 'every final name holds the bytes of the card' faulty_can      skips the claim where that fails and says why
#     while rounds_next; do         sets $round, and $seed, which follows from --seed and $round alone
#         one_round || rounds_broken 'a final name with other bytes'
#     done
#     rounds_pick way link move     sets $way to one of the words, by the seed; rounds_draw 6 sets $rounds_drawn to a number from 1 to 6
#     rounds_figure flipped 17      a count that is added up under its name
#     rounds_end 'every final name holds the bytes of the card'      one line of TAP: the claim; and the figures
#
# A round that broke the claim is told with what makes it again: --seed S --first K --rounds 1.

rounds_begin() {
	rounds_seed=1 rounds_first=1 rounds_count=${rounds_default:-10} rounds_seconds=
	while [ $# -gt 0 ]; do
		case $1 in
		--seed) rounds_seed=$2 ;;
		--first) rounds_first=$2 ;;
		--rounds) rounds_count=$2 rounds_seconds= ;;
		--seconds) rounds_seconds=$2 ;;
		*)
			echo "usage: $0 [--seed N] [--rounds N | --seconds N] [--first N]" >&2
			exit 2
			;;
		esac
		shift 2
	done
	round=$((rounds_first - 1))
	rounds_started=$(date +%s)
	rounds_bad=0
	rounds_figures=
}

rounds_need() {
	rounds_lacks=$("$2") || {
		echo "ok 1 - $1 # SKIP $rounds_lacks"
		echo 1..1
		exit 0
	}
}

rounds_next() {
	if [ -n "$rounds_seconds" ]; then
		[ $(($(date +%s) - rounds_started)) -lt "$rounds_seconds" ] || return 1
	else
		[ $((round + 1 - rounds_first)) -lt "$rounds_count" ] || return 1
	fi
	round=$((round + 1))
	seed=$(((rounds_seed * 1000003 + round * 7919) % 2147483647))
}

rounds_draw() {
	seed=$(((seed * 1103515245 + 12345) % 2147483648))
	rounds_drawn=$((1 + seed / 64 % $1))
}

rounds_pick() {
	rounds_name=$1
	shift
	rounds_draw $#
	shift $((rounds_drawn - 1))
	eval "$rounds_name=\$1"
}

rounds_broken() {
	rounds_bad=$((rounds_bad + 1))
	echo "# broken: $1; again: sh $0 --seed $rounds_seed --first $round --rounds 1"
}

# rounds_figure NAME COUNT: NAME is one word, letters and _ alone.
rounds_figure() {
	eval "rounds_figure_$1=\$((\${rounds_figure_$1:-0} + $2))"
	case " $rounds_figures " in *" $1 "*) ;; *) rounds_figures="$rounds_figures $1" ;; esac
}

rounds_end() {
	printf '# figures: rounds %s, broken %s' $((round + 1 - rounds_first)) "$rounds_bad"
	for rounds_name in $rounds_figures; do
		eval "printf ', %s %s' '$rounds_name' \"\$rounds_figure_$rounds_name\""
	done
	echo
	if [ "$rounds_bad" = 0 ] && [ "$round" -ge "$rounds_first" ]; then echo "ok 1 - $1"; else echo "not ok 1 - $1"; fi
	echo 1..1
	[ "$rounds_bad" = 0 ]
}
