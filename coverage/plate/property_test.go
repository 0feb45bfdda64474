package plate

import (
	"flag"
	"fmt"
	"image"
	"image/color"
	"testing"

	"pgregory.net/rapid"

	"laydown/colour/icc"
	"laydown/colour/press/presstest"
	"laydown/colour/reference"
)

// settle gives every run the same art: a few of it, and more in CI.
func settle(t *testing.T) {
	for name, value := range map[string]string{"rapid.seed": "7", "rapid.checks": fmt.Sprint(reference.Samples(t, 300)), "rapid.nofailfile": "true"} {
		if err := flag.Set(name, value); err != nil {
			t.Fatal(err)
		}
	}
}

// picture draws small art with clear, half-clear and solid pixels.
func picture(t *rapid.T) *image.NRGBA {
	w, h := rapid.IntRange(2, 9).Draw(t, "width"), rapid.IntRange(2, 9).Draw(t, "height")
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	level := rapid.SampledFrom([]uint8{0, 1, 60, 128, 200, 254, 255})
	for i := range img.Pix {
		img.Pix[i] = level.Draw(t, "level")
	}
	return img
}

// turned is a picture turned a quarter, or mirrored.
func turned(img *image.NRGBA, mirror bool) *image.NRGBA {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	out := image.NewNRGBA(image.Rect(0, 0, h, w))
	if mirror {
		out = image.NewNRGBA(img.Rect)
	}
	for y := range h {
		for x := range w {
			if mirror {
				out.SetNRGBA(w-1-x, y, img.NRGBAAt(x, y))
			} else {
				out.SetNRGBA(h-1-y, x, img.NRGBAAt(x, y))
			}
		}
	}
	return out
}

// TestProperties holds what is laid down to what must be so of any art: turning and mirroring
// it changes nothing, the limit holds, and choke takes white away and adds none.
func TestProperties(t *testing.T) {
	sep := presstest.Separate(t, icc.SRGB())
	limit := presstest.Usual.TAC * 100
	most := float64(OverLimit(limit)-1) / 255 * 100
	fill := func(t *rapid.T, img *image.NRGBA, choke float64) *Plates {
		p, err := filled(art(img), sep, WhiteOptions{Rule: Under, DensityPercent: 100, ChokeMM: choke, PixelMM: 0.1})
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	settle(t)
	sep.Table()
	rapid.Check(t, func(t *rapid.T) {
		img := picture(t)
		if a := img.NRGBAAt(0, 0); a.A == 0 { // art is nowhere else than where something is
			img.SetNRGBA(0, 0, color.NRGBA{a.R, a.G, a.B, 255})
		}
		choke := rapid.SampledFrom([]float64{0, 0.05, 0.1, 0.2}).Draw(t, "choke")
		p := fill(t, img, choke)
		for _, mirror := range []bool{false, true} {
			q := fill(t, turned(img, mirror), choke)
			for k := range Names {
				if p.Sum(k) != q.Sum(k) {
					t.Fatalf("%s lays down %d, and %d if moved", Names[k], p.Sum(k), q.Sum(k))
				}
			}
		}
		if tac := p.TAC(limit); tac.MaxPercent > most {
			t.Fatalf("total toner of %g %% over %g %%", tac.MaxPercent, limit)
		}
		whole := fill(t, img, 0)
		for i, v := range p.Plane[White] {
			if v > whole.Plane[White][i] {
				t.Fatalf("a choke of %g mm adds white at pixel %d: %d, %d without", choke, i, v, whole.Plane[White][i])
			}
		}
	})
}
