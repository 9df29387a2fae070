#!/bin/sh
# SPDX-License-Identifier: ISC
# The program under memcheck (Debian package valgrind): no memory used wrongly, and none left unfreed at the end, ours or a library's.
# The main commands on a small card; by hand, all that other scripts do with the program, whose own verdicts hold as well:
#   HEADRACE_BUILD=$PWD/build/release HEADRACE_SOURCE=$PWD sh tests/structure/valgrind.sh cli/answers_test.sh offload/frames_test.sh
# valgrind 3.19 knows no openat2 and warns of it; the program then opens as on an old kernel. Such lines begin with "--", findings with "==".
set -eu
. "$HEADRACE_SOURCE/tests/support/tap.sh"
scratch=$(mktemp -d "${TMPDIR:-/tmp}/headrace-valgrind.XXXXXX")
trap 'rm -rf "$scratch"' EXIT
mkdir -p "$scratch/build/src/cli" "$scratch/told"

# A build folder in which the program is one that runs the real one under memcheck.
for each in "$HEADRACE_BUILD"/* "$HEADRACE_BUILD"/src/* "$HEADRACE_BUILD"/src/cli/*; do
	[ -e "$scratch/build/${each#"$HEADRACE_BUILD"/}" ] || ln -s "$each" "$scratch/build/${each#"$HEADRACE_BUILD"/}"
done
headrace=$scratch/build/src/cli/headrace
rm "$headrace"
cat >"$headrace" <<-END
	#!/bin/sh
	exec valgrind -q --leak-check=full --show-leak-kinds=all --log-file='$scratch/told/%p' '$HEADRACE_BUILD/src/cli/headrace' "\$@"
END
chmod +x "$headrace"

memcheck_finds_nothing() {
	[ -n "$(ls "$scratch/told")" ]
	tap_fails grep -rh '^==' "$scratch/told"
}

uses_memory_rightly_in_an_offload_and_what_follows_it() {
	cd "$scratch"
	export XDG_STATE_HOME="$scratch/state"
	mkdir ssd backup
	"$HEADRACE_BUILD/tests/support/demo_card" --out card --seed 7 --frames 24 --size 32x24
	"$headrace" offload card --to ssd --to backup --same-device --quiet || [ $? = 1 ] # in memory, it is not proven
	"$headrace" verify ssd backup
	"$headrace" safe card || [ $? = 1 ]
	"$headrace" sequences ssd --fill link
	"$headrace" forecast card --to ssd --same-device --json
	memcheck_finds_nothing
}

uses_memory_rightly_in_another_script() {
	HEADRACE_BUILD=$scratch/build sh "$HEADRACE_SOURCE/tests/$script"
	memcheck_finds_nothing
}

[ $# != 0 ] || tap uses_memory_rightly_in_an_offload_and_what_follows_it
for script; do
	tap uses_memory_rightly_in_another_script
done
tap_done
