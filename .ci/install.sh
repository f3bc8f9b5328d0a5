#!/usr/bin/env bash
# install.sh PACKAGE...: brings Debian packages, as root and without a terminal.
set -euo pipefail
echo "installing $*"
export DEBIAN_FRONTEND=noninteractive
if ! { apt-get update -qq && apt-get install -y -qq --no-install-recommends "$@"; } </dev/null; then
  echo "could not install $*: install them by hand and run again" >&2
  exit 1
fi
