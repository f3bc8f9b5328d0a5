#!/usr/bin/env bash
# programs.sh: the programs that the tests hold ours against. Brings what is
# missing, by what proves its presence.
set -euo pipefail
cd "$(dirname "$0")/.."

missing=()
command -v git >/dev/null || missing+=(git)
command -v ssh-keygen >/dev/null || missing+=(openssh-client)
command -v gcc >/dev/null || missing+=(gcc libc6-dev) # the race detector needs cgo
[ -x /usr/sbin/sshd ] || missing+=(openssh-server)
command -v awk >/dev/null || missing+=(mawk)
command -v python3 >/dev/null || missing+=(python3)
/usr/bin/python3 -c 'import jsonschema' 2>/dev/null || missing+=(python3-jsonschema)
command -v lexgrog >/dev/null || missing+=(man-db)
command -v chromium >/dev/null || command -v chromium-browser >/dev/null || command -v google-chrome >/dev/null || missing+=(chromium)

((${#missing[@]} == 0)) || .ci/install.sh "${missing[@]}"
