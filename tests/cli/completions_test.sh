#!/bin/sh
# SPDX-License-Identifier: ISC
# Completions as bash runs them; zsh and fish take theirs. TAP.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
program=$HEADRACE_BUILD/src/cli/headrace
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
for shell in bash zsh fish; do
	"$program" --print-completions $shell >"$scratch/headrace.$shell"
done
mkdir "$scratch/here" "$scratch/here/Northmere final" "$scratch/here/north"
touch "$scratch/here/north.tar"

# offers "LINE" "WORDS": what is offered, with / between.
offers() {
	offered=$(cd "$scratch/here" && bash "$HEADRACE_SOURCE/tests/cli/completions.bash" "$scratch/headrace.bash" "$@" | sort | paste -sd/)
}

bash_offers_commands() {
	offers headrace ""
	[ "$offered" = buffer/devices/forecast/help/log/measure/offload/safe/sequences/verify ]
	offers headrace help v
	[ "$offered" = verify ]
}
tap bash_offers_commands

bash_offers_options_of_the_command() {
	offers headrace offload --re
	[ "$offered" = --reread-card ]
	offers headrace safe --re
	[ "$offered" = "" ]
	offers headrace --v
	[ "$offered" = --version ]
}
tap bash_offers_options_of_the_command

bash_offers_the_words_an_option_takes() {
	offers headrace offload A --progress ""
	[ "$offered" = auto/bar/lines/none ]
	offers headrace sequences A --fill re
	[ "$offered" = reflink ]
	offers headrace --print-completions f
	[ "$offered" = fish ]
}
tap bash_offers_the_words_an_option_takes

bash_offers_folders_where_a_place_is_wanted() {
	offers headrace offload A --to n
	[ "$offered" = north ]
	offers headrace offload A -t N
	[ "$offered" = "Northmere final" ]
	offers headrace offload n
	[ "$offered" = north/north.tar ]
	offers headrace verify N
	[ "$offered" = "Northmere final" ]
	offers headrace log n
	[ "$offered" = "" ]
}
tap bash_offers_folders_where_a_place_is_wanted

zsh_takes_its_completion() {
	zsh -n "$scratch/headrace.zsh"
	head -n 1 "$scratch/headrace.zsh" | grep -qx '#compdef headrace'
}
tap zsh_takes_its_completion

fish_offers_options_of_the_command() {
	fish -n "$scratch/headrace.fish"
	fish --no-config -c "source '$scratch/headrace.fish'; complete -C 'headrace offload --rer'" | grep -q '^--reread-card'
	fish --no-config -c "source '$scratch/headrace.fish'; complete -C 'headrace sa'" | grep -q '^safe'
}
tap fish_offers_options_of_the_command

tap_done
