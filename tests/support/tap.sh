# SPDX-License-Identifier: ISC
# TAP from a POSIX shell test, to be sourced.
#
#     tap keeps_a_name                   runs the function by itself under `set -e`; its name, as a sentence, is the test's
#     tap_fails COMMAND...               holds when the command fails; `! COMMAND` would hold either way, unless it comes last
#     tap_wait SECONDS COMMAND...        until the command holds; fails when it has not within that time
#     tap_skip keeps_a_name "not root"   says why it was not run
#     tap_if "exfat throttle" CASE...    runs those the machine has what they need for (media_can of media.sh), skips the others
#     tap_flip FILE OFFSET               one bit of this byte of a file becomes another, whatever it was
#     tap_done                           the plan, and status 1 when one failed; the last line of the script
#
# What a failed case wrote is shown as comments, with the commands it ran. Where $HEADRACE_KEEP names a folder, what then stood in
# $scratch is copied there (run.sh --keep).

tap_count=0
tap_failed=0

tap_sentence() {
	echo "$1" | tr _ ' '
}

tap() {
	tap_count=$((tap_count + 1))
	# Not in a condition, where the shell would ignore set -e inside the function.
	set +e
	tap_output=$( (
		set -ex
		"$1"
	) 2>&1)
	tap_status=$?
	set -e
	if [ "$tap_status" = 0 ]; then
		echo "ok $tap_count - $(tap_sentence "$1")"
	else
		tap_failed=$((tap_failed + 1))
		echo "not ok $tap_count - $(tap_sentence "$1")"
		printf '%s\n' "$tap_output" | tail -n 40 | sed 's/^/# /'
		[ -z "${HEADRACE_KEEP:-}" ] || [ ! -d "${scratch:-}" ] || cp -a "$scratch" "$HEADRACE_KEEP/$1"
	fi
}

tap_fails() {
	if "$@"; then return 1; fi
}

tap_wait() {
	tap_tries=$(($1 * 20))
	shift
	until "$@" 2>/dev/null; do
		tap_tries=$((tap_tries - 1))
		[ "$tap_tries" -gt 0 ] || return 1
		sleep 0.05
	done
}

tap_skip() {
	tap_count=$((tap_count + 1))
	echo "ok $tap_count - $(tap_sentence "$1") # SKIP $2"
}

tap_if() {
	tap_needs=$1
	shift
	for tap_case; do
		# shellcheck disable=SC2086 # a list of words
		if tap_why=$(media_can $tap_needs); then tap "$tap_case"; else tap_skip "$tap_case" "$tap_why"; fi
	done
}

tap_flip() {
	tap_byte=$(od -An -tu1 -j "$2" -N 1 "$1")
	printf "\\$(printf '%03o' $((tap_byte ^ 1)))" | dd of="$1" bs=1 seek="$2" conv=notrunc 2>/dev/null
}

tap_done() {
	echo "1..$tap_count"
	[ "$tap_failed" = 0 ]
}
