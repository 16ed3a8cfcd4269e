# What app/run.sh and tests/run.sh share; they source it after setting 'root', the folder of the repository.
# shellcheck shell=sh disable=SC2034,SC2154
#
# Debian 12 packages, asked for by name and never by version. Nothing is downloaded but packages.

program_packages="cmake ninja-build g++ pkg-config
  libegl-dev libopengl-dev libgl1-mesa-dri libegl-mesa0 libegl1 libglm-dev libtinyobjloader-dev python3-glad
  libembree-dev libtomlplusplus-dev libcli11-dev libfmt-dev nlohmann-json3-dev libopenexr-dev libpng-dev
  libcairo2-dev libfontconfig-dev fonts-open-sans libglfw3-dev libimgui-dev"
test_packages="libgtest-dev libgmock-dev liberfa-dev liblcms2-dev locales poppler-utils mupdf-tools xvfb xdotool"

stop() {
  printf '%s\n' "$@" >&2
  exit 2
}

# Installs those of the named packages that are missing. Asks nothing of its own; sudo may want a password when there
# is a terminal to ask on.
install_missing() {
  if ! command -v dpkg-query >/dev/null || ! command -v apt-get >/dev/null; then
    stop "This script installs Debian packages, and here is no dpkg-query or no apt-get." \
      "Install these, or what your system calls them, and build with CMake as DEVELOPERS.md says:" "$*"
  fi
  # One line for each package that is fully installed; a name that dpkg has never heard of is an error to skip.
  present=$(dpkg-query -W -f='${db:Status-Status} ${Package}\n' "$@" 2>/dev/null | sed -n 's/^installed //p') || true
  missing=""
  for package in "$@"; do
    printf '%s\n' "$present" | grep -qxF -- "$package" || missing="$missing $package"
  done
  [ -n "$missing" ] || return 0
  printf 'Installing from Debian:%s\n' "$missing"
  as_root=""
  if [ "$(id -u)" -ne 0 ]; then
    command -v sudo >/dev/null || stop "Installing needs root, and there is no sudo. As root, run:" \
      "apt-get install --no-install-recommends$missing"
    as_root="sudo"
    [ -t 0 ] || as_root="sudo -n"
  fi
  apt="$as_root env DEBIAN_FRONTEND=noninteractive apt-get -q -o DPkg::Lock::Timeout=300"
  # The three words of 'apt' and the list of packages are split on purpose.
  # shellcheck disable=SC2086
  if ! $apt update || ! $apt install -y --no-install-recommends $missing; then
    stop "These packages could not be installed:$missing" \
      "The reason is above. Debian 12 has them all; without the rights to install, ask whoever has them."
  fi
}

# Whether build/ was configured at this very place: a build folder knows its own path and is of no use elsewhere.
configured_here() {
  grep -qxF "CMAKE_CACHEFILE_DIR:INTERNAL=$root/build" "$root/build/CMakeCache.txt" 2>/dev/null
}

# The value of a variable that build/ is configured with; empty when there is none.
configured() {
  if configured_here; then sed -n "s/^$1:[^=]*=//p" "$root/build/CMakeCache.txt"; fi
}

# configure VARIABLE=VALUE...: makes build/ a Release tree with at least these settings. A tree that has them already is
# left alone, so that the program and the tests share one build and a second run starts at once.
configure() {
  changes=""
  for setting in CMAKE_BUILD_TYPE=Release ${UNDERCAP_WERROR:+"UNDERCAP_WERROR=$UNDERCAP_WERROR"} "$@"; do
    [ "$(configured "${setting%%=*}")" = "${setting#*=}" ] || changes="$changes -D$setting"
  done
  if [ -z "$changes" ] && [ -f "$root/build/build.ninja" ]; then return 0; fi
  fresh=""
  if [ -f "$root/build/CMakeCache.txt" ] && ! configured_here; then fresh="--fresh"; fi
  # shellcheck disable=SC2086
  cmake $fresh -S "$root" -B "$root/build" -G Ninja $changes
}
