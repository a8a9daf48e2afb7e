#!/usr/bin/env bash
# Makes build/web/sweep, all edges of a whole picture at once: no part of the site, only tests/bench/mill.mjs loads it.
source "$(dirname "$0")/setup.sh"
source scripts/lib/wasm.sh
need_node
need_wasm
need_wasm_bindgen
WASM_FLAGS='-C target-feature=+simd128' cargo_wasm build --profile sweep --package scrieve --lib --no-default-features --features sweep
wasm-bindgen --target web --no-typescript --out-dir build/web/sweep --out-name sweep "$WASM_DIR/wasm32-unknown-unknown/sweep/scrieve.wasm"
