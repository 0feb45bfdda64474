#!/bin/sh
# Fetches the decoders anew from the Go modules that they were published in, and checks that
# they are the very files. Needs go.
set -eu
cd "$(dirname "$0")"
take() { # module, file in it, name here, sum
	dir=$(GOFLAGS=-mod=mod go mod download -json "$1" | sed -n 's/^\t"Dir": "\(.*\)",\{0,1\}$/\1/p')
	echo "$4  $dir/$2" | sha256sum -c - >/dev/null
	cp "$dir/$2" "$3"
	chmod 644 "$3"
}
take github.com/gen2brain/heic@v0.4.5 lib/heif.wasm.gz heif.wasm.gz 3634a6447ea3915633667f39e01ff540a60f4e2f837a8391d044d76dfd8a0435
take github.com/gen2brain/avif@v0.4.4 lib/decode.wasm.gz avif.wasm.gz 1ee2423413384d54b3fa4e2882424d60a2a05f5fe7ec573535fdb6b531071a9b
take github.com/gen2brain/jpegxl@v0.4.5 lib/decode.wasm.gz jxl.wasm.gz 9ab633d753803618fb8984743f37507eed76eae740b928c9fee6a6aad7e6a19f
