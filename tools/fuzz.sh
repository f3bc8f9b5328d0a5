#!/usr/bin/env bash
# fuzz.sh TIME: runs every fuzz target of the module for TIME each.
# Fails when a target fails, and when there is none.
set -euo pipefail
cd "$(dirname "$0")/.."
time=${1:?usage: fuzz.sh TIME, such as 5s}

targets=$(grep -rEo --include='*_test.go' '^func Fuzz[A-Za-z0-9_]*' . | sed 's/:func /:/' | sort)
[ -n "$targets" ] || { echo "fuzz: no fuzz target found" >&2; exit 1; }

while IFS=: read -r file name; do
  echo "fuzz: $name in $(dirname "$file")"
  go test -run='^$' -fuzz="^$name\$" -fuzztime="$time" "$(dirname "$file")" </dev/null
done <<<"$targets"
