#!/bin/sh
# SPDX-License-Identifier: ISC
# bag_seeds.sh FOLDER: text files of a bag, one of each kind, as bag_fuzz takes them.
set -eu
cd "$1"
md5=900150983cd24fb0d6963f7d28e17f72 xxh128=06b05ab6733a618578af5f94892f3950
printf '\000%s  data/%%7Ea\r\n%s *data/b\n' $md5 $md5 >manifest-0.97
printf '\001%s  data/100%%25.txt\n%s ./data/two%%0Alines\n' $md5 $md5 >manifest-1.0
printf '\002BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n' >declaration
printf '\002External-Description: frames of the final\r\n  by body A\r\nPayload-Oxum: 77.1\r\n' >info
printf '\003path,size_bytes,modified_ns,xxh128,sha256,read_at_ns,proven_at_ns,proof\n"a,%%25",3,-1,%s,,1,2,direct\nb' $xxh128 >journal
printf '\004\357\273\277BOM' >utf8
printf '\005caf\351' >latin1
printf '\006\376\377\000a\330\074\337\321' >utf16
printf '\010DCIM/101NORTH/NM__0421.JPG,DCIM/101NORTH/NM__0421,1778944324420000000,10000000,120,"000A17,2",,BODY A,421,1,100%%25,3,1,1600,1/2000,6000,4000,6,4096+300000;900+8000,bad-time' >frame-row
printf '\011path,to\nDCIM/100NMERE/NM__0421.JPG,sequences/143012_A/0001.JPG\n"a,b",%%25\n' >record
printf '\011path,to\nDCIM/100NMERE/NM__0421.JPG,sequences/143012_A/0001' >record-cut-off
printf '\011path,to\na,b\000c,d\n' >record-torn
digest=06b05ab6733a618578af5f94892f3950 # of "abc"
sha256=ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad
printf '\012\000BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n\000\001Payload-Oxum: 3.1\nExternal-Identifier: card\n\000\002%s  data/a\n\000\003%s  data/a\n\000\016abc\000\006https://desk.example/a 3 data/a\n' $sha256 $digest >bag
printf '\012\000BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n\000\007path,size_bytes,modified_ns,xxh128,sha256,read_at_ns,proven_at_ns,proof\na,3,-1,%s,%s,1,2,direct\n\000\003%s  data/a\n\000\002%s  data/a\n\000\016abc\000\011path,to\na,beside/b\n' $digest $sha256 $digest $sha256 >giving-bag
printf '\012\012path,size_bytes,modified_ns,xxh128,sha256,read_at_ns,proven_at_ns,proof\na,3,-1,%s,,1,2,cache\nb\000\013External-Identifier: card\n\000\016abc\000\014path\n' $digest >unfinished-bag
