#!/bin/bash
# SPDX-License-Identifier: ISC
# What bash offers for a command line, one a line: completions.bash FILE WORD... ; the last word is being typed.
source "$1"
shift
COMP_WORDS=("$@") COMP_CWORD=$(($# - 1))
_headrace
printf '%s\n' "${COMPREPLY[@]}"
