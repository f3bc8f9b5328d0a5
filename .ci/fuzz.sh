#!/usr/bin/env bash
# fuzz.sh AMOUNT: runs every fuzz target of the module for AMOUNT each: a time
# such as 1m, or a count of inputs such as 3000x. Fails when a target fails,
# and when there is none.
#
# A count cannot fail for want of time: at the end of a time, go test sometimes
# reports "context deadline exceeded" for a target that found nothing wrong.
set -euo pipefail
cd "$(dirname "$0")/.."
amount=${1:?usage: fuzz.sh AMOUNT, such as 1m or 3000x}

targets=$(grep -rEo --include='*_test.go' '^func Fuzz[A-Za-z0-9_]*' . | sed 's/:func /:/' | sort)
[ -n "$targets" ] || { echo "fuzz: no fuzz target found" >&2; exit 1; }

while IFS=: read -r file name; do
  echo "fuzz: $name in $(dirname "$file")"
  go test -run='^$' -fuzz="^$name\$" -fuzztime="$amount" -fuzzminimizetime=1x "$(dirname "$file")" </dev/null
done <<<"$targets"
