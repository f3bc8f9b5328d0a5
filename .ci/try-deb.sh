#!/usr/bin/env bash
# try-deb.sh FOLDER: installs the Debian package of a release on a bare Debian of
# its own, runs what it brings, takes it away and looks what is left.
set -euo pipefail
cd "$(dirname "$0")/.."
folder=${1:?usage: try-deb.sh FOLDER}

processor=$(dpkg --print-architecture)
deb=$(find "$folder" -name "feedproof_*_$processor.deb")
[ -f "$deb" ] || { echo "try-deb: want one package for $processor in $folder: make release" >&2; exit 1; }
command -v mmdebstrap >/dev/null || .ci/install.sh mmdebstrap

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
root=$work/debian
echo "try-deb: making a bare Debian"
mmdebstrap --quiet --variant=minbase --include=man-db,bash-completion --aptopt='APT::Sandbox::User "root"' bookworm "$root"
cp "$deb" "$root/feedproof.deb"
inside() { env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 HOME=/root chroot "$root" "$@"; }
files() { (cd "$root" && find . -xdev \( -path ./proc -o -path ./sys -o -path ./dev -o -path ./tmp -o -path ./var/cache/man -o -path ./var/lib/dpkg -o -path ./var/log \) -prune -o -print | sort); }

before=$(files)
inside dpkg -i /feedproof.deb
inside feedproof --version
inside man feedproof | grep "inspection checklist" >/dev/null || { echo "try-deb: no manual page" >&2; exit 1; }
inside bash -c '. /usr/share/bash-completion/bash_completion; _comp_load feedproof 2>/dev/null || __load_completion feedproof; complete -p feedproof'
inside feedproof demo --dir /tmp/shop >/dev/null
inside feedproof --shop /tmp/shop verify | sed -n 1p
wrong=$(inside dpkg -V feedproof)
[ -z "$wrong" ] || { echo "try-deb: not as it was packed: $wrong" >&2; exit 1; }
inside dpkg -i /feedproof.deb >/dev/null # over itself, as an upgrade
inside dpkg -r feedproof
inside sh -c '! command -v feedproof' || { echo "try-deb: it is still there" >&2; exit 1; }
diff <(echo "$before") <(files) || { echo "try-deb: not as before" >&2; exit 1; }
echo "try-deb: installs, runs, and leaves nothing"
