#!/bin/sh
# Fetches resvg.wasm anew from the npm package that it was published in, and checks that
# it is the very file. Needs npm.
set -eu
cd "$(dirname "$0")"
version=2.6.2
sum=22bf6e9f9a100d972da0411a69c5ba504367fc1fa87b3b64e3f35e53926d2d70
away=$(mktemp -d)
trap 'rm -rf "$away"' EXIT
npm pack --silent --pack-destination "$away" "@resvg/resvg-wasm@$version" >/dev/null
tar -xzf "$away"/*.tgz -C "$away"
echo "$sum  $away/package/index_bg.wasm" | sha256sum -c - >/dev/null
mv "$away/package/index_bg.wasm" resvg.wasm
