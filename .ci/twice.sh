#!/usr/bin/env bash
# twice.sh NFPM SBOM [PLATFORM]: makes the release from two clones in folders of
# different length, the second with an empty build cache and in another time
# zone, and fails when a byte differs.
set -euo pipefail
cd "$(dirname "$0")/.."
nfpm=${1:?usage: twice.sh NFPM SBOM [PLATFORM]} sbom=${2:?usage: twice.sh NFPM SBOM [PLATFORM]} only=${3:-}

work=$(mktemp -d)
trap 'chmod -R u+w "$work"; rm -rf "$work"' EXIT

git clone --quiet . "$work/a"
git clone --quiet . "$work/a-folder-with-a-longer-name"
run() { (cd "$1" && go run ./cmd/dev release -out "$2" -only "$only" -nfpm "$nfpm" -sbom "$sbom" >/dev/null); }

run "$work/a" "$work/first"
TZ=Pacific/Auckland GOCACHE="$work/cache" run "$work/a-folder-with-a-longer-name" "$work/second"
[ -s "$work/first/SHA256SUMS" ] || { echo "twice: no checksums" >&2; exit 1; }
diff -r "$work/first" "$work/second" || { echo "twice: two clones of one commit made different bytes" >&2; exit 1; }
cat "$work/first/SHA256SUMS"
echo "twice: the same bytes from two clones"
