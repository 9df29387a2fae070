# SPDX-License-Identifier: ISC
# What the build under test can do, to be sourced after tap.sh. The portable build knows nothing of what stands behind a path:
# no file system, no disk, no read-back that is shown to come from the medium. It must say so, and tests hold it to that.

# able medium|volumes: see able.c.
able() {
	"$HEADRACE_BUILD/tests/support/able" "$1"
}

# What two drives need said where the build cannot tell them apart; to be used unquoted.
same_device=
able volumes || same_device=--same-device

# expect_safe CARD: it may be formatted. Where nothing can be shown to come from the medium the answer is no, for that reason
# alone: every file was read back, and none counts.
expect_safe() {
	able_answer=$("$HEADRACE_BUILD/src/cli/headrace" safe "$1" --json) && able_status=0 || able_status=$?
	if able medium; then
		[ "$able_status" = 0 ]
		able_wanted='.is_safe and .on_two_or_more == .files'
	else
		[ "$able_status" = 1 ]
		able_wanted='.files as $all | .on_none == $all and .not_carried == 0 and any(.drives[]; .not_from_medium == $all)'
	fi
	printf '%s\n' "$able_answer" | jq -e ".cards[0] | $able_wanted"
}
