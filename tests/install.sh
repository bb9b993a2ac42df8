#!/usr/bin/env bash
# Installs what building and testing need, on Debian or Ubuntu, and only what is missing.
#   tests/install.sh         build and run the command
#   tests/install.sh tests   the tests as well
#   tests/install.sh fuzz    what the fuzz targets need: clang and its libFuzzer
#   tests/install.sh quality what counts branches: gcovr, and clang's own counters
set -euo pipefail
packages=(g++ cmake ninja-build pkg-config libsqlite3-dev libsqlitecpp-dev libcli11-dev libhowardhinnant-date-dev
  libfmt-dev libtomlplusplus-dev libutf8proc-dev libssl-dev
  libqrcodegencpp-dev zlib1g-dev libcsv-dev libical-dev libicu-dev fonts-dejavu-core tzdata)
if [[ "${1:-}" == tests ]]; then
  packages+=(doctest-dev nlohmann-json3-dev sqlite3 units python3 python3-icalendar python3-dateutil python3-jsonschema clang scdoc mandoc
    poppler-utils zbar-tools chromium e2fsprogs xfsprogs)
  # Some node packages bring npm with them and cannot stand beside the distribution's.
  command -v npm >/dev/null || packages+=(nodejs npm)
fi
if [[ "${1:-}" == fuzz ]]; then
  # libFuzzer and the sanitizers of the clang that the distribution calls clang; nlohmann for the comparison of bodies.
  packages+=(doctest-dev nlohmann-json3-dev clang)
  version=$(apt-cache depends clang | sed -n 's/^ *Depends: clang-\([0-9]*\)$/\1/p' | head -n 1)
  packages+=("libclang-rt-${version:?the version of clang}-dev")
fi
if [[ "${1:-}" == quality ]]; then
  version=$(apt-cache depends clang | sed -n 's/^ *Depends: clang-\([0-9]*\)$/\1/p' | head -n 1)
  packages+=(clang gcovr "llvm-${version:?the version of clang}" "libclang-rt-$version-dev")
fi
missing=()
for p in "${packages[@]}"; do
  dpkg-query -W -f='${Status}' "$p" 2>/dev/null | grep -q 'install ok installed' || missing+=("$p")
done
if [[ ${#missing[@]} -ne 0 ]]; then
  echo "installing: ${missing[*]}"
  sudo=()
  if [[ $(id -u) -ne 0 ]]; then sudo=(sudo); fi
  "${sudo[@]}" apt-get update -qq
  "${sudo[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
fi
# The pinned validator of the printed pages goes beside other programs' caches, not into the tree: a folder for each
# package-lock.json, renamed into place when it is whole. tests/tools/print_test.cpp looks there.
if [[ "${1:-}" == tests ]]; then
  node=$(cd "$(dirname "$0")/node" && pwd)
  digest=$(sha256sum "$node/package-lock.json")
  folder=${XDG_CACHE_HOME:-$HOME/.cache}/baybook-tests/${digest:0:16}
  if [[ ! -e $folder ]]; then
    echo "installing: html-validate"
    mkdir -p "${folder%/*}"
    part=$(mktemp -d "$folder.XXXXXX")
    trap 'rm -rf "$part"' EXIT
    cp "$node/package.json" "$node/package-lock.json" "$part"
    npm ci --prefix "$part" --include=dev --ignore-scripts --no-audit --no-fund --silent
    # Another run may have been quicker.
    mv -T "$part" "$folder" 2>/dev/null || [[ -e $folder ]]
  fi
fi
