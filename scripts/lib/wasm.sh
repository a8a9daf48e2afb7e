# shellcheck shell=bash
# Compiling for the web in two ways: with rustup's target where there is one or it can be had, else with
# Debian's rustc, which builds the standard library from source. Source setup.sh first.
# SCRIEVE_WASM=rustup or =debian chooses by hand.

has_wasm_std() {
    local dir
    dir=$(rustc --print target-libdir --target wasm32-unknown-unknown 2>/dev/null) || return 1
    compgen -G "$dir/libstd-*.rlib" >/dev/null
}

# wasm_way: prints `rustup` or `debian`.
wasm_way() {
    if [ -n "${SCRIEVE_WASM:-}" ]; then
        echo "$SCRIEVE_WASM"
    elif has_wasm_std; then
        echo rustup
    elif have rustup && say "adding rustup's wasm32 target" \
        && rustup target add wasm32-unknown-unknown >&2; then
        echo rustup
    else
        echo debian
    fi
}

# need_wasm: sets WASM_WAY, WASM_DIR (where cargo's results lie) and WASM_NAMELESS (what `nameless` says).
need_wasm() {
    WASM_WAY=$(wasm_way)
    case $WASM_WAY in
    rustup)
        WASM_DIR=${CARGO_TARGET_DIR:-$ROOT/target}
        WASM_NAMELESS=$(nameless)
        ;;
    debian)
        say "rustup has no wasm32 target here: using Debian's rustc-web"
        need_apt rustc-web cargo-web rust-web-src lld-19
        # Its own directory: two compilers in one would each throw away what the other made.
        WASM_DIR=$ROOT/target/debian
        WASM_NAMELESS="$(nameless) --remap-path-prefix=$(realpath -m "$(/usr/bin/rustc --print sysroot)/lib/rustlib/src/rust")=rust"
        ;;
    *) die "SCRIEVE_WASM is \`$WASM_WAY\`; it may be rustup or debian." ;;
    esac
}

# cargo_wasm SUBCOMMAND ARGUMENT...: cargo for wasm32, in the way found by need_wasm. WASM_FLAGS go to rustc besides.
cargo_wasm() {
    local sub=$1
    shift
    local -x RUSTFLAGS="$WASM_NAMELESS ${WASM_FLAGS:-}"
    if [ "$WASM_WAY" = rustup ]; then
        cargo "$sub" --target wasm32-unknown-unknown "$@"
    else
        RUSTC_BOOTSTRAP=1 RUSTC=/usr/bin/rustc RUSTDOC=/usr/bin/rustdoc \
            CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER=/usr/lib/llvm-19/bin/wasm-ld \
            CARGO_TARGET_DIR=$WASM_DIR \
            /usr/bin/cargo "$sub" --target wasm32-unknown-unknown -Zbuild-std=std,panic_abort "$@"
    fi
}
