#!/bin/sh
# SPDX-License-Identifier: ISC
# base_seeds.sh FOLDER: one input of base_fuzz of each kind.
set -eu
cd "$1"
printf '\000\002DCIM/100NMERE/NM__0421.JPG,"a,b ""c""",-17' >row
printf '\001a,b\000"c"\000\000d' >fields
printf '\002\024two\nlines %% caf\303\251 \377\302\205' >name
printf '\003100%%25 %%0A %%fF' >escaped
printf '\004stick \360\237\217\221 \355\240\200 \300\257 \364\217\277\277' >characters
printf '\005\000\000\000\000\377\377\377\3774294967295' >number
printf '\005\177\377\377\377\377\377\377\377-9223372036854775807' >signed-number
printf '\005\177\377\377\377\377\377\377\37717.9' >decimal
printf '\006\000\000\000\001\000\000\000\000\003\101\267\275\046\354\000\000\000' >units
printf '\006s\377\000\000\000\000\355[TB\277' >rate-rounded-once
printf '\007DCIM/100NMERE/NM__0421.JPG\000/media/card' >path
