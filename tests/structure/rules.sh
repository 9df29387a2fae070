#!/bin/sh
# SPDX-License-Identifier: ISC
# Rules a machine can check: who includes whom, how long things are, what is never called. TAP.
set -eu
cd "$HEADRACE_SOURCE"
number=0 failures=0

# check SENTENCE FILE: holds when FILE, a list of offences, is empty.
check() {
	number=$((number + 1))
	if [ -s "$2" ]; then
		failures=$((failures + 1))
		echo "not ok $number - $1"
		sed 's/^/# /' "$2"
	else
		echo "ok $number - $1"
	fi
	rm -f "$2"
}

found=$(mktemp)
sources=$(find src include tests -name '*.[ch]' | sort)

# The public headers of a room are as the room itself; status, cancel, name and proof belong to base, buffer to forecast.
for file in $(find src -name '*.[ch]' | sort); do
	room=${file#src/} room=${room%%/*}
	sed -n 's/^#include \("[^"]*"\|<[^>]*>\).*/\1/p' "$file" | while read -r header; do
		case $header in
		'"'*) target=${header#?} target=${target%%/*} ;;
		'<headrace/status.h>' | '<headrace/cancel.h>' | '<headrace/name.h>' | '<headrace/proof.h>') target=base ;;
		'<headrace/buffer.h>') target=forecast ;;
		'<headrace/'*) target=${header#<headrace/} target=${target%.h>} ;;
		*)
			rule=$(grep '^<' tests/structure/includes.txt | while IFS=: read -r prefix rooms; do
				case $header in "$prefix"*) echo "$rooms" ;; esac
			done)
			case " $rule " in "  ") ;; *" $room "*) ;; *) echo "$file includes $header" ;; esac
			continue
			;;
		esac
		allowed=$(sed -n "s/^$room://p" tests/structure/includes.txt)
		case $header$room in
		'<headrace/'*cli) continue ;;
		'"platform/terminal.h"cli') continue ;;
		esac
		case " $allowed $room " in *" $target "*) ;; *) echo "$file includes $header" ;; esac
	done
done >"$found"
check "each room includes only the rooms below it" "$found"

wc -l $(find src tests -name '*.c') | awk '$2 != "total" && $1 > 600 { print $2 " has " $1 " lines" }' >"$found"
check "no file passes 600 lines" "$found"

for file in $(find src -name '*.c'); do
	awk -v file="$file" '
		/^[a-z].*\)$/ || /^[a-z].*,$/ { head = $0 }
		/^{/ { start = NR; name = head }
		/^}/ && start { if (NR - start > 80) print file ": " name " has " NR - start " lines"; start = 0 }' "$file"
done >"$found"
check "no function passes 80 lines" "$found"

grep -nE '(^|[^a-zA-Z_])(strcpy|strcat|sprintf|vsprintf|gets|strtok|atoi|atol|atof|system|popen|alloca|tmpnam|mktemp|setjmp|longjmp)\(' \
	$(find src -name '*.[ch]') >"$found" || true
check "calls that cannot be used safely are not used" "$found"

grep -nE '(^|[^a-zA-Z_])(exit|_exit|abort|printf|puts|putchar|perror|fprintf)\(' $(find src -name '*.[ch]' ! -path 'src/cli/*') |
	grep -vE 'src/platform/interrupt.c' >"$found" || true
check "nothing below the command line exits or prints" "$found"

grep -n -A 1 'hr__fault_set(' $(find src -name '*.c' ! -path 'src/base/*') | grep '"%s: ' >"$found" || true
check "a fault that begins with a path has it escaped (hr__fault_about)" "$found"

grep -nE '\bvolatile\b|\bgoto\b' $(find src -name '*.[ch]') | grep -vE 'sig_atomic_t' >"$found" || true
check "no volatile flag and no goto" "$found"

for file in $sources; do
	head -n 1 "$file" | grep -q 'SPDX-License-Identifier: ISC' || echo "$file"
done >"$found"
check "each source names its licence in its first line" "$found"

find src -name '*.[ch]' -printf '%f\n' | sort | uniq -d >"$found"
check "file names are unique in the tree" "$found"

for header in include/headrace/*.h; do
	gcc -std=c17 -Wall -Wextra -Wpedantic -Werror -Iinclude -fsyntax-only -x c "$header" 2>&1 || echo "$header as C"
	g++ -std=c++17 -Wall -Wextra -Wpedantic -Werror -Iinclude -fsyntax-only -x c++ "$header" 2>&1 || echo "$header as C++"
done >"$found"
check "each public header compiles alone, as C and as C++" "$found"

echo "1..$number"
[ "$failures" -eq 0 ]
