# SPDX-License-Identifier: ISC
# Volumes that do harm, for shell tests; to be sourced. tests/support/faulty_rules.h teaches the rules.
#
#     faulty_begin "$scratch"                          first
#     trap faulty_end EXIT                             and this, or `media_at_end faulty_end`: unmounts all
#     faulty_mount card 'read flip path=*0007* once'   $scratch/card shows $scratch/card.real, made when missing, with these rules
#     faulty_rules card 'write EIO'                    other rules from now on; without one it is sound
#     faulty_count card 'read flip .*0007'             how often such harm was done since (a pattern of grep for lines of the log)
#     faulty_unmount card
#
# $faulty_seed (1) is the seed. The log of harm is $scratch/card.log.

# faulty_can: is this machine able to? 0 or 1; says why not on stdout.
faulty_can() {
	[ "$(id -u)" = 0 ] || { echo "not root"; return 1; }
	[ -c /dev/fuse ] || { echo "no /dev/fuse"; return 1; }
}

faulty_begin() {
	mkdir -p "$1" || return 1
	faulty_folder=$(cd "$1" && pwd -P)
	faulty_names=
}

faulty_end() {
	for faulty_name in ${faulty_names:-}; do
		faulty_unmount "$faulty_name" || :
	done
}

faulty_mount() {
	faulty_name=$1
	shift
	mkdir -p "$faulty_folder/$faulty_name" "$faulty_folder/$faulty_name.real" || return 1
	: >"$faulty_folder/$faulty_name.log"
	printf '%s\n' "$@" >"$faulty_folder/$faulty_name.rules"
	"$HEADRACE_BUILD/tests/support/faulty_volume" --seed "${faulty_seed:-1}" --log "$faulty_folder/$faulty_name.log" \
		--rules "$faulty_folder/$faulty_name.rules" "$faulty_folder/$faulty_name.real" "$faulty_folder/$faulty_name" || return 1
	faulty_names="$faulty_name $faulty_names"
}

# Not asked by its path, which may be gone from.
faulty_unmount() {
	grep -q "^faulty $faulty_folder/$1 " /proc/mounts || return 0
	umount "$faulty_folder/$1" 2>/dev/null || umount -l "$faulty_folder/$1"
}

faulty_rules() {
	faulty_unmount "$1" && faulty_mount "$@"
}

faulty_count() {
	grep -c "^[0-9]* $2" "$faulty_folder/$1.log" || :
}
