#!/usr/bin/env bash
# Builds maps/dist/page.html, which `azimark map` fills and which is taken into the program at its next build.
# Needs node and npm, and a Rust that makes WebAssembly; without the latter the page shows and takes notes, and cannot compute.
set -euo pipefail
cd "$(dirname "$0")"

# Apart from the native target folder: another compiler may build there.
target="${AZIMARK_WASM_TARGET:-${CARGO_TARGET_DIR:-$PWD/wasm/target}-wasm}"
wasm="$target/wasm32-unknown-unknown/release/azimark_wasm.wasm"
# Vectors of 128 bits, which browsers have since 2021 (Chrome 91, Firefox 89) and 2023 (Safari 16.4). The bits of the answer stay.
export CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_RUSTFLAGS="-C target-feature=+simd128"
sysroot="$(rustc --print sysroot 2>/dev/null || true)"

if [ -d "$sysroot/lib/rustlib/wasm32-unknown-unknown" ]; then
  (cd wasm && CARGO_TARGET_DIR="$target" cargo build --release --locked --target wasm32-unknown-unknown)
elif [ -x /usr/bin/rustc ] && [ -d "$(/usr/bin/rustc --print sysroot)/lib/rustlib/src/rust/library" ]; then
  # Debian's compiler for the web, with the standard library built from its sources.
  linker="$(find "$sysroot/lib/rustlib" -name rust-lld 2>/dev/null | head -1)"
  (cd wasm && CARGO_TARGET_DIR="$target" RUSTC_BOOTSTRAP=1 RUSTC=/usr/bin/rustc \
    CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER="${linker:-wasm-ld}" \
    cargo build --release --locked --target wasm32-unknown-unknown -Z build-std=std,panic_abort)
else
  wasm=""
  echo "no Rust here makes WebAssembly (rustup target add wasm32-unknown-unknown): the page is built without the solver" >&2
fi

npm ci --silent --no-audit --no-fund --ignore-scripts
npx tsc --noEmit
node build.mjs "$wasm"
# The package for pages of others has the same module.
if [ -n "$wasm" ]; then cp "$wasm" npm/azimark.wasm; fi
