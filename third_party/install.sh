#!/usr/bin/env bash
# Installs what is missing of third_party/packages.txt: install.sh [build|test] (default build; test includes build).
# Does nothing, and needs no network, when everything is there.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
want=${1:-build}
case "$want" in
  build) groups='^build ' ;;
  test) groups='^(build|test) ' ;;
  *) echo "install.sh: unknown group \"$want\"; say build or test" >&2; exit 2 ;;
esac
missing=()
while read -r _ package; do
  state=$(dpkg-query -W -f='${Status}' "$package" 2>/dev/null || true)
  [ "$state" = "install ok installed" ] || missing+=("$package")
done < <(grep -E "$groups" "$here/packages.txt")
if [ ${#missing[@]} -eq 0 ]; then
  echo "packages: all there ($want)"
  exit 0
fi
echo "packages: installing ${missing[*]}"
as_root=()
if [ "$(id -u)" -ne 0 ]; then
  command -v sudo >/dev/null || { echo "install.sh: needs root or sudo to install packages" >&2; exit 3; }
  as_root=(sudo)
fi
export DEBIAN_FRONTEND=noninteractive
# jackd2 asks whether to allow realtime priority; the default answer is no, and no question may stop this.
"${as_root[@]}" apt-get update -qq
"${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
echo "packages: installed"
