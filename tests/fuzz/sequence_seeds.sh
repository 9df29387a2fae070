#!/bin/sh
# SPDX-License-Identifier: ISC
# sequence_seeds.sh FOLDER: an index of sequences as it is written, and as a spreadsheet may leave it.
set -eu
cd "$1"
header='sequence,body,serial,model,start,seconds,frames,files,bursts,cadence_per_s,stall_frame,drain_per_s,seconds_full,frames_lost'
files='sequence,number,name,path,time,filled'
first='143012_A,A,000A17,BODY A,2026-05-23 14:30:12.345,2.5,48,96,2,20.0,31,17.9,0.8,2'
row='143012_A,1,0001_NM__0421.JPG,20260523-150000_A/data/DCIM/100NMERE/NM__0421.JPG,2026-05-23 14:30:12.345,link'
printf '\000%s\n%s\n\000%s\n%s\n' "$header" "$first" "$files" "$row" >written
printf '\000%s\r\n%s\r\n\000%s\r\n%s\r\n' "$header" "$first" "$files" "$row" >line-ends
printf '\001%s\n\000%s\n143012_B,1,x,y,,\n' "$header" "$row" >no-row-yet
printf '\001%s\n\000%s\n143015_B,1,x,y,,\n143012_A,2,x,y,,\n' "$header" "$row" >sorted-otherwise
printf '\001%s\n"a, ""b""%%0A",,,,,,,,,,,,,\n\000"a, ""b""%%0A",7,x,y,,copy\n' "$header" >escaped
