// Package ordertest is for tests only: orders on the demo shop, whose printing
// condition is fitted once a test binary.
package ordertest

import (
	"bytes"
	_ "embed"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"laydown/colour/icc"
	"laydown/colour/press/presstest"
	"laydown/coverage/order"
	"laydown/coverage/shop"
)

// Demo is the path of a file of the demo order.
func Demo(file string) string {
	_, here, _, _ := runtime.Caller(0)
	return filepath.Join(filepath.Dir(here), "..", "..", "..", "testdata", "demo", file)
}

// New is an order for an art on the demo shop by its first process, all else left to the
// shop file. The shop is a fresh one that the test may change.
func New(t testing.TB, art string) order.Order {
	t.Helper()
	s, err := shop.Load(shop.Demo(), "demo")
	if err != nil {
		t.Fatal(err)
	}
	return order.Order{ArtPath: art, Shop: s, ProcessName: s.DefaultProcess, Press: presstest.StandIn(), Intent: icc.Relative}
}

// Badge is an order for the demo's badge.
func Badge(t testing.TB) order.Order { return New(t, Demo("heron-badge.png")) }

// Banner is an order for the demo's banner, CMYK without a profile.
func Banner(t testing.TB) order.Order { return New(t, Demo("regatta-banner.tif")) }

//go:embed trade.toml
var tradeShop []byte

// Trade is an order for the demo's badge in a shop whose processes, light, dark and
// decal, are common practice, no source; its prices are invented.
func Trade(t testing.TB, process string) order.Order {
	t.Helper()
	s, err := shop.Load(tradeShop, "trade.toml")
	if err != nil {
		t.Fatal(err)
	}
	o := Badge(t)
	o.Shop, o.ProcessName = s, process
	return o
}

// Draw is an order for a picture, written as a PNG file that ends with the test.
func Draw(t testing.TB, img image.Image) order.Order {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "art.png")
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return New(t, path)
}
