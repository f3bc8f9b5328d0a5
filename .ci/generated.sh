#!/usr/bin/env bash
# generated.sh: runs go generate and fails when that changed, added or removed a file.
# Compares with the work tree as it stands, so it can run before a commit too.
set -euo pipefail
cd "$(dirname "$0")/.."

directives=$(grep -rl --include='*.go' '^//go:generate ' . || true)
[ -n "$directives" ] || { echo "generated: no //go:generate line found" >&2; exit 1; }

# the state of all that git knows or could add, by content
state() { git ls-files -z --cached --others --exclude-standard | sort -zu | xargs -0 sha256sum 2>&1; }

before=$(state)
go generate ./...
after=$(state)
if [ "$before" != "$after" ]; then
  echo "generated: these files are not what go generate writes; commit what it wrote:" >&2
  diff <(printf '%s\n' "$before") <(printf '%s\n' "$after") | sed -n 's/^[<>] [0-9a-f]* */  /p' | sort -u >&2
  exit 1
fi
