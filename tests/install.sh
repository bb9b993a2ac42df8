#!/usr/bin/env bash
# Installs what building and testing need, on Debian or Ubuntu, and only what is missing.
#   tests/install.sh         build and run the command
#   tests/install.sh tests   the tests as well
set -euo pipefail
packages=(g++ cmake ninja-build pkg-config libsqlite3-dev libsqlitecpp-dev libcli11-dev libhowardhinnant-date-dev
  libfmt-dev libtomlplusplus-dev libutf8proc-dev libssl-dev
  libqrcodegencpp-dev zlib1g-dev libical-dev libicu-dev fonts-dejavu-core tzdata)
if [[ "${1:-}" == tests ]]; then
  packages+=(doctest-dev nlohmann-json3-dev sqlite3 units python3 python3-icalendar python3-dateutil clang scdoc mandoc
    poppler-utils zbar-tools chromium)
fi
missing=()
for p in "${packages[@]}"; do
  dpkg-query -W -f='${Status}' "$p" 2>/dev/null | grep -q 'install ok installed' || missing+=("$p")
done
[[ ${#missing[@]} -eq 0 ]] && exit 0
echo "installing: ${missing[*]}"
sudo=()
if [[ $(id -u) -ne 0 ]]; then sudo=(sudo); fi
"${sudo[@]}" apt-get update -qq
"${sudo[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
