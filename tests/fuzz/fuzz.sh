#!/bin/sh
# SPDX-License-Identifier: ISC
# fuzz.sh TARGET SEEDER RUNS: runs a libFuzzer target for so many inputs from the seeds that SEEDER writes; TAP. By hand, for long:
#   HEADRACE_FUZZ_RUNS=5000000 HEADRACE_FUZZ_MORE=FOLDER sh tests/fuzz/fuzz.sh TARGET SEEDER 0
# HEADRACE_FUZZ_MORE is a folder of further inputs. Inputs found to be new are kept in TARGET-corpus for the next run.
set -eu
target=$1 seeder=$2 name=$(basename "$1")
runs=${HEADRACE_FUZZ_RUNS:-$3}
if ! [ -x "$target" ]; then
	echo "ok 1 - $name: any input comes to an end without a fault # SKIP clang or its fuzzer library is not here"
	echo 1..1
	exit 0
fi
corpus=$target-corpus seeds=$target-seeds
mkdir -p "$corpus" "$seeds"
"$seeder" "$seeds"
if "$target" -runs="$runs" -seed=2 -max_len=65536 -timeout=20 -rss_limit_mb=2048 -print_final_stats=1 -artifact_prefix="$target-" \
	"$corpus" "$seeds" ${HEADRACE_FUZZ_MORE:+"$HEADRACE_FUZZ_MORE"} >"$target.log" 2>&1; then
	echo "# $(sed -n "s/^stat::number_of_executed_units: *//p" "$target.log") inputs"
	echo "ok 1 - $name: any input comes to an end without a fault"
else
	tail -n 40 "$target.log" | sed 's/^/# /'
	echo "not ok 1 - $name: any input comes to an end without a fault"
	status=1
fi
echo 1..1
exit "${status:-0}"
