#!/bin/sh
# SPDX-License-Identifier: ISC
# `headrace buffer` in every form. jq, xmllint and what the demo card was told are the witnesses. TAP.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
PATH=$HEADRACE_BUILD/src/cli:$HEADRACE_BUILD/tests/support:$PATH
export PATH XDG_STATE_HOME="$scratch/state" LC_ALL=C TZ=UTC
mkdir "$scratch/here"
cd "$scratch/here"

# answers STATUS COMMAND...: its output in `out`.
answers() {
	wanted=$1 status=0
	shift
	"$@" >out 2>err || status=$?
	cat out err
	[ "$status" = "$wanted" ]
}
# Counts of one body in the field: common practice, no source.
counts='--count 40:257 --count 30:360 --count 20:1362'
# Computed: 100 deep, drained by 20 a second (see the rows of each case).
neutral='--depth 100 --drain 20'

a_fit_of_counts_in_the_field_gives_depth_and_drain() {
	answers 0 headrace buffer fit $counts --json
	jq -e '.schema == 1 and .document == "buffer fit" and .warnings == []' out
	jq -e '(.depth_frames - 143.57 | fabs) <= 0.05 and (.drain_fps - 17.894 | fabs) <= 0.003' out
	jq -e '[.counts[].frames] == [257, 360, 1362] and all(.counts[]; .residual | fabs < 0.015)' out
	jq -e '.depth_frames > .range.depth[0] and .depth_frames < .range.depth[1] and
		.drain_fps > .range.drain[0] and .drain_fps < .range.drain[1]' out
	answers 0 headrace buffer fit $counts
	grep -xE 'depth 143\.6 frames \([0-9.]+ to [0-9.]+\), drain 17\.9 a second \([0-9.]+ to [0-9.]+\)' out
	grep -xE ' +40 +260 +6\.5 s   counted 257 \(-1\.1 %\)' out
	grep -xE ' +15 +never' out
	tap_fails grep caution out
}
tap a_fit_of_counts_in_the_field_gives_depth_and_drain

# The third count is then 1362, and the fit says 1814: computed.
a_fit_without_a_slow_rate_warns() {
	answers 0 headrace buffer fit --count 40:257 --count 30:360 --json
	jq -e '.warnings | any(test("no count at a slow rate"))' out
	jq -e '.rates[] | select(.fps == 20).frames | (. - 1814 | fabs) < 1' out
	answers 0 headrace buffer fit --count 40:257 --count 30:360
	grep '^caution: no count at a slow rate: ' out
}
tap a_fit_without_a_slow_rate_warns

one_count_gives_a_relation_alone() {
	answers 0 headrace buffer fit --count 40:257
	grep -x 'depth = 257 x (1 - drain / 40)' out
	tap_fails grep 'drain [0-9]' out
	answers 0 headrace buffer fit --count 40:257 --json
	jq -e '.depth_frames == null and .drain_fps == null and .range == null and (.warnings | length) == 1' out
	answers 1 headrace buffer fit --count 40:257 --card none.svg
	[ ! -e none.svg ]
}
tap one_count_gives_a_relation_alone

# N = b / (1 - r / f): 200 frames in 5 s at 40 a second, 500 in 20 s at 25.
a_hold_runs_full_where_the_formula_says() {
	answers 0 headrace buffer plan $neutral --hold 6s@40 --json
	jq -e '.schema == 1 and .document == "buffer plan" and .full_at_s == 5 and .frames == 220' out
	jq -e '[.timeline[] | [.t, .fill, .fps]] == [[0, 0, 40], [5, 1, 20], [6, 1, 0]]' out
	answers 0 headrace buffer plan $neutral --hold 20s --rate 25 --json
	jq -e '.full_at_s == null and .frames == 500 and .timeline[-1].fill == 1' out
	answers 0 headrace buffer plan $neutral --hold 4s@40 --quiet
	grep -x '160 frames in 4.0 s: never full' out
}
tap a_hold_runs_full_where_the_formula_says

# 40 to 25 a second at 75 % full: 275 frames in 8.75 s. Full again empties in 5 s.
easing_gets_more_frames_until_full() {
	answers 0 headrace buffer plan $neutral --hold 9s@40 --rest 5s --ease 75%:25 --json
	jq -e '.policies[0] | .name == "do nothing" and .full_at_s == 5' out
	jq -e '.policies[1] | .name == "ease 75% to 25/s" and .full_at_s == 8.75 and .frames == 280' out
	jq -e '.timeline[-1] | .t == 14 and .fill == 0' out
}
tap easing_gets_more_frames_until_full

# Files k times as small: k b / (1 - k r / f). With k = 1 / 0.5: 200 deep, drained by 40: never full at 40.
smaller_files_and_another_card_are_compared() {
	answers 0 headrace buffer plan $neutral --hold 6s@40 --size 0.5 --drain 24='card B' --drain 30 --json
	jq -e '[.policies[1:4][] | [.name, .frames, .full_at_s]] == [["files 0.5 times the size", 240, null],
		["card B, drain 24/s", 240, null], ["another card, drain 30/s", 240, null]]' out
	answers 0 headrace buffer plan $counts --hold 30s@40 --drain 20.564 --json
	# Drained by 2.67 a second more: 80 more frames in 30 s. Common practice, no source.
	jq -e '.policies[1].frames - .policies[0].frames - 80 | fabs < 0.5' out
}
tap smaller_files_and_another_card_are_compared

# The first hold leaves 60 %, the rest takes it to 40 %: the last is full after 3 s of 4. A second held back is 20 frames not filled
# and, the rest being longer, 20 more drained: half a second does.
what_to_hold_back_is_said() {
	answers 0 headrace buffer plan $neutral --hold 3s@40 --rest 1s --hold 4s@40
	grep -x '260 frames in 8.0 s: full at 7.0 s' out
	grep -x 'hold back 0.5 s before the last hold, and it runs its length' out
	answers 0 headrace buffer plan $neutral --hold 1.5s@40 --rest 1s --hold 4s@40 --json
	jq -e '.hold_back_s == 0 and .full_at_s == null' out
	answers 0 headrace buffer plan $neutral --hold 6s@40
	grep -x 'the hold is 1.0 s too long even for an empty buffer' out
	answers 0 headrace buffer plan $neutral --hold 6s@40 --json
	jq -e '.hold_back_s == null' out
}
tap what_to_hold_back_is_said

the_best_step_is_found_and_stands_last() {
	answers 0 headrace buffer plan $neutral --hold 3s@40 --rest 1s --hold 4s@40 --ease 75%:20 --json
	jq -e '.policies | length == 3 and (.[2].name | test("^best step: [0-9]+% to [0-9]+/s$"))' out
	jq -e '.policies[2].full_at_s == null and .policies[2].frames >= .policies[1].frames' out
	answers 0 headrace buffer plan $neutral --hold 3s@40 --ease 75%:20 --json
	jq -e '.policies | length == 2' out
}
tap the_best_step_is_found_and_stands_last

the_gauge_has_a_line_a_second_and_fits_a_terminal() {
	answers 0 headrace buffer plan $neutral --hold 4s@40 --rest 5s --hold 6s@40 --ease 50%:30,75%:25 --size 0.7
	[ "$(grep -cE '^ +[0-9]+ s  [#.]+ +[0-9]+%' out)" = 16 ]
	grep -xE ' +2 s  #{16} +40%  40/s' out
	grep -xE ' +15 s  #{40} 100%  full' out
	awk 'length > 80 { print; wide = 1 } END { exit wide }' out
	LC_ALL=C.UTF-8 answers 0 headrace buffer plan $neutral --hold 4s@40
	[ "$(grep -c '█' out)" = 4 ]
	answers 0 headrace buffer plan $neutral --hold 600s@40
	[ "$(grep -cE '^ +[0-9]+ s  ' out)" -le 41 ]
}
tap the_gauge_has_a_line_a_second_and_fits_a_terminal

pictures_are_new_files_well_formed_and_the_same_each_time() {
	for name in one other; do
		answers 0 headrace buffer plan $neutral --hold 3s@40 --rest 1s --hold 4s@40 --ease 75%:20 --drain '30=<A> & "B"' \
			--plot $name.svg --card $name-card.svg --quiet
	done
	cmp one.svg other.svg
	cmp one-card.svg other-card.svg
	xmllint --noout one.svg one-card.svg
	[ "$(grep -c '<rect class="hold"' one.svg)" = 2 ]
	grep '>ease 75% to 20/s<' one.svg
	grep '>&lt;A&gt; &amp; "B", drain 30/s<' one.svg
	# A dash of its own for each of the four ways, in the line and in the legend.
	[ "$(grep -o 'stroke-dasharray="[^"]*" stroke-linejoin' one.svg | sort | uniq -c | awk '$1 == 2' | wc -l)" = 4 ]
	answers 1 headrace buffer plan $neutral --hold 3s@40 --plot one.svg
	cmp one.svg other.svg
}
tap pictures_are_new_files_well_formed_and_the_same_each_time

# N at 40 a second is 200, three quarters 150, in 5 and 3.75 s; at 20 and below it never fills.
the_card_to_print_has_a_row_for_each_rate_that_fills() {
	answers 0 headrace buffer plan $neutral --hold 3s@40 --hold 3s@35 --card printed.svg --quiet
	grep -o 'class="rate">[^<]*<' printed.svg | tr -d '\n' | grep -x 'class="rate">25/s<class="rate">30/s<class="rate">35/s<class="rate">40/s<'
	grep '>200<' printed.svg
	grep '>5.0 s<' printed.svg
	grep '>150<' printed.svg
	grep '>3.8 s<' printed.svg
	answers 1 headrace buffer plan --depth 100 --drain 49.99 --hold 3s@50 --card full.svg
	grep 'there is nothing to print' err
	[ ! -e full.svg ]
}
tap the_card_to_print_has_a_row_for_each_rate_that_fills

# refuses SENTENCE ARGUMENT...
refuses() {
	sentence=$1
	shift
	answers 2 headrace buffer "$@"
	[ ! -s out ]
	grep -xF "headrace buffer: $sentence" err
}

what_makes_no_sense_is_refused() {
	count='--count wants frames a second and frames until the camera stopped, above 0, as 40:257'
	refuses 'a fit needs counts: frames until the camera stopped, at a rate' fit
	refuses "$count, not '40:-257'" fit --count 40:-257
	refuses "$count, not '0:257'" fit --count 0:257
	refuses "$count, not '40'" fit --count 40
	answers 2 headrace buffer fit --count 40:257 --count 20:200
	grep '^headrace buffer: no buffer gives these counts: ' err
	answers 2 headrace buffer fit --count 40:257 --count 40:100
	grep 'these are not of one buffer' err
	refuses 'describe the play: --hold 3s --rest 2s --hold 6s' plan $neutral
	refuses 'a play begins with --hold: from an empty buffer' plan $neutral --rest 2s --hold 3s@40
	refuses 'say how many frames a second: --rate 40, or --hold 3s@40' plan $neutral --hold 3s
	refuses "--hold wants seconds above 0, and a rate where it has its own, as 3s or 3s@40, not '-3s@40'" plan $neutral --hold -3s@40
	refuses "--drain wants frames a second above 0, as 17.9 or 21=NAME, not '0'" plan --depth 9 --drain 0 --hold 3s@40
	refuses "--depth wants a number above 0, as 20 or 17.9, not '-9'" plan --depth -9 --drain 3 --hold 3s@40
	refuses 'the card takes 50 frames a second and no hold is faster: the buffer never fills' plan --depth 9 --drain 50 --hold 3s@40
	refuses 'say what the buffer is: --depth 144 --drain 17.9, or --count 40:257 --count 20:1362, or --body SERIAL' plan --depth 9 --hold 3s@40
	refuses 'one of --depth, --count and --body, not several' plan --depth 9 $counts --hold 3s@40
	refuses 'one rate gives no depth: --count at a slower rate too' plan --count 40:257 --hold 3s@40
	refuses 'no camera makes more than 1000 frames a second' plan $neutral --hold 3s@1001
	refuses 'easings go from low fill to high, from fast to slow' plan $neutral --hold 3s@40 --ease 75%:20,50%:10
	refuses '6 ways to compare at most' plan $neutral --hold 3s@40 --ease 9%:9 --ease 8%:9 --ease 7%:9 --ease 6%:9 --ease 5%:9 --ease 4%:9 --ease 3%:9
}
tap what_makes_no_sense_is_refused

options_belong_to_a_command_of_it() {
	refuses 'say fit, plan or from'
	refuses "fit, plan or from, not 'paln'; did you mean plan?" paln
	refuses 'fit takes no --rest' fit --count 40:257 --rest 3s
	refuses 'fit takes no --plot' fit --count 40:257 --plot a.svg
	refuses 'fit takes options alone' fit 40:257
	refuses 'from takes no --hold' from . --hold 3s
	refuses 'from what? name a PLACE' from
}
tap options_belong_to_a_command_of_it

# card NAME DATE CADENCE DRAIN: body A's, with a buffer of 48 frames.
card() {
	demo_card --out $1 --date $2 --cadence $3 --drain $4 --buffer 48 --bodies A --frames 700 --seed 3 --size 64x48 --plain --bytes 40000
}
card one 2026-05-16 30 16
card two 2026-05-17 40 19.1

# near(SHARE; WANTED)
near='def near(share; wanted): (. / wanted - 1 | fabs) <= share;'

stalled_bursts_tell_depth_and_drain() {
	find one -printf '%p %s %T@ %C@\n' | sort >before
	answers 0 headrace buffer from one --json
	find one -printf '%p %s %T@ %C@\n' | sort | diff before -
	jq -e '.schema == 1 and .document == "buffer from" and .comparisons == [] and (.buffers | length) == 1' out
	jq -e "$near"' .buffers[0] | (.depth_frames | near(0.03; 48)) and (.drain_fps | near(0.02; 16)) and
		(.drain_MB_s | near(0.02; 16 * 0.04))' out
	jq -e '.buffers[0] | .body == "A" and .serial == "NM-A-0417" and .card == "one" and .files == ["jpeg"] and .by_counts == null and
		.stalls >= .rested and .rested > 0' out
	answers 0 headrace buffer from one
	grep -xE '  depth 4[78]\.[0-9] frames, drain 16\.0 a second, 0\.6 MB/s' out
	grep -xE '    one, jpeg: full in [0-9]+ bursts?, empty before [0-9]+' out
}
tap stalled_bursts_tell_depth_and_drain

# 3.1 frames a second more are 93 in 30 s.
cards_of_one_body_are_compared() {
	answers 0 headrace buffer from one two --json
	jq -e '[.buffers[].card] == ["one", "two"]' out
	jq -e "$near"' .comparisons | length == 1 and (.[0] | .faster == "two" and .slower == "one" and (.fps | near(0.05; 3.1)) and
		(.frames_in_30_s | near(0.05; 93)))' out
	answers 0 headrace buffer from one two
	grep -xE '  two clears 3\.[0-9] frames a second faster than one:' out
	grep -xE '    9[0-9] more frames in a 30 s hold' out
	answers 0 headrace buffer from one two --quiet
	[ "$(wc -l <out)" = 1 ]
	grep -xE 'the buffer was full in [0-9]+ bursts' out
}
tap cards_of_one_body_are_compared

a_card_is_named_by_its_bag() {
	mkdir ssd
	headrace offload one --to ssd --same-device --job Cup --quiet
	answers 0 headrace buffer from ssd --json
	[ "$(jq -r '.buffers[0].card' out)" = "$(basename ssd/Cup/*_one)" ]
}
tap a_card_is_named_by_its_bag

a_buffer_that_was_never_full_is_not_told() {
	demo_card --out calm --buffer 0 --frames 100 --seed 3 --size 64x48 --plain
	answers 0 headrace buffer from calm
	grep -x 'the buffer was never full: it cannot be told from these' out
	answers 0 headrace buffer from calm --json
	jq -e '.buffers == [] and .comparisons == []' out
	mkdir none
	answers 1 headrace buffer from none
	grep -x 'headrace: there is no frame in what was named' err
	answers 1 headrace buffer from nowhere
	grep '^headrace: cannot find nowhere' err
}
tap a_buffer_that_was_never_full_is_not_told

# `from` above noted the cards; body A was shot last on card two.
a_plan_for_a_body_needs_no_figures() {
	answers 0 headrace buffer from one two --json
	depth=$(jq '.buffers[1].depth_frames' out)
	answers 0 headrace buffer plan --body NM-A-0417 --hold 3s@40
	grep -xE 'body NM-A-0417, jpeg: depth 4[78]\.[0-9], drain 19\.[0-9], as shot 2026-05-17' out
	answers 0 headrace buffer plan --body NM-A-0417 --hold 30s@40 --drain 30 --json
	jq -e "$near .full_at_s | near(0.02; $depth / (40 - 19.1))" out
	jq -e '.policies[1].name == "another card, drain 30/s"' out
	answers 1 headrace buffer plan --body NM-B-0932 --hold 3s@40
	grep -x 'headrace: no depth of body NM-B-0932 is known: headrace buffer from PLACE finds it' err
	answers 1 headrace buffer plan --body NM-A-0417 --hold 3s@40 --ledger none.db
	grep '^headrace: there is no ledger none.db: ' err
	refuses 'one of --depth, --count and --body, not several' plan --body NM-A-0417 --depth 9 --hold 3s@40
	refuses 'fit takes no --body' fit --body NM-A-0417 --count 40:257
}
tap a_plan_for_a_body_needs_no_figures

# A folder stands where the ledger belongs.
what_cannot_be_remembered_is_told_all_the_same() {
	mkdir folder.db
	answers 0 headrace buffer from one --ledger folder.db
	grep -E '^  depth 4[78]' out
	grep '^headrace: the ledger was not told: ' err
}
tap what_cannot_be_remembered_is_told_all_the_same

every_key_stands_in_the_man_page() {
	headrace buffer fit $counts --json >fit.json
	headrace buffer plan $neutral --hold 6s@40 --json >plan.json
	headrace buffer from one two --json >from.json
	jq -r 'paths | map(select(type == "string")) | last // empty' fit.json plan.json from.json | sort -u >keys
	[ "$(wc -l <keys)" -gt 25 ]
	while read -r key; do
		grep -qw -- "$key" "$HEADRACE_SOURCE/man/headrace-buffer.1" || echo "$key"
	done <keys | tee missing
	[ ! -s missing ]
}
tap every_key_stands_in_the_man_page

tap_done
