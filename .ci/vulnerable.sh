#!/usr/bin/env bash
# vulnerable.sh GOVULNCHECK: asks Go's database of known faults about the program.
# Fails for a module that has one which the program reaches. Faults of Go itself
# are printed: a newer Go mends them. Where the database does not answer, it says
# so and passes, for nothing was found wrong and nothing was shown.
set -euo pipefail
cd "$(dirname "$0")/.."
check=${1:?usage: vulnerable.sh GOVULNCHECK}

code=0
said=$(timeout 300 "$check" ./cmd/feedproof 2>&1) || code=$?
if [ "$code" != 0 ] && grep -q 'fetching vulnerabilities' <<<"$said"; then
  echo "vulnerable: NOT CHECKED, the database of known faults did not answer:"
  tail -3 <<<"$said"
  exit 0
fi
echo "$said"
case $code in 0 | 3) ;; *) exit "$code" ;; esac
if grep -q '^ *Module: ' <<<"$said"; then
  echo "vulnerable: a module has a known fault that the program reaches: renew it" >&2
  exit 1
fi
