#!/bin/sh
# SPDX-License-Identifier: ISC
# cli_seeds.sh FOLDER: what is typed and what is shown, one input of cli_fuzz of each kind.
set -eu
cd "$1"
printf '\000offload\000/media/card\000--to\000one\000-ttwo\000--first=protected,newest\000--by\00012min\000--digest=xxh128' >offload
printf '\000buffer\000plan\000--hold\0003s@40\000--rest\0002s\000--rate\00020\000--count\00040:257' >buffer-options
printf '\000log\0007\000--color\000never\000-qh\000--\000--json' >log
printf '\001\000\000\000\000\000\000\000\000\0001.5h' >span
printf '\001\027\377\377\377\377\377\377\377\00015:42' >clock
printf '\002\030\061\163\113\001\002\003\004\000\000\000\000\000\000\000\000\170' >time
printf '\002\200\000\000\000\000\000\000\000\000\000\000\000\000\000\000\000\000\074' >first-time
printf '\00340:257\00017.9=card B\00075%%:20,90%%:15\000h3s@40\000r2s\000h6' >play
printf '\004\001\001members\000\002\000a\000caf\303\251\000\003\001\377\n\000\006\003\100\011\041\373\124\104\055\030' >json
printf '\005a<b & "c" \377 \357\277\277' >label
