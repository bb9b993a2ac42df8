#!/usr/bin/env bash
# Installs what is built and uses it as another program would.
#   package_test.sh BUILD SOURCE installed|pkg-config|part|deb
set -euo pipefail
build=$1 source=$2 way=$3
work=$(mktemp -d "${TMPDIR:-/tmp}/baybook-package-XXXXXX")
trap 'rm -rf "$work"' EXIT
here=$source/tests/package
say() { echo "$*" >&2; }
expect() {  # PROGRAM
  local got
  got=$("$1" "$work/book.baybook")
  [[ "$got" == $'pan-1 0 of 20000000000\nseal bay:2: library '* ]] || { say "the consumer printed: $got"; exit 1; }
}
expect_refused() {  # PROGRAM
  local got
  got=$("$1" "$work/misused.baybook") || { say "misuse was let through: $got"; exit 1; }
  [[ "$got" == "nothing was let through" ]] || { say "the misuse printed: $got"; exit 1; }
}
case $way in
  installed)
    cmake --install "$build" --prefix "$work/prefix" >/dev/null
    # Moved elsewhere it still works: nothing in it names where it was.
    mv "$work/prefix" "$work/moved"
    cmake -S "$here/consumer" -B "$work/c" -G Ninja -DCMAKE_PREFIX_PATH="$work/moved" >/dev/null
    cmake --build "$work/c" >/dev/null
    expect "$work/c/consumer"
    expect_refused "$work/c/misuse"
    [[ "$("$work/moved/bin/baybook" --version | head -1)" == baybook\ * ]]
    ! grep -rqs -- "$source" "$work/moved/lib" "$work/moved/include" || { say "an installed file names the source folder"; grep -rls -- "$source" "$work/moved" >&2; exit 1; }
    ;;
  pkg-config)
    cmake --install "$build" --prefix "$work/prefix" >/dev/null
    export PKG_CONFIG_PATH
    PKG_CONFIG_PATH=$(dirname "$(find "$work/prefix" -name baybook.pc)")
    read -ra flags <<<"$(pkg-config --cflags --libs --static baybook)"
    c++ -std=c++20 "$here/consumer/main.cpp" -o "$work/consumer" "${flags[@]}"
    expect "$work/consumer"
    ;;
  part)
    cmake -S "$here/consumer" -B "$work/c" -G Ninja -DBAYBOOK_SOURCE="$source" -DCMAKE_CXX_COMPILER_LAUNCHER="${LAUNCHER:-}" >/dev/null
    cmake --build "$work/c" --target consumer misuse >/dev/null
    expect "$work/c/consumer"
    expect_refused "$work/c/misuse"
    cmake --install "$work/c" --prefix "$work/none" >/dev/null
    [[ ! -e "$work/none" || -z "$(find "$work/none" -type f)" ]] || { say "as a part it installs files"; exit 1; }
    ;;
  deb)
    (cd "$work" && cpack --config "$build/CPackConfig.cmake" -B "$work" >/dev/null)
    deb=$(find "$work" -maxdepth 1 -name '*.deb')
    dpkg-deb -x "$deb" "$work/root"
    [[ "$("$work/root/usr/bin/baybook" --version | head -1)" == baybook\ * ]]
    for f in usr/include/baybook/book.hpp usr/share/doc/baybook/copyright usr/share/doc/baybook/changelog.gz usr/share/bash-completion/completions/baybook; do
      [[ -s "$work/root/$f" ]] || { say "the package lacks $f"; exit 1; }
    done
    ;;
  *) say "no such way: $way"; exit 2 ;;
esac
