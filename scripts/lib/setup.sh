# shellcheck shell=bash
# What the scripts need, fetched when it is missing and quick when it isn't. Source this file; it changes
# to the project's root.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
ROOT=$PWD
TOOLS=$ROOT/build/tools
STAMPS=$ROOT/build/stamps
export PATH="$TOOLS/bin:$ROOT/node_modules/.bin:$PATH"
mkdir -p "$TOOLS" "$STAMPS"

say() { printf '\n> %s\n' "$*" >&2; }
die() { printf '\n! %s\n' "$*" >&2; exit 1; }
have() { command -v "$1" >/dev/null 2>&1; }

# fresh NAME FILE...: true when the stamp NAME was made from these very files.
fresh() { [ "$(cat "$STAMPS/$1" 2>/dev/null)" = "$(cat "${@:2}" | sha256sum)" ]; }
stamp() { cat "${@:2}" | sha256sum >"$STAMPS/$1"; }

# need_apt PACKAGE...: Debian's packages, only those that are missing.
need_apt() {
    local missing=() p
    for p in "$@"; do
        dpkg-query -W -f='${Status}' "$p" 2>/dev/null | grep -q 'ok installed' || missing+=("$p")
    done
    [ ${#missing[@]} -eq 0 ] && return 0
    local root=()
    if [ "$(id -u)" -ne 0 ]; then
        sudo -n true 2>/dev/null || die "Please install these first:  sudo apt-get install ${missing[*]}"
        root=(sudo)
    fi
    say "installing with apt: ${missing[*]}"
    [ -n "${APT_IS_FRESH:-}" ] || "${root[@]}" apt-get update -q
    export APT_IS_FRESH=yes
    "${root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "${missing[@]}"
}

# need_command COMMAND PACKAGE: a command, from whatever the machine has; else Debian's package.
need_command() {
    have "$1" && return 0
    have apt-get || die "\`$1\` is missing (Debian's package is called $2): please install it."
    need_apt "$2"
}

need_node() {
    have node && have npm || die "node and npm are missing: please install Node.js 20 or later."
    fresh npm package.json package-lock.json && [ -x node_modules/.bin/tsc ] && return 0
    say "installing what node needs (package-lock.json)"
    npm ci --no-progress
    stamp npm package.json package-lock.json
}

need_python() {
    fresh python tests/requirements.txt && [ -x .venv/bin/python ] && return 0
    say "making a Python environment in .venv (tests/requirements.txt)"
    python3 -c 'import ensurepip, venv' 2>/dev/null || need_apt python3-venv
    [ -x .venv/bin/python ] || python3 -m venv .venv
    .venv/bin/pip install --quiet --disable-pip-version-check -r tests/requirements.txt
    stamp python tests/requirements.txt
}

# nameless: flags that keep this machine's folders out of what rustc makes. A panic names the file that it came from,
# and a library's lies in a folder of cargo's own.
nameless() {
    local flags=() dir
    # The libraries' folders exist once they have been fetched.
    cargo fetch --locked --quiet
    for dir in "${CARGO_HOME:-$HOME/.cargo}"/registry/src/*/; do
        flags+=("--remap-path-prefix=${dir%/}=libraries")
    done
    flags+=("--remap-path-prefix=$(rustc --print sysroot)/lib/rustlib/src/rust=rust" "--remap-path-prefix=$ROOT=scrieve")
    echo "${flags[*]}"
}

# locked CRATE: the version of CRATE in Cargo.lock.
locked() { sed -n "/^name = \"$1\"\$/{n;s/version = \"\\(.*\\)\"/\\1/p;q}" Cargo.lock; }

# alone COMMAND...: one such command after the other: of two that compile the same tool at once, the second takes away
# what the first is about to copy.
alone() { (flock 9 && "$@") 9>"$TOOLS/lock"; }

# has_wasm_bindgen: the page's half of wasm-bindgen only understands the very version the crate was compiled with.
has_wasm_bindgen() {
    have wasm-bindgen && have wasm-bindgen-test-runner \
        && [ "$(wasm-bindgen --version)" = "wasm-bindgen $(locked wasm-bindgen)" ]
}
make_wasm_bindgen() {
    has_wasm_bindgen && return 0
    say "building wasm-bindgen $(locked wasm-bindgen) into build/tools (two minutes, once)"
    CARGO_TARGET_DIR=$ROOT/build/cargo cargo install --quiet --root "$TOOLS" --force \
        --version "=$(locked wasm-bindgen)" wasm-bindgen-cli
}
need_wasm_bindgen() { has_wasm_bindgen || alone make_wasm_bindgen; }

make_geckodriver() {
    have geckodriver && return 0
    say "building geckodriver into build/tools (two minutes, once)"
    CARGO_TARGET_DIR=$ROOT/build/cargo cargo install --quiet --root "$TOOLS" --version '=0.37.1' geckodriver
}
need_geckodriver() { have geckodriver || alone make_geckodriver; }

# need_browsers chromium|all: the real browsers that the page tests drive. Firefox's driver is need_geckodriver's.
need_browsers() {
    local packages=()
    have chromium || packages+=(chromium)
    have chromedriver || packages+=(chromium-driver)
    if [ "$1" = all ]; then
        have firefox-esr || have firefox || packages+=(firefox-esr)
        have WebKitWebDriver || packages+=(webkit2gtk-driver)
        have Xvfb || packages+=(xvfb)
    fi
    if [ ${#packages[@]} -gt 0 ]; then
        have apt-get || die "The page tests need Debian's ${packages[*]}, or what your system calls them."
        need_apt "${packages[@]}" fonts-dejavu-core
    fi
}
