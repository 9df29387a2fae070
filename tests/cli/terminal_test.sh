#!/bin/sh
# SPDX-License-Identifier: ISC
# Colour, streams that fail, and locales. TAP.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
PATH=$HEADRACE_BUILD/src/cli:$PATH
export PATH XDG_STATE_HOME="$scratch/state" TERM=xterm
unset NO_COLOR CLICOLOR CLICOLOR_FORCE
cd "$scratch"
escape=$(printf '\033')

on_terminal() { script -qec "$1" /dev/null </dev/null; }
asks='headrace safe no-card'

colour_stands_only_on_a_terminal() {
	on_terminal "$asks" | grep -q "$escape\[1;31mNOT SAFE"
	$asks 2>&1 | tap_fails grep -q "$escape"
}
tap colour_stands_only_on_a_terminal

no_color_and_dumb_terminals_are_honoured() {
	NO_COLOR=1 on_terminal "$asks" | tap_fails grep -q "$escape\[1;31m"
	CLICOLOR=0 on_terminal "$asks" | tap_fails grep -q "$escape\[1;31m"
	TERM=dumb on_terminal "$asks" | tap_fails grep -q "$escape"
	NO_COLOR='' on_terminal "$asks" | grep -q "$escape\[1;31m"
}
tap no_color_and_dumb_terminals_are_honoured

colour_can_be_forced_and_forbidden() {
	CLICOLOR_FORCE=1 $asks | grep -q "$escape\[1;31m"
	$asks --color=always | grep -q "$escape\[1;31m"
	NO_COLOR=1 $asks --color=always | grep -q "$escape\[1;31m"
	on_terminal "$asks --color=never" | tap_fails grep -q "$escape\[1;31m"
}
tap colour_can_be_forced_and_forbidden

nothing_moves_off_a_terminal() {
	$asks >out 2>err || [ $? = 1 ]
	tap_fails grep "$escape" out err
	[ ! -s err ]
}
tap nothing_moves_off_a_terminal

a_full_disk_behind_stdout_is_a_failure() {
	status=0
	headrace help >/dev/full 2>err || status=$?
	[ $status = 1 ]
	grep 'cannot write the results' err
	status=0
	headrace log --ledger x --json >/dev/full 2>err || status=$?
	[ $status = 1 ]
}
tap a_full_disk_behind_stdout_is_a_failure

a_closed_stdout_is_a_failure() {
	status=0
	headrace help >&- 2>err || status=$?
	[ $status = 1 ]
	grep 'cannot write the results' err
}
tap a_closed_stdout_is_a_failure

a_reader_that_has_gone_is_met_quietly() {
	mkfifo pipe
	for asked in 'headrace help' "$asks"; do
		cat pipe >/dev/null &
		reader=$!
		exec 3>pipe
		kill $reader
		wait $reader || :
		$asked >&3 2>err || :
		exec 3>&-
		cat err
		[ ! -s err ]
	done
}
tap a_reader_that_has_gone_is_met_quietly

says_the_same_in_every_locale() {
	for asked in 'headrace help offload' "$asks" 'headrace log --limit x' 'headrace offload A --to B --FIRST x'; do
		LC_ALL=C $asked >expected 2>&1 || :
		for locale in C.UTF-8 tr_TR.UTF-8 no_SUCH; do
			LC_ALL=$locale LANGUAGE=tr $asked >said 2>&1 || :
			cmp expected said
		done
	done
}
tap says_the_same_in_every_locale

tap_done
