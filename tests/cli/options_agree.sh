#!/bin/sh
# SPDX-License-Identifier: ISC
# Each command's options are the same in its help, its man page and the completions of all three shells. TAP.
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
program=$HEADRACE_BUILD/src/cli/headrace
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

# "-t --to PLACE", an option a line.
of_help() {
	"$program" ${1:+"$1"} --help | sed -n '/^Options:/,/^$/p' |
		sed -nE 's/^  (-.,)? *--([a-z-]+)( [A-Za-z.=:@%]+)?(  .*|$)/\1 --\2\3/p' | sed 's/,//; s/^ //' | sort
}
of_page() {
	sed -nE '/^\.It (Fl . , )?Fl Fl /{s/^\.It //; s/Fl Fl /--/; s/Fl (.) , /-\1 /; s/ Ar / /; p;}' \
		"$HEADRACE_SOURCE/man/headrace${1:+-$1}.1" | sort
}
long_of_help() { of_help "$1" | grep -oE -- '--[a-z-]+' | sort; }
all_of_help() { of_help "$1" | grep -oE -- '(^| )--?[a-zA-Z-]+' | tr -d ' ' | sort; }
of_bash() {
	"$program" --print-completions bash | sed -nE "s/^    '$1 -'\*\) _headrace_words '(.*)' ;;/\1/p" | tr ' ' '\n' | sort
}
# The lines of one command's _arguments, or for "" those before the commands.
of_zsh() {
	"$program" --print-completions zsh | awk -v command="$1" '
		/^    _arguments -C/ { here = command == "" }
		/^        [a-z]+\) _arguments/ { here = $1 == command ")" }
		here' | sed -nE "s/^ *'\*?(--?[a-zA-Z-]+)\[.*/\1/p" | sort
}
of_fish() {
	condition=${1:+__fish_seen_subcommand_from $1}
	"$program" --print-completions fish | grep -F "'${condition:-__fish_use_subcommand}' -l" |
		sed -nE "s/.* -l ([a-z-]+)( -s (.))?.*/--\1 -\3/p" | tr ' ' '\n' | grep -vx -- - | sort
}

same() {
	"$1" "$command" >"$scratch/one"
	"$2" "$command" >"$scratch/other"
	[ -s "$scratch/one" ]
	diff -u "$scratch/one" "$scratch/other"
}
for command in '' offload safe verify sequences devices measure buffer forecast log; do
	name=${command:-headrace}
	eval "help_and_man_page_of_${name}_agree() { same of_help of_page; }
		help_and_bash_completion_of_${name}_agree() { same long_of_help of_bash; }
		help_and_zsh_completion_of_${name}_agree() { same all_of_help of_zsh; }
		help_and_fish_completion_of_${name}_agree() { same all_of_help of_fish; }"
	tap "help_and_man_page_of_${name}_agree"
	tap "help_and_bash_completion_of_${name}_agree"
	tap "help_and_zsh_completion_of_${name}_agree"
	tap "help_and_fish_completion_of_${name}_agree"
done

commands() { "$program" help | sed -n '/^Commands:/,/^$/s/^  \([a-z]*\) .*/\1/p' | sort; }

every_command_has_a_man_page_and_stands_in_the_overview() {
	[ "$(commands | wc -l)" -ge 6 ]
	for command in $(commands | grep -vx help); do
		grep -q "^\.It Xr headrace-$command 1 Ta " "$HEADRACE_SOURCE/man/headrace.1"
		sed -n '/^\.Sh SEE ALSO$/,/^\.Sh CAUTION$/p' "$HEADRACE_SOURCE/man/headrace.1" | grep -qx "\.Xr headrace-$command 1 ,"
		grep -q "^\.Nm headrace-$command$" "$HEADRACE_SOURCE/man/headrace-$command.1"
	done
}
tap every_command_has_a_man_page_and_stands_in_the_overview

man_pages_are_free_of_complaints() {
	# In their folder, where mandoc finds the pages they refer to.
	cd "$HEADRACE_SOURCE/man"
	for page in *.[1-9]; do
		mandoc -T lint -W all "$page" | grep -v 'outdated mandoc.db' >>"$scratch/complaints" || true
	done
	cat "$scratch/complaints"
	[ ! -s "$scratch/complaints" ]
}
tap man_pages_are_free_of_complaints

no_line_of_help_is_wider_than_a_terminal() {
	for command in '' $(commands); do
		"$program" $command --help
	done | awk 'length > 80 { print; wide = 1 } END { exit wide }'
}
tap no_line_of_help_is_wider_than_a_terminal

tap_done
