package main

import (
	"bytes"
	"image"
	_ "image/png"
	"os"
	"path/filepath"
	"testing"

	_ "github.com/hhrutter/tiff"
)

// TestDemoIsDrawn compares the demo order that is checked in, pixel by pixel,
// with what this program draws.
func TestDemoIsDrawn(t *testing.T) {
	for name, want := range files() {
		got, err := os.ReadFile(filepath.Join("..", "demo", name))
		if err != nil {
			t.Fatal(err)
		}
		if filepath.Ext(name) == ".csv" {
			if !bytes.Equal(got, want) {
				t.Errorf("%s differs: run go run ./testdata/draw testdata/demo", name)
			}
			continue
		}
		a, _, err := image.Decode(bytes.NewReader(got))
		if err != nil {
			t.Fatal(err)
		}
		b, _, err := image.Decode(bytes.NewReader(want))
		if err != nil {
			t.Fatal(err)
		}
		for y := a.Bounds().Min.Y; y < a.Bounds().Max.Y; y++ {
			for x := a.Bounds().Min.X; x < a.Bounds().Max.X; x++ {
				if a.At(x, y) != b.At(x, y) {
					t.Fatalf("%s differs at %d, %d: run go run ./testdata/draw testdata/demo", name, x, y)
				}
			}
		}
	}
}
